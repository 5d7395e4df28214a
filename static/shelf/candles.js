/**
 * The candles of a batch: how many were made, where they stand, and where the others went. Pure.
 *
 * What happens to them after they were put away is a stream of its own, with the pour's id (`candles` of the pour,
 * which `read_candles.js` reads beside it). What was said of them in the pour's own stream still counts.
 */
import { filledOf } from "../bench/fold.js";
import { effectiveEvents, know } from "../records/events.js";
import { SHELF_EVENT_TYPES } from "../records/shelf_event_types.js";

know(SHELF_EVENT_TYPES);

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../records/event_types.js").BatchEvent} BatchEvent */
/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */
/** @typedef {"shelf" | "aside" | "returned"} Place where a candle may stand that is here */
/**
 * @typedef {object} Out candles that went out at once
 * @property {number} n @property {number} at_ms
 * @property {"sold" | "given" | "out"} how out: it was said only that they went
 * @property {string} event @property {boolean} isOfPour whether that event is of the pour's own stream
 * @property {string | null} buyer @property {string | null} where @property {string | null} why
 * @property {string | null} wanted what it was for @property {number | null} price of one, in minor units
 * @property {string | null} currency
 */
/** @typedef {{n: number, at_ms: number, buyer: string | null, recall: string | null, why: string | null, event: string}} Back
 *   candles that came back at once */
/**
 * @typedef {object} Candles
 * @property {number} made those that stood when they were put away: good and second quality, where she counted them;
 *   else those that were filled, without the spoiled
 * @property {number} here those that are still in the workshop: on the shelf, set aside, or come back
 * @property {number} shelf @property {number} aside @property {number} returned
 * @property {number} sold @property {number} given @property {number} outOtherwise
 * @property {number} broken @property {number} test_burned @property {number} destroyed
 * @property {number} came_back of those that went out
 * @property {number} untold neither here nor said to have gone anywhere
 * @property {boolean} isOver more were said to have gone than there were
 * @property {number} labelled
 * @property {string | null} withdrawn why the batch is not to be sold; null: nothing was said against it
 * @property {boolean} isReleased she said last that it may be sold again
 * @property {Out[]} out @property {Back[]} back in the order in which they went and came
 */

/** @param {Pour} pour @returns {Candles} none are made or here before they are put away; they may have gone all the same */
export function candlesOf({ state, events, candles = [] }) {
  const made = madeIn(state);
  /** @type {Record<Place, number>} */
  const at = { shelf: made, aside: 0, returned: 0 };
  const sums = { sold: 0, given: 0, outOtherwise: 0, broken: 0, test_burned: 0, destroyed: 0 };
  const counts = { came_back: 0, labelled: 0 };
  /** @type {Out[]} */
  const out = [];
  /** @type {Back[]} */
  const back = [];
  /** @type {string | null} */
  let withdrawn = null;
  let isOver = false;
  let isReleased = false;

  /** @param {Place | null | undefined} place @param {number} n */
  const take = (place, n) => {
    const from = place ?? "shelf";
    isOver ||= n > at[from] && state.finished !== null;
    at[from] = Math.max(0, at[from] - n);
  };
  for (const event of inTime([...effectiveEvents("pour", events), ...effectiveEvents("batch", candles)])) {
    switch (event.type) {
      case "handed_out":
        take("shelf", event.n);
        sums.outOtherwise += event.n;
        if (event.n > 0) out.push(outOf(event, "out"));
        break;
      case "candles_counted":
        at.shelf = Math.max(0, event.n - at.aside - at.returned);
        break;
      case "set_aside":
        take("shelf", event.n);
        at.aside += event.n;
        break;
      case "put_back":
        take(event.place, event.n);
        at.shelf += event.n;
        break;
      case "labelled":
        counts.labelled += event.n;
        break;
      case "sold":
      case "given":
        take(event.place, event.n);
        sums[event.type] += event.n;
        out.push(outOf(event, event.type));
        break;
      case "broken":
      case "test_burned":
      case "destroyed":
        take(event.place, event.n);
        sums[event.type] += event.n;
        break;
      case "returned": {
        at.returned += event.n;
        counts.came_back += event.n;
        const { n, at: at_ms, buyer = null, recall = null, why = null, id } = event;
        back.push({ n, at_ms, buyer, recall, why, event: id });
        break;
      }
      case "counted":
        at.shelf = event.n;
        break;
      case "withdrawn":
        withdrawn = event.why;
        isReleased = false;
        break;
      case "released":
        withdrawn = null;
        isReleased = true;
        break;
      case "noted":
        break;
    }
  }
  const here = at.shelf + at.aside + at.returned;
  const gone = Object.values(sums).reduce((sum, n) => sum + n, 0) - counts.came_back;
  const untold = Math.max(0, made - here - gone);
  return { made, here, ...at, ...sums, ...counts, untold, isOver, isReleased, withdrawn, out, back };
}

/** @param {Pour["state"]} state */
function madeIn(state) {
  if (state.finished === null) return 0;
  const { good, seconds, spoiled } = state.finished;
  const { filled, others } = filledOf(state);
  const isCounted = typeof good === "number" || typeof seconds === "number";
  return isCounted ? (good ?? 0) + (seconds ?? 0) : Math.max(0, filled + others - (spoiled ?? 0));
}

/** @param {Extract<BatchEvent | PourEvent, {type: "sold" | "given" | "handed_out"}>} event @param {Out["how"]} how @returns {Out} */
function outOf(event, how) {
  const { n, at: at_ms, id, of } = event;
  const said = { buyer: null, where: null, why: null, wanted: null, price: null, currency: null, ...event };
  const { buyer, where, why, wanted, price, currency } = /** @type {Omit<Out, "n">} */ (/** @type {unknown} */ (said));
  return { n, at_ms, how, event: id, isOfPour: of[0] === "pour", buyer, where, why, wanted, price, currency };
}

/** The currency of a price by its code of ISO 4217; '' where none was said, or what is none.
 * @param {{currency?: string | null}} sale */
export const currencyOf = ({ currency }) => (/^[A-Z]{3}$/.test(currency ?? "") ? (currency ?? "") : "");

/** By when they happened. @template {{at: number, id: string}} E @param {E[]} events @returns {E[]} */
export function inTime(events) {
  return [...events].sort((a, b) => a.at - b.at || (a.id < b.id ? -1 : 1));
}
