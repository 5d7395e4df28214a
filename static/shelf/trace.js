/** What was made of a lot, and where that went. Pure. */
import { effectiveEvents } from "../records/events.js";
import { codeOf } from "./batches.js";
import { candlesOf, inTime } from "./candles.js";
import { usesOf } from "./uses.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {{n: number, at_ms: number, why: string | null, wanted: string | null}} Out candles that went out, and what for */
/**
 * @typedef {object} Batch
 * @property {Pour} pour
 * @property {string | null} code
 * @property {number} amount what it took of the lot, grams or pieces
 * @property {number} made candles @property {number} here
 * @property {Out[]} out in the order in which they went
 * @property {number} untold candles that are neither here nor said to have gone out
 */
/** @typedef {{batches: Batch[], made: number, here: number, out: number, untold: number}} Trace */

/** Forward from a lot: the batches that took some of it, the newest first.
 * @param {string} lot its id @param {Pour[]} pours that can be folded @returns {Trace} */
export function madeOf(lot, pours) {
  const batches = pours.flatMap((pour) => {
    const amount = takenFrom(lot, pour);
    return amount > 0 ? [{ pour, code: codeOf(pour), amount, ...goneOf(pour) }] : [];
  });
  batches.sort((a, b) => b.pour.record.started_at - a.pour.record.started_at);
  const sum = (/** @type {"made" | "here" | "untold"} */ name) =>
    batches.reduce((total, each) => total + each[name], 0);
  const out = batches.reduce((total, each) => total + countOf(each.out), 0);
  return { batches, made: sum("made"), here: sum("here"), out, untold: sum("untold") };
}

/** Backward from a batch: the lots that are in it. @param {Pour} pour @returns {Set<string>} their ids */
export function lotsIn(pour) {
  return new Set(usesOf(pour).flatMap(({ lot }) => lot ?? []));
}

/** @param {string} lot @param {Pour} pour */
function takenFrom(lot, pour) {
  return usesOf(pour).reduce((total, use) => (use.lot === lot ? total + use.amount : total), 0);
}

/** @param {Pour} pour @returns {Pick<Batch, "made" | "here" | "out" | "untold">} */
function goneOf(pour) {
  const { made, here } = candlesOf(pour);
  const out = inTime(effectiveEvents("pour", pour.events)).flatMap((event) =>
    event.type === "handed_out" && event.n > 0
      ? [{ n: event.n, at_ms: event.at, why: event.why ?? null, wanted: event.wanted ?? null }]
      : [],
  );
  return { made, here, out, untold: Math.max(0, made - here - countOf(out)) };
}

/** @param {Out[]} out */
const countOf = (out) => out.reduce((total, { n }) => total + n, 0);
