/**
 * A straight line through points by least squares, and how sure it is.
 *
 * Sums are taken around the means, so that far-away points lose no digits; the certified line of NIST's Norris data
 * comes out to 12 digits. Only the phone asks this, so this file has no twin.
 */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";
import { levelOf } from "./means.js";
import { tQuantile } from "./student_t.js";

/** More points than a bench will ever have. */
export const MOST_POINTS = 10_000;

/**
 * @typedef {object} Line y = intercept + slope·x; what the scatter is, is null of two points, which tell none
 * @property {number} n how many points
 * @property {number} df degrees of freedom, n − 2
 * @property {number} intercept @property {number} slope
 * @property {number | null} se_intercept standard error @property {number | null} se_slope
 * @property {number | null} residual_sd @property {number} residual_ss sum of the residuals' squares
 * @property {number | null} r_squared null where every y is the same
 * @property {number[]} residuals y less the line, in the order of the points
 */

/**
 * The line of least squares.
 * @param {number[]} x two or more values, not all the same @param {number[]} y as many
 * @returns {Line}
 * @throws {InputError} too few points, as many of x as of y missing, all at one x, or a value that is no number
 */
export function fitLine(x, y) {
  const n = x.length;
  if (n !== y.length) throw new InputError("Each point of a line needs both its values.", {}, "y");
  if (n < 2 || n > MOST_POINTS) {
    throw new InputError("A line needs from {low} to {high} points.", { low: 2, high: MOST_POINTS }, "x");
  }
  let mean_x = 0;
  let mean_y = 0;
  for (let i = 0; i < n; i += 1) {
    mean_x += checks.number(x[i], message("A value along the line"), "x") / n;
    mean_y += checks.number(y[i], message("A value of the line"), "y") / n;
  }
  let spread_x = 0;
  let spread_y = 0;
  let product = 0;
  for (let i = 0; i < n; i += 1) {
    spread_x += (x[i] - mean_x) ** 2;
    spread_y += (y[i] - mean_y) ** 2;
    product += (x[i] - mean_x) * (y[i] - mean_y);
  }
  if (spread_x < checks.SMALLEST) {
    throw new InputError("All points are in one place: a line needs two places at least.", {}, "x");
  }
  const slope = product / spread_x;
  const intercept = mean_y - slope * mean_x;
  const residuals = x.map((each, i) => y[i] - mean_y - slope * (each - mean_x));
  let residual_ss = 0;
  for (const each of residuals) residual_ss += each ** 2;
  const df = n - 2;
  const residual_sd = df > 0 ? Math.sqrt(residual_ss / df) : null;
  return {
    n,
    df,
    intercept,
    slope,
    se_intercept: residual_sd === null ? null : residual_sd * Math.sqrt(1 / n + mean_x ** 2 / spread_x),
    se_slope: residual_sd === null ? null : residual_sd / Math.sqrt(spread_x),
    residual_sd,
    residual_ss,
    r_squared: spread_y < checks.SMALLEST ? null : 1 - residual_ss / spread_y,
    residuals,
  };
}

/**
 * estimate ± t·se.
 * @param {number} estimate @param {number} se its standard error, 0 or more @param {number} df degrees of freedom, 1
 *   or more @param {number} [level] 0.5 to 0.999
 * @returns {[low: number, high: number]}
 * @throws {InputError} a number out of range
 */
export function interval(estimate, se, df, level = 0.9) {
  const half = tQuantile((1 + levelOf(level)) / 2, df) * checks.notNegative(se, message("The standard error"), "se");
  const middle = checks.number(estimate, message("The estimate"), "estimate");
  return [middle - half, middle + half];
}
