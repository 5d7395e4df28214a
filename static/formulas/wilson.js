/**
 * What a count of some of a few tells of the share of all: the score interval.
 *
 * Only the phone asks this, so this file has no twin.
 */
import { message } from "../words/door.js";
import * as checks from "./checks.js";

/** The value that a normal deviate stays within, on either side, 90 times of 100. `tests/formulas/test_wilson.py` holds it
 * to SciPy. */
export const Z_90 = 1.6448536269514722;

/**
 * The interval in which the share of all lies, of which `of` were looked at and `count` were so:
 * (p + z²/2n ± z·√(p(1 − p)/n + z²/4n²)) / (1 + z²/n), E. B. Wilson 1927, J. Am. Stat. Assoc. 22:209 (from memory).
 * @param {number} count whole, 0 to `of` @param {number} of whole, 1 or more @param {number} [z] above 0; without: 90 %
 * @returns {{low: number, high: number}} fractions
 * @throws {InputError} a number out of range
 */
export function wilson(count, of, z = Z_90) {
  const n = checks.whole(of, message("The count"), 1, checks.LARGEST, "of");
  const hits = checks.whole(count, message("The count"), 0, n, "count");
  const square = checks.positive(z, message("The deviate"), "z") ** 2;
  const p = hits / n;
  const middle = p + square / (2 * n);
  const half = z * Math.sqrt((p * (1 - p)) / n + square / (4 * n * n));
  const all = 1 + square / n;
  // Rounding must not leave a little where there is nothing.
  return {
    low: hits === 0 ? 0 : Math.max(0, (middle - half) / all),
    high: hits === n ? 1 : Math.min(1, (middle + half) / all),
  };
}
