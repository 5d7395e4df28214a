/** How many of a made label were printed. Pure. */
import { effectiveEvents, know } from "../records/events.js";
import { LABELS_EVENT_TYPES } from "../records/labels_event_types.js";

know(LABELS_EVENT_TYPES);

/** @typedef {import("../records/event_types.js").MadeLabelEvent} MadeLabelEvent */
/** @typedef {{label: number, second: number, counted: MadeLabelEvent[]}} Prints pieces printed */

/** @param {MadeLabelEvent[]} events @returns {Prints} */
export function foldPrints(events) {
  const counted = /** @type {MadeLabelEvent[]} */ (effectiveEvents("made_label", events));
  const prints = { label: 0, second: 0, counted };
  for (const event of counted) if (event.type === "printed") prints[event.piece] += event.n;
  return prints;
}

/** Where the next label of a sheet goes if the last print ended in the middle of one.
 * @param {number} start of that print, from 1 @param {number} n labels @param {number} places on a sheet @returns {number} */
export function nextPlace(start, n, places) {
  return ((start - 1 + n) % places) + 1;
}
