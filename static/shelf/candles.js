/** How many candles of a batch there are. Pure. */
import { filledOf } from "../bench/fold.js";
import { effectiveEvents } from "../records/events.js";

/**
 * @typedef {object} Candles
 * @property {number} made those that stood when they were put away: good and second quality, where she counted them;
 *   else those that were filled, without the spoiled
 * @property {number} here those that are still here: made, or as last counted, without what went out since
 */

/** @param {import("../bench/pours.js").Pour} pour @returns {Candles} none before they are put away */
export function candlesOf({ state, events }) {
  if (state.finished === null) return { made: 0, here: 0 };
  const { good, seconds, spoiled } = state.finished;
  const { filled, others } = filledOf(state);
  const counted = typeof good === "number" || typeof seconds === "number";
  const made = counted ? (good ?? 0) + (seconds ?? 0) : Math.max(0, filled + others - (spoiled ?? 0));
  let here = made;
  for (const event of inTime(effectiveEvents("pour", events))) {
    switch (event.type) {
      case "handed_out":
        here -= event.n;
        break;
      case "candles_counted":
        here = event.n;
        break;
    }
  }
  return { made, here: Math.max(0, here) };
}

/** By when they happened. @template {{at: number, id: string}} E @param {E[]} events @returns {E[]} */
export function inTime(events) {
  return [...events].sort((a, b) => a.at - b.at || (a.id < b.id ? -1 : 1));
}
