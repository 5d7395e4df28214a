/**
 * Calling candles back: whom it concerns, who was told, and how far it is. Pure.
 *
 * @see Regulation (EU) 2023/988 (General Product Safety), Art. 36: what a recall notice has to say, and which words it may
 *   not use (read second-hand).
 */
import { effectiveEvents, know } from "../records/events.js";
import { SHELF_EVENT_TYPES } from "../records/shelf_event_types.js";
import { inTime } from "./candles.js";

know(SHELF_EVENT_TYPES);

/** @typedef {import("../records/event_types.js").RecallEvent} RecallEvent */
/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("./trace.js").Batch} Batch */
/** @typedef {import("./candles.js").Out} Out */
/** @typedef {{at_ms: number, how: string, event: string}} Told */
/** @typedef {{told: Map<string, Told>, others: (Told & {whom: string})[], closed: string | null, counted: RecallEvent[]}} RecallState
 *   `told`: the buyers who were, by id; `closed`: why it is over, "" where that was not said */
/**
 * @typedef {object} Holder who has candles, as far as it was said
 * @property {string} key
 * @property {string | null} buyer
 * @property {string} where the words for where they went, where no buyer is known; "": nothing was said
 * @property {number} n that went there and did not come back
 * @property {number} came_back
 * @property {{batch: Batch, n: number}[]} of from which batches they went
 * @property {number} first_ms @property {number} last_ms when they went
 */

/** How words begin that a recall notice may not use. */
const SOFT = ["voluntar", "precaution", "discretionar", "rare", "specific situation"];

/** @param {RecallEvent[]} events @returns {RecallState} */
export function foldRecall(events) {
  /** @type {RecallState} */
  const state = { told: new Map(), others: [], closed: null, counted: effectiveEvents("recall", events) };
  for (const event of inTime(state.counted)) {
    switch (event.type) {
      case "told": {
        const told = { at_ms: event.at, how: event.how ?? "", event: event.id };
        if (event.buyer) state.told.set(event.buyer, told);
        else state.others.push({ ...told, whom: event.whom ?? "" });
        break;
      }
      case "closed":
        state.closed = event.why ?? "";
        break;
      case "noted":
        break;
    }
  }
  return state;
}

/** Who has candles of some batches, those with the most first. What came back is taken from whom it came; what came from
 * nobody who is known, from those who are not. @param {Batch[]} batches @returns {Holder[]} */
export function holdersOf(batches) {
  /** @type {Map<string, Holder>} */
  const found = new Map();
  for (const batch of batches) {
    for (const out of batch.candles.out) {
      const holder = holderOf(found, out);
      holder.n += out.n;
      holder.first_ms = Math.min(holder.first_ms, out.at_ms);
      holder.last_ms = Math.max(holder.last_ms, out.at_ms);
      const same = holder.of.find((each) => each.batch === batch);
      if (same) same.n += out.n;
      else holder.of.push({ batch, n: out.n });
    }
  }
  const unnamed = [...found.values()].filter(({ buyer }) => buyer === null);
  for (const { buyer, n } of batches.flatMap(({ candles }) => candles.back)) {
    let left = n;
    const from = buyer === null ? unnamed : [found.get(`buyer ${buyer}`)];
    for (const holder of from) {
      const back = Math.min(left, holder?.n ?? 0);
      if (holder) [holder.n, holder.came_back] = [holder.n - back, holder.came_back + back];
      left -= back;
    }
  }
  return [...found.values()].sort((a, b) => b.n - a.n || (a.key < b.key ? -1 : 1));
}

/** @param {Map<string, Holder>} found @param {Out} out */
function holderOf(found, { buyer, where, why, wanted, at_ms }) {
  const words = where ?? why ?? "";
  const key = buyer ? `buyer ${buyer}` : wanted ? `wanted ${wanted}` : `where ${words}`;
  const known = found.get(key);
  if (known) return known;
  const fresh = { key, buyer, where: words, n: 0, came_back: 0, of: [], first_ms: at_ms, last_ms: at_ms };
  found.set(key, fresh);
  return fresh;
}

/** Words in a text that soften a danger. @param {string} text @returns {string[]} */
export function softWords(text) {
  const words = text.toLowerCase().match(/\p{L}+(?: situations?)?/gu) ?? [];
  return [...new Set(words.filter((word) => SOFT.some((each) => word.startsWith(each))))];
}
