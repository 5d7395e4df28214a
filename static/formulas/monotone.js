/**
 * A line that never falls, through points of which some are only known to lie above, below or between.
 *
 * y = line(x) plus scatter, normal with the same standard deviation everywhere. By Bayes on a grid: every pair of
 * values at two anchors, the first no larger than the second, is as likely at first, and so is every order of
 * magnitude of the scatter. The grid is laid over the height in the middle of the points and the slope, which such
 * pairs are just as evenly spread over and which the points tell apart; it is drawn closer around what is likely, and
 * then weighed. Nothing is drawn at random. Only the phone asks this, so this file has no twin.
 */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";
import { levelOf } from "./means.js";

/** More points than any bench will have. */
export const MOST_POINTS = 1000;

/** How often the grid is drawn closer, how fine it then is, and how fine the last one is: heights, slopes, scatters. */
const CLOSER = 3;
const ROUGH = [30, 16, 8];
const FINE = [30, 26, 12];

/** A cell this many e-folds less likely than the likeliest is out: of the grids drawn closer, and of the last. */
const OUT_OF_SIGHT = 16;
const NEGLIGIBLE = 13;

/** @typedef {{x: number, low: number, high: number}} Point y is from low to high; exactly known where they are the
 *   same, unknown on a side where they are infinite */

/**
 * @typedef {object} Expected what is held possible before there are points
 * @property {number} least the least value of the line, at the first anchor
 * @property {number} most the largest, at the last
 * @property {number} first x of the first anchor; no point is before it
 * @property {number} last x of the last anchor, larger; no point is beyond it
 * @property {[number, number]} scatter the least and the largest standard deviation, above zero
 */

/**
 * @typedef {object} Monotone what `chanceAbove`, `quantile` and `meanAt` need
 * @property {number} middle x where the heights are told
 * @property {number[]} heights @property {number[]} slopes @property {number[]} scatters of each cell
 * @property {number[]} weights together 1
 */

/**
 * What the points tell of the line and of the scatter.
 * @param {Point[]} points 1 to 1000, in any order @param {Expected} expected
 * @returns {Monotone}
 * @throws {InputError} no point, one whose low is above its high or that tells nothing, or a range that is none
 */
export function monotoneFit(points, expected) {
  const { least, most, first, last, scatter } = checked(points, expected);
  const told = summed(points);
  const logs = scatter.map(Math.log);
  let box = [
    [least, most],
    [0, (most - least) / (last - first)],
    [logs[0], logs[1]],
  ];
  const isPossible = (/** @type {number} */ height, /** @type {number} */ slope) =>
    height + slope * (first - told.middle) >= least && height + slope * (last - told.middle) <= most;
  for (let turn = 0; turn < CLOSER; turn += 1) {
    box = around(box, weighed(told, box, ROUGH, isPossible), ROUGH);
  }
  const cells = weighed(told, box, FINE, isPossible);
  return kept(told.middle, cells);
}

/**
 * The chance that one more value at `x` is above `limit`: of the line and of the scatter around it.
 * @param {Monotone} fit @param {number} x @param {number} limit
 */
export function chanceAbove(fit, x, limit) {
  const away = checks.number(x, message("A value along the line"), "x") - fit.middle;
  const at = checks.number(limit, message("The limit"), "limit");
  return above(fit, away, at);
}

/**
 * What one more value at `x` is at most with the chance `p`.
 * @param {Monotone} fit @param {number} x @param {number} p 0.001 to 0.999
 */
export function quantile(fit, x, p) {
  const away = checks.number(x, message("A value along the line"), "x") - fit.middle;
  const chance = checks.within(p, message("The chance"), 0.001, 0.999, "p");
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < fit.weights.length; i += 1) {
    const line = fit.heights[i] + fit.slopes[i] * away;
    low = Math.min(low, line - 4 * fit.scatters[i]);
    high = Math.max(high, line + 4 * fit.scatters[i]);
  }
  for (let turn = 0; turn < 40 && high - low > 1e-9 * (Math.abs(low) + Math.abs(high)); turn += 1) {
    const between = (low + high) / 2;
    if (1 - above(fit, away, between) < chance) low = between;
    else high = between;
  }
  return (low + high) / 2;
}

/**
 * The line at `x`: its mean, and where it is with the chance `level`.
 * @param {Monotone} fit @param {number} x @param {number} [level] 0.5 to 0.999
 * @returns {{mean: number, low: number, high: number}}
 */
