/**
 * From a delivery to the candles that it is in, and back. Pure.
 *
 * A delivery is in a batch that took some of it. It is also in every batch that took of what was left in the jug of
 * such a batch and was melted again: that stands on the shelf as a delivery of its own (`left_of` names the pour).
 */
import { codeOf } from "./batches.js";
import { candlesOf } from "./candles.js";
import { usesOf } from "./uses.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("./uses.js").Use} Use */
/**
 * @typedef {object} Batch
 * @property {Pour} pour
 * @property {string | null} code
 * @property {import("./candles.js").Candles} candles
 * @property {number} amount what it took of the delivery itself, grams or pieces
 * @property {string[]} through the deliveries of what was left of others, by which it came in as well
 */
/** @typedef {{made: number, here: number, out: number, untold: number}} Sums of candles */

/** By what settled deliveries are found that are what was left in a jug. */
export const LEFT = "left over";

/** The pours that what was left in their jugs came from, by the delivery as which it stands on the shelf.
 * @param {Plain[]} lots @returns {Map<string, string>} */
export function leftOf(lots) {
  return new Map(lots.flatMap(({ id, left_of }) => (typeof left_of === "string" ? [[id, left_of]] : [])));
}

/** Forward from a delivery: the batches that it is in, the newest first.
 * @param {string} lot its id @param {Pour[]} pours that can be folded @param {Map<string, string>} left as `leftOf` has it
 * @returns {Batch[]} */
export function madeOf(lot, pours, left) {
  const takes = pours.map((pour) => ({ pour, uses: usesOf(pour) }));
  /** Deliveries that it is in @type {Set<string>} */
  const carriers = new Set([lot]);
  /** @type {Map<string, Batch>} */
  const found = new Map();
  // A delivery that is reached may be what was left of a batch that is reached later.
  for (let before = -1; before !== found.size + carriers.size; ) {
    before = found.size + carriers.size;
    for (const { pour, uses } of takes) {
      const taken = uses.filter((use) => use.lot !== null && carriers.has(use.lot));
      if (taken.length > 0) found.set(pour.id, batchOf(pour, lot, taken));
    }
    for (const [id, pour] of left) if (found.has(pour)) carriers.add(id);
  }
  return newestFirst([...found.values()]);
}

/** The batch of a pour by itself. @param {Pour} pour @returns {Batch} */
export const wholeBatch = (pour) => batchOf(pour, "", []);

/** @param {Batch[]} batches */
export function newestFirst(batches) {
  return batches.sort((a, b) => b.pour.record.started_at - a.pour.record.started_at);
}

/** @param {Pour} pour @param {string} lot @param {Use[]} taken @returns {Batch} */
function batchOf(pour, lot, taken) {
  const own = taken.filter((use) => use.lot === lot);
  const through = [...new Set(taken.flatMap((use) => (use.lot !== null && use.lot !== lot ? [use.lot] : [])))];
  return {
    pour,
    code: codeOf(pour),
    candles: candlesOf(pour),
    amount: own.reduce((sum, { amount }) => sum + amount, 0),
    through,
  };
}

/** @param {Batch[]} batches @returns {Sums} */
export function sumsOf(batches) {
  const sum = (/** @type {(candles: Batch["candles"]) => number} */ of) =>
    batches.reduce((total, { candles }) => total + of(candles), 0);
  return {
    made: sum(({ made }) => made),
    here: sum(({ here }) => here),
    out: sum(goneOut),
    untold: sum(({ untold }) => untold),
  };
}

/** Candles that went out and did not come back. @param {Batch["candles"]} candles */
export const goneOut = ({ sold, given, outOtherwise, came_back }) =>
  Math.max(0, sold + given + outOtherwise - came_back);

/** A delivery in a batch; `of`: the pour whose leftovers it is in, null for the batch itself.
 * @typedef {{lot: string, of: string | null}} Parent */

/**
 * Backward from a batch: every delivery that is in it, each once, the nearest first.
 * @param {Pour} pour @param {Map<string, Pour>} pours by id, as far as they are kept @param {Map<string, string>} left as
 *   `leftOf` has it @returns {Parent[]}
 */
export function parentsOf(pour, pours, left) {
  /** @type {Map<string, Parent>} */
  const found = new Map();
  const seen = new Set([pour.id]);
  /** @type {{pour: Pour, of: string | null}[]} */
  const open = [{ pour, of: null }];
  for (let next = open.shift(); next !== undefined; next = open.shift()) {
    for (const lot of lotsIn(next.pour)) {
      if (!found.has(lot)) found.set(lot, { lot, of: next.of });
      const before = pours.get(left.get(lot) ?? "");
      if (before === undefined || seen.has(before.id)) continue;
      seen.add(before.id);
      open.push({ pour: before, of: before.id });
    }
  }
  return [...found.values()];
}

/** The deliveries that a pour itself took from. @param {Pour} pour @returns {Set<string>} their ids */
export function lotsIn(pour) {
  return new Set(usesOf(pour).flatMap(({ lot }) => lot ?? []));
}
