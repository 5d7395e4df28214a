/** All that the dips tell: the fits of a grid of exponents, weighed by how well they explain them. */
import { fitCurve, startingPoint } from "./fit.js";

/** What stays open of n however well the dips tell it. */
export const LEAST_EXPONENT_DOUBT = 0.003;

/** @typedef {import("./prior.js").Prior} Prior */
/** @typedef {import("./readings.js").Placed} Placed */
/** @typedef {import("./fit.js").Fit} Fit */
/** @typedef {import("./fit.js").Gradient} Gradient */
/** @typedef {{fit: Fit, grid: Fit[], weights: number[], exponent_var: number}} Posterior */

/** The fits of the prior's grid, weighed by prior and evidence.
 * @param {Placed[]} used by time; at least one @param {number} room °C @param {number} noise of a reading, °C
 * @param {Prior} prior @returns {Posterior} */
export function posteriorOf(used, room, noise, prior) {
  const given = { used, room, noise, prior };
  const { exponents } = prior;
  let middle = 0;
  exponents.forEach((_, index) => {
    if (prior.weights[index] > prior.weights[middle]) middle = index;
  });
  const start = startingPoint(given, exponents[middle]);
  /** @type {Fit[]} */
  const grid = [];
  grid[middle] = fitCurve(given, exponents[middle], start);
  // From the middle outwards each fit starts where its neighbour ended.
  for (let index = middle + 1; index < exponents.length; index += 1) {
    grid[index] = fitCurve(given, exponents[index], start, grid[index - 1]);
  }
  for (let index = middle - 1; index >= 0; index -= 1) {
    grid[index] = fitCurve(given, exponents[index], start, grid[index + 1]);
  }
  let best = -Infinity;
  for (const { evidence } of grid) best = Math.max(best, evidence);
  const weights = grid.map(({ evidence }, index) => prior.weights[index] * Math.exp(evidence - best));
  let total = 0;
  let mean = 0;
  weights.forEach((weight, index) => {
    total += weight;
    mean += weight * exponents[index];
  });
  mean /= total;
  let variance = 0;
  weights.forEach((weight, index) => {
    variance += (weight / total) * (exponents[index] - mean) ** 2;
  });
  let shares = weights.map((weight) => weight / total);
  const top = shares.indexOf(Math.max(...shares));
  if (grid.length > 1 && shares[top] > 0.9) {
    [mean, variance] = between(grid, top);
    shares = shares.map((_, index) => (index === top ? 0.5 : Math.abs(index - top) === 1 ? 0.25 : 0));
  }
  return {
    fit: grid.length > 1 ? fitCurve(given, mean, start, grid[middle]) : grid[0],
    grid,
    weights: shares,
    exponent_var: variance,
  };
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
