/**
 * What a few values tell of the mean of all, and of the next one: t intervals, for values that scatter normally.
 *
 * Only the phone asks this, so this file has no twin.
 */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";
import { tQuantile } from "./student_t.js";

/**
 * @typedef {object} Mean
 * @property {number} n how many values
 * @property {number} mean
 * @property {number | null} sd their standard deviation, by n − 1; null of one value
 * @property {number | null} low where the interval begins; null of one value, which tells nothing of the scatter
 * @property {number | null} high its end
 */

/**
 * The mean, and the interval in which the mean of all such values lies: mean ± t(n − 1)·sd/√n.
 * @param {number[]} values one or more, of anything, each apart from the others @param {number} [level] 0.5 to 0.999
 * @returns {Mean}
 * @throws {InputError} no value, one that is no number, or a level out of range
 */
export function meanOf(values, level = 0.9) {
  return around(values, level, (n) => Math.sqrt(1 / n));
}

/**
 * The mean, and the interval in which one more value will lie: mean ± t(n − 1)·sd·√(1 + 1/n).
 * @param {number[]} values as in `meanOf` @param {number} [level] 0.5 to 0.999
 * @returns {Mean}
 * @throws {InputError} as `meanOf`
 */
export function nextOf(values, level = 0.9) {
  return around(values, level, (n) => Math.sqrt(1 + 1 / n));
}

/**
 * @typedef {object} Usual what is known of the scatter beforehand
 * @property {number} sd standard deviation, above zero
 * @property {number} worth what it counts for: as much as so many values more, 1 to 1000
 */

/**
 * As `nextOf`, where something is known of the scatter beforehand, so that a few values that happen to be close
 * together promise no more than they should: the variance is (worth·usual² + (n − 1)·sd²)/(worth + n − 1), with as many
 * degrees of freedom (the scaled inverse χ² prior of a normal variance: Gelman, Bayesian Data Analysis, chapter 2, from
 * memory). One value has an interval, too.
 * @param {number[]} values as in `meanOf` @param {Usual} usual @param {number} [level] 0.5 to 0.999
 * @returns {Mean & {low: number, high: number}} `sd` is that of the values alone
 * @throws {InputError} as `meanOf`
 */
export function nextLike(values, usual, level = 0.9) {
  const { n, mean, sd } = meanOf(values, level);
  const known = checks.positive(usual.sd, message("The usual scatter"), "usual");
  const worth = checks.within(usual.worth, message("What the usual scatter counts for"), 1, 1000, "usual");
  const df = worth + n - 1;
  const variance = (worth * known ** 2 + (n - 1) * (sd ?? 0) ** 2) / df;
  const half = tQuantile((1 + level) / 2, df) * Math.sqrt(variance * (1 + 1 / n));
  return { n, mean, sd, low: mean - half, high: mean + half };
}

/** A level of confidence as a chance. @param {unknown} level */
export function levelOf(level) {
  return checks.within(level, message("The level"), 0.5, 0.999, "level");
}

/** @param {number[]} values @param {number} level @param {(n: number) => number} factor @returns {Mean} */
function around(values, level, factor) {
  const share = levelOf(level);
  const n = values.length;
  if (n === 0) throw new InputError("There is no value to take the mean of.", {}, "values");
  let total = 0;
  for (const value of values) total += checks.number(value, message("A value"), "values");
  const mean = total / n;
  if (n === 1) return { n, mean, sd: null, low: null, high: null };
  let squares = 0;
  for (const value of values) squares += (value - mean) ** 2;
  const sd = Math.sqrt(squares / (n - 1));
  const half = tQuantile((1 + share) / 2, n - 1) * sd * factor(n);
  return { n, mean, sd, low: mean - half, high: mean + half };
}
