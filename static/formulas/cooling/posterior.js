/** All that the dips tell: the fits of a grid of exponents, weighed by how well they explain them. */
import { fitCurve, startingPoint } from "./fit.js";
import { noiseOf } from "./readings.js";

/** What stays open of n however well the dips tell it. */
export const LEAST_EXPONENT_DOUBT = 0.003;

/** @typedef {import("./prior.js").Prior} Prior */
/** @typedef {import("./readings.js").Placed} Placed */
/** @typedef {import("./fit.js").Fit} Fit */
/** @typedef {import("./fit.js").Gradient} Gradient */
/** @typedef {{fit: Fit, grid: Fit[], weights: number[], exponent_var: number, noise: number,
 *   handlings: number[]}} Posterior noise: of a reading, °C; handlings: what each of the prior's counts for, together 1 */

/** The fits of the prior's grids, weighed by prior and evidence. A first round finds the likeliest n; with it, N
 * readings with noise s are as likely as s^−N · exp(evidence): the second round takes the mean of s².
 * @param {Placed[]} used by time; at least one @param {number} room °C @param {number} step the thermometer's, °C
 * @param {Prior} prior @returns {Posterior} */
export function posteriorOf(used, room, step, prior) {
  const { exponents, handlings } = prior;
  const noises = handlings.map((each) => noiseOf(step, each));
  const given = { used, room, noise: noises[noises.length >> 1], prior };
  const middle = prior.weights.indexOf(Math.max(...prior.weights));
  const start = startingPoint(given, exponents[middle]);
  /** @type {Fit[]} */
  const first = [];
  first[middle] = fitCurve(given, exponents[middle], start);
  // From the middle outwards each fit starts where its neighbour ended.
  for (let index = middle + 1; index < exponents.length; index += 1) {
    first[index] = fitCurve(given, exponents[index], start, first[index - 1]);
  }
  for (let index = middle - 1; index >= 0; index -= 1) {
    first[index] = fitCurve(given, exponents[index], start, first[index + 1]);
  }
  const likely = shares(prior.weights, first.map(evidenceOf));
  const best = first[likely.indexOf(Math.max(...likely))];
  const hands = shares(
    noises.map(() => 1),
    noises.map(
      (noise) => fitCurve({ ...given, noise }, best.exponent, start, best).evidence - used.length * Math.log(noise),
    ),
  );
  const [square] = moments(
    noises.map((each) => each * each),
    hands,
  );
  given.noise = Math.sqrt(square);
  const grid = first.map((near) => fitCurve(given, near.exponent, start, near));
  let weights = shares(prior.weights, grid.map(evidenceOf));
  let [mean, variance] = moments(exponents, weights);
  const top = weights.indexOf(Math.max(...weights));
  const [most, second] = [...weights].sort((a, b) => b - a);
  if (grid.length > 1 && most + second > 0.95) {
    [mean, variance] = between(grid, top);
    weights = weights.map((_, index) => [0.5, 0.25][Math.abs(index - top)] ?? 0);
  }
  return {
    fit: grid.length > 1 ? fitCurve(given, mean, start, grid[top]) : grid[0],
    grid,
    weights,
    exponent_var: variance,
    noise: given.noise,
    handlings: hands,
  };
}

/** Mean and variance of a quantity over a grid, whose weights are together 1.
 * @param {number[]} values @param {number[]} weights @returns {[number, number]} */
export function moments(values, weights) {
  let mean = 0;
  values.forEach((value, index) => {
    mean += weights[index] * value;
  });
  let variance = 0;
  values.forEach((value, index) => {
    variance += weights[index] * (value - mean) ** 2;
  });
  return [mean, variance];
}

/** Variance along a gradient of the fit's three unknowns, or covariance along two.
 * @param {Fit} fit @param {Gradient} one @param {Gradient} [other] */
export function covariance(fit, one, other = one) {
  let total = 0;
  for (let row = 0; row < 3; row += 1) {
    for (let column = 0; column < 3; column += 1) total += one[row] * fit.spread[row][column] * other[column];
  }
  return total;
}

/** @param {Fit} fit */
const evidenceOf = (fit) => fit.evidence;

/** What each of a grid counts for, together 1, from prior weights and logarithms of evidence.
 * @param {number[]} weights @param {number[]} evidence */
function shares(weights, evidence) {
  const best = Math.max(...evidence);
  const each = weights.map((weight, index) => weight * Math.exp(evidence[index] - best));
  let total = 0;
  for (const share of each) total += share;
  return each.map((share) => share / total);
}

/** How a quantity goes with n, by weighted regression over the grid; 0 where n is known.
 * @param {number[]} values the quantity for each fit of the grid, in its order @param {Posterior} known */
export function slopeByExponent(values, known) {
  let mean = 0;
  let middle = 0;
  let total = 0;
  known.weights.forEach((weight, index) => {
    total += weight;
    mean += weight * values[index];
    middle += weight * known.grid[index].exponent;
  });
  mean /= total;
  middle /= total;
  let both = 0;
  let wide = 0;
  known.weights.forEach((weight, index) => {
    const off = known.grid[index].exponent - middle;
    both += weight * (values[index] - mean) * off;
    wide += weight * off ** 2;
  });
  return wide > 1e-12 ? both / wide : 0;
}

/** Mean and variance of n where the dips tell it finer than the grid: a parabola through the
 * logarithms of the evidence. @param {Fit[]} grid @param {number} top @returns {[number, number]} */
function between(grid, top) {
  const n = grid[top].exponent;
  if (0 < top && top < grid.length - 1) {
    const under = n - grid[top - 1].exponent;
    const above = grid[top + 1].exponent - n;
    if (under > 0 && above > 0) {
      const left = (grid[top].evidence - grid[top - 1].evidence) / under;
      const right = (grid[top].evidence - grid[top + 1].evidence) / above;
      const bend = (left + right) / (under + above);
      if (bend > 0) {
        const to = (bend * above - right) / (2 * bend);
        return [n + Math.min(Math.max(to, -under), above), 1 / (2 * bend) + LEAST_EXPONENT_DOUBT ** 2];
      }
    }
  }
  return [n, LEAST_EXPONENT_DOUBT ** 2];
}
