/** What several noses say of how a wick's candles smell, cold and burning. */

import * as checks from "../formulas/checks.js";
import { InputError, message } from "../words/door.js";

/** So many noses have to agree before it is more than a taste (our choice). */
export const FEWEST_NOSES = 3;

/** @typedef {"cold" | "hot"} Throw of scent: from the candle as it stands, and as it burns */
/** @typedef {{wick: number, throw: Throw, nose: string, rating: number}} Rating the wick's index, who smelled, and 1 to 5 */
/** @typedef {{wick: number, throw: Throw, n: number, median: number, enough: boolean}} Scent n noses, and whether
 *   they are enough */

/**
 * The median of each wick and throw, over noses: who rates several candles of a wick, or one again, counts once, by
 * the median of what she said. By wick, cold before hot.
 * @param {Rating[]} ratings @returns {Scent[]}
 * @throws {InputError} a rating that is not from 1 to 5, or of no throw
 */
export function ratingsOf(ratings) {
  /** @type {Map<string, {wick: number, throw: Throw, noses: Map<string, number[]>}>} */
  const found = new Map();
  for (const { wick, throw: how, nose, rating } of ratings) {
    checks.within(rating, message("A rating"), 1, 5, "rating");
    if (how !== "cold" && how !== "hot") throw new InputError("Scent is rated cold or burning.", {}, "throw");
    const key = `${wick} ${how}`;
    const scent = found.get(key) ?? { wick, throw: how, noses: new Map() };
    found.set(key, scent);
    const name = nose.trim().toLowerCase();
    scent.noses.set(name, [...(scent.noses.get(name) ?? []), rating]);
  }
  return [...found.values()]
    .sort((a, b) => a.wick - b.wick || a.throw.localeCompare(b.throw))
    .map(({ wick, throw: how, noses }) => {
      const each = [...noses.values()].map(median);
      return { wick, throw: how, n: each.length, median: median(each), enough: each.length >= FEWEST_NOSES };
    });
}

/** @param {number[]} values one or more */
function median(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}
