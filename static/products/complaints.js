/** What became of a complaint or an accident. Pure. */
import { effectiveEvents, know } from "../records/events.js";
import { PRODUCTS_EVENT_TYPES } from "../records/products_event_types.js";

know(PRODUCTS_EVENT_TYPES);

/** @typedef {import("../records/event_types.js").ComplaintEvent} ComplaintEvent */
/**
 * @typedef {object} ComplaintState
 * @property {number | null} closed_at when it was closed; null: it is open
 * @property {boolean} isAnswered whoever complained was told something
 * @property {boolean} isDone something was done about it
 * @property {{to: string, on: string}[]} reported to whom, and on which day
 * @property {ComplaintEvent[]} counted
 */

/** @param {ComplaintEvent[]} events oldest first @returns {ComplaintState} */
export function foldComplaint(events) {
  const counted = /** @type {ComplaintEvent[]} */ (effectiveEvents("complaint", events));
  /** @type {ComplaintState} */
  const state = { closed_at: null, isAnswered: false, isDone: false, reported: [], counted };
  for (const event of counted) {
    switch (event.type) {
      case "answered":
        state.isAnswered = true;
        break;
      case "done":
        state.isDone = true;
        break;
      case "reported":
        state.reported.push({ to: event.to, on: event.on });
        break;
      case "closed":
        state.closed_at = event.at;
        break;
      case "reopened":
        state.closed_at = null;
        break;
      case "noted":
        break;
    }
  }
  return state;
}

/** Whether the authority may have to hear of it, and was not said to have heard. @param {Record<string, any>} complaint
 * @param {ComplaintState} state */
export const isUnreported = ({ harm }, { reported }) => harm === "injury" && reported.length === 0;
