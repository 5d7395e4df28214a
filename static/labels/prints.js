/** How many of a made label were printed, and how many of those were spoiled. Pure. */
import { effectiveEvents, know } from "../records/events.js";
import { LABELS_EVENT_TYPES } from "../records/labels_event_types.js";

know(LABELS_EVENT_TYPES);

/** @typedef {import("../records/event_types.js").MadeLabelEvent} MadeLabelEvent */
/** @typedef {{label: number, second: number, spoiled: number, last_at: number | null, counted: MadeLabelEvent[]}} Prints
 *   pieces printed; when the last time was, ms */

/** @param {MadeLabelEvent[]} events @returns {Prints} */
export function foldPrints(events) {
  const counted = /** @type {MadeLabelEvent[]} */ (effectiveEvents("made_label", events));
  const prints = { label: 0, second: 0, spoiled: 0, last_at: /** @type {number | null} */ (null), counted };
  for (const event of counted)
    switch (event.type) {
      case "printed":
        prints[event.piece] += event.n;
        prints.last_at = event.at;
        break;
      case "spoiled":
        prints.spoiled += event.n;
        break;
    }
  return prints;
}

/** Where the next label of a sheet goes if the last print ended in the middle of one.
 * @param {number} start of that print, from 1 @param {number} n labels @param {number} places on a sheet @returns {number} */
export function nextPlace(start, n, places) {
  return ((start - 1 + n) % places) + 1;
}