export function meanAt(fit, x, level = 0.9) {
  const away = checks.number(x, message("A value along the line"), "x") - fit.middle;
  const beside = (1 - levelOf(level)) / 2;
  const lines = fit.weights.map((weight, i) => ({ weight, line: fit.heights[i] + fit.slopes[i] * away }));
  lines.sort((a, b) => a.line - b.line);
  let mean = 0;
  let before = 0;
  let low = lines[0].line;
  let high = lines[lines.length - 1].line;
  for (const { weight, line } of lines) {
    mean += weight * line;
    if (before < beside) low = line;
    before += weight;
    if (before < 1 - beside) high = line;
  }
  return { mean, low, high };
}

/** @param {Monotone} fit @param {number} away x less the middle @param {number} limit */
function above(fit, away, limit) {
  let total = 0;
  for (let i = 0; i < fit.weights.length; i += 1) {
    const line = fit.heights[i] + fit.slopes[i] * away;
    total += fit.weights[i] * Math.exp(logNormal((line - limit) / fit.scatters[i]));
  }
  return Math.min(1, total);
}

// ---- what the points say -------------------------------------------------------------------------

/** @typedef {{middle: number, exact: {n: number, y: number, d: number, yy: number, yd: number, dd: number},
 *   censored: {d: number, low: number, high: number}[]}} Told */

/** @param {Point[]} points @param {Expected} expected @returns {Expected} */
function checked(points, expected) {
  if (points.length < 1 || points.length > MOST_POINTS) {
    throw new InputError("A line needs from {low} to {high} points.", { low: 1, high: MOST_POINTS }, "points");
  }
  const { least, most, first, last, scatter } = expected;
  const below = (/** @type {number} */ one, /** @type {number} */ other, /** @type {string} */ about) => {
    const from = checks.number(one, message("The start of a range"), about);
    if (from >= checks.number(other, message("The end of a range"), about)) {
      throw new InputError("The end of a range must be above its start.", {}, about);
    }
  };
  below(least, most, "least");
  below(first, last, "first");
  checks.positive(scatter[0], message("The scatter"), "scatter");
  below(scatter[0], scatter[1], "scatter");
  for (const { x, low, high } of points) {
    checks.within(x, message("A value along the line"), first, last, "points");
    if (low !== -Infinity) checks.number(low, message("The least that a point can be"), "points");
    if (high !== Infinity) checks.number(high, message("The most that a point can be"), "points");
    if (low > high) throw new InputError("A point can't be less than its least value.", {}, "points");
  }
  if (points.every(({ low, high }) => low === -Infinity && high === Infinity)) {
    throw new InputError("None of the points tells anything.", {}, "points");
  }
  return expected;
}

/** The exact points as sums, the others one by one. @param {Point[]} given @returns {Told} */
function summed(given) {
  // Sums then come out the same in whatever order the points are given.
  const points = [...given].sort((a, b) => a.x - b.x || a.low - b.low || a.high - b.high);
  let middle = 0;
  for (const { x } of points) middle += x / points.length;
  const exact = { n: 0, y: 0, d: 0, yy: 0, yd: 0, dd: 0 };
  const censored = [];
  for (const { x, low, high } of points) {
    const d = x - middle;
    if (low < high) {
      censored.push({ d, low, high });
      continue;
    }
    exact.n += 1;
    exact.y += low;
    exact.d += d;
    exact.yy += low * low;
    exact.yd += low * d;
    exact.dd += d * d;
  }
  return { middle, exact, censored };
}

/** The logarithm of how likely the points are. @param {Told} told @param {number} height @param {number} slope
 * @param {number} scatter */
function likelihood({ exact, censored }, height, slope, scatter) {
  const { n, y, d, yy, yd, dd } = exact;
  const squares =
    yy + n * height * height + slope * slope * dd - 2 * height * y - 2 * slope * yd + 2 * height * slope * d;
  let log = -n * Math.log(scatter) - Math.max(0, squares) / (2 * scatter * scatter);
  for (const point of censored) {
    const line = height + slope * point.d;
    log += logBetween((point.low - line) / scatter, (point.high - line) / scatter);
  }
  return log;
}

// ---- the grid ------------------------------------------------------------------------------------

/** @typedef {{places: [number, number, number][], values: [number, number, number][], logs: number[], best: number}}
 *   Cells what is possible of a grid: where in it, at which height, slope and scatter, and how likely */

/** @param {Told} told @param {number[][]} box from and to of height, slope and the logarithm of the scatter
 * @param {number[]} counts @param {(height: number, slope: number) => boolean} isPossible @returns {Cells} */
function weighed(told, box, counts, isPossible) {
  const along = box.map(([from, to], axis) =>
    Array.from({ length: counts[axis] }, (_, i) => from + ((i + 0.5) * (to - from)) / counts[axis]),
  );
  const scatters = along[2].map(Math.exp);
  /** @type {Cells} */
  const cells = { places: [], values: [], logs: [], best: -Infinity };
  along[0].forEach((height, i) => {
    along[1].forEach((slope, j) => {
      if (!isPossible(height, slope)) return;
      scatters.forEach((scatter, k) => {
        const log = likelihood(told, height, slope, scatter);
        cells.places.push([i, j, k]);
        cells.values.push([height, slope, scatter]);
        cells.logs.push(log);
        cells.best = Math.max(cells.best, log);
      });
    });
  });
  return cells;
}

/** The part of the box in which anything is likely, and one cell more to each side.
 * @param {number[][]} box @param {Cells} cells @param {number[]} counts */
function around(box, { places, logs, best }, counts) {
  const near = places.filter((_, cell) => logs[cell] >= best - OUT_OF_SIGHT);
  if (near.length === 0) return box;
  return box.map(([from, to], axis) => {
    const step = (to - from) / counts[axis];
    let low = Infinity;
    let high = -Infinity;
    for (const place of near) {
      low = Math.min(low, place[axis]);
      high = Math.max(high, place[axis]);
    }
    return [Math.max(from, from + (low - 1) * step), Math.min(to, from + (high + 2) * step)];
  });
}

/** @param {number} middle @param {Cells} cells @returns {Monotone} */
function kept(middle, { values, logs, best }) {
  const near = values.map((_, cell) => cell).filter((cell) => logs[cell] >= best - NEGLIGIBLE);
  const weights = near.map((cell) => Math.exp(logs[cell] - best));
  let total = 0;
  for (const weight of weights) total += weight;
  return {
    middle,
    heights: near.map((cell) => values[cell][0]),
    slopes: near.map((cell) => values[cell][1]),
    scatters: near.map((cell) => values[cell][2]),
    weights: weights.map((weight) => weight / total),
  };
}

// ---- the normal distribution ---------------------------------------------------------------------

/** Of the table below: from which z on, and how many steps to a unit of it. */
const FROM = -12;
const STEPS = 128;

/** The logarithm of the chance below z, from −12 to 12, summed by Simpson's rule: interpolated it is good to 1e-5. */
const LOGS = (() => {
  const density = (/** @type {number} */ z) => Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
  let below = Math.exp(farBelow(FROM));
  const logs = [Math.log(below)];
  for (let i = 0; i < -2 * FROM * STEPS; i += 1) {
    const z = FROM + i / STEPS;
    below += (density(z) + 4 * density(z + 0.5 / STEPS) + density(z + 1 / STEPS)) / (6 * STEPS);
    logs.push(Math.log(Math.min(1, below)));
  }
  return logs;
})();

/** The logarithm of the chance that a normal value is below z. @param {number} z */
function logNormal(z) {
  if (z <= FROM) return farBelow(z);
  if (z >= -FROM) return 0;
  const at = (z - FROM) * STEPS;
  const whole = Math.min(Math.floor(at), LOGS.length - 2);
  return LOGS[whole] + (at - whole) * (LOGS[whole + 1] - LOGS[whole]);
}

/** The same where z is far below zero (Abramowitz and Stegun 26.2.12, from memory). @param {number} z */
function farBelow(z) {
  if (z === -Infinity) return -Infinity;
  return (-z * z) / 2 - Math.log(-z * Math.sqrt(2 * Math.PI)) + Math.log1p(-1 / (z * z));
}

/** The logarithm of the chance between, taken on the side of the shorter tail. @param {number} low @param {number} high */
function logBetween(low, high) {
  const [from, to] = low + high > 0 ? [-high, -low] : [low, high];
  const all = logNormal(to);
  return from === -Infinity ? all : all + Math.log1p(-Math.exp(Math.min(-1e-12, logNormal(from) - all)));
}
