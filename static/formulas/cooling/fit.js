/** The most likely cooling curve through the dips for one exponent n: start, rate and room. */
import { excessAfter, secondsBetween } from "./law.js";
import { REFERENCE_C } from "./prior.js";
import { LEAST_EXCESS_C } from "./readings.js";

/** A reading z standard deviations off counts as 1 / (1 + z²/TAIL) of one on the curve: a slip pulls little. */
export const TAIL = 5;

/** Of how many readings, spread over all, the start of a fit is made; and the steps of a fit. */
export const MOST_PICKED = 6;
export const MOST_STEPS = 40;

/** @typedef {import("./prior.js").Prior} Prior */
/** @typedef {import("./readings.js").Placed} Placed */
/**
 * @typedef {object} Fit the most likely curve for one n
 * @property {number} zero_s time of the first reading used
 * @property {number} excess_c θ at that time
 * @property {number} rate k in °C^(1−n)/s
 * @property {number} exponent n
 * @property {number} room_c the room as readings and prior have it
 * @property {number} log_rate ln of the rate at θ = 50 °C
 * @property {number[][]} spread covariance of temperature at `zero_s`, ln of the rate, and room
 * @property {number} evidence the logarithm of how well the curve explains readings and priors
 */
/** @typedef {[number, number, number]} Gradient */
/** @typedef {[number, number, number, number, number, number]} Symmetric a 3 × 3 matrix by its upper half */
/** @typedef {{log_over: number, log_rate: number, warmer: number}} State */
/** @typedef {{used: Placed[], room: number, noise: number, prior: Prior}} Given */

/** The first excess and the rate to start the fit from: of the curves through one reading with the
 * rate expected, and of those through two, the one that explains all of them best.
 * @param {Given} given @param {number} n @returns {State} */
export function startingPoint(given, n) {
  const { used, room, prior } = given;
  const zero = used[0][0];
  const last = used.length - 1;
  const picked = [];
  for (let part = 0; part < Math.min(last + 1, MOST_PICKED); part += 1) {
    const [time_s, temp_c] = used[Math.floor((last * part) / Math.max(Math.min(last, MOST_PICKED - 1), 1))];
    picked.push([time_s - zero, Math.max(temp_c - room, LEAST_EXCESS_C)]);
  }
  const curves = picked.map(([since, over]) => [since, over, prior.log_rate]);
  for (let second = 0; second < picked.length; second += 1) {
    for (let first = 0; first < second; first += 1) {
      const [since, hot] = picked[first];
      const [later, cool] = picked[second];
      if (later - since > 0 && hot > cool) {
        const log_rate = Math.log(secondsBetween(hot, cool, 1, n) / (later - since)) + n * Math.log(REFERENCE_C);
        if (Math.abs(log_rate - prior.log_rate) < 3) curves.push([since, hot, log_rate]);
      }
    }
  }
  let least = Infinity;
  let best = { log_over: 0, log_rate: 0, warmer: 0 };
  for (const [since, over, log_rate] of curves) {
    const k = Math.exp(log_rate) * REFERENCE_C ** -n;
    const start = Math.log(Math.min(excessAfter(over, k, -since, n), 400));
    const state = { log_over: start, log_rate, warmer: 0 };
    const cost = costOf(given, n, start, state);
    // Only a clear difference counts: two that are as good must not be told apart by rounding.
    if (cost < least - 1e-6 * (1 + cost)) {
      least = cost;
      best = state;
    }
  }
  return best;
}

/** Gauss–Newton, damped where a step does not help, for temperature, rate and room; the excess is
 * kept as its logarithm, so that no step can take the wax below the room.
 * @param {Given} given @param {number} n @param {State} start @param {Fit | null} [near] @returns {Fit} */
export function fitCurve(given, n, start, near = null) {
  const { used, room } = given;
  const begun = start.log_over;
  let state =
    near === null ? start : { log_over: Math.log(near.excess_c), log_rate: near.log_rate, warmer: near.room_c - room };
  let cost = costOf(given, n, begun, state);
  let damping = 0;
  for (let turn = 0; turn < MOST_STEPS; turn += 1) {
    const [a, b] = normal(given, n, begun, state);
    const steps = inverse(damped(a, damping))[0].map((line) => line[0] * b[0] + line[1] * b[1] + line[2] * b[2]);
    const size = steps[0] * b[0] + steps[1] * b[1] + steps[2] * b[2];
    const part = Math.min(1, 2 / (Math.abs(steps[1]) + 1e-12));
    const grows = (part * (steps[0] - steps[2])) / Math.exp(state.log_over);
    const tried = {
      log_over: state.log_over + Math.log1p(Math.min(Math.max(grows, -0.75), 3)),
      log_rate: state.log_rate + part * steps[1],
      warmer: state.warmer + part * steps[2],
    };
    // A small step needs no proof, and rounding would hide it.
    if (size > 1e-6) {
      const newCost = costOf(given, n, begun, tried);
      if (newCost > cost) {
        damping = Math.max(10 * damping, 1e-2);
        continue;
      }
      cost = newCost;
    }
    damping = damping > 1e-3 ? damping / 10 : 0;
    state = tried;
    if (size < 1e-20) break;
  }
  const [spread, logDeterminant] = inverse(normal(given, n, begun, state)[0]);
  return {
    zero_s: used[0][0],
    excess_c: Math.exp(state.log_over),
    rate: Math.exp(state.log_rate) * REFERENCE_C ** -n,
    exponent: n,
    room_c: room + state.warmer,
    log_rate: state.log_rate,
    spread,
    evidence: -0.5 * (logDeterminant + costOf(given, n, begun, state)),
  };
}

/** The wax in °C at `time_s`, on the curve. @param {Fit} fit @param {number} time_s */
export function fittedTemp(fit, time_s) {
  return fit.room_c + excessAfter(fit.excess_c, fit.rate, time_s - fit.zero_s, fit.exponent);
}

/** How the temperature at a time moves with that at `zero_s`, ln of the rate, and room.
 * @param {Fit} fit @param {number} time_s @returns {Gradient} */
export function tempGradient(fit, time_s) {
  const since = time_s - fit.zero_s;
  const theta = excessAfter(fit.excess_c, fit.rate, since, fit.exponent);
  const slope = (theta / fit.excess_c) ** fit.exponent;
  return [slope, -fit.rate * since * theta ** fit.exponent, 1 - slope];
}

/** How the time in s at which θ is `over` °C moves with the same three.
 * @param {Fit} fit @param {number} over @returns {Gradient} */
export function timeGradient(fit, over) {
  const there = 1 / (fit.rate * over ** fit.exponent);
  const here = 1 / (fit.rate * fit.excess_c ** fit.exponent);
  return [here, -secondsBetween(fit.excess_c, over, fit.rate, fit.exponent), there - here];
}

/** −2 ln of the posterior, but for a constant.
 * @param {Given} given @param {number} n @param {number} begun @param {State} state */
function costOf({ used, room, noise, prior }, n, begun, { log_over, log_rate, warmer }) {
  const zero = used[0][0];
  const k = Math.exp(log_rate) * REFERENCE_C ** -n;
  const over = Math.exp(log_over);
  let total = ((log_rate - prior.log_rate) / prior.rate_doubt) ** 2;
  total += (warmer / prior.room_doubt) ** 2 + (log_over - begun) ** 2;
  for (const [time_s, temp_c] of used) {
    const off = temp_c - (room + warmer + excessAfter(over, k, time_s - zero, n));
    total += TAIL * Math.log1p((off / noise) ** 2 / TAIL);
  }
  return total;
}

/** The normal equations in (temperature at the first reading, ln of the rate, room).
 * @param {Given} given @param {number} n @param {number} begun @param {State} state
 * @returns {[Symmetric, number[]]} */
function normal({ used, room, noise, prior }, n, begun, { log_over, log_rate, warmer }) {
  const zero = used[0][0];
  const k = Math.exp(log_rate) * REFERENCE_C ** -n;
  const over = Math.exp(log_over);
  const speed = k * Math.pow(over, n);
  const pull = (log_over - begun) / over;
  const stiff = 1 / over ** 2;
  let b0 = -pull;
  let b1 = (prior.log_rate - log_rate) / prior.rate_doubt ** 2;
  let b2 = pull - warmer / prior.room_doubt ** 2;
  let [a00, a01, a02] = [stiff, 0, -stiff];
  let [a11, a12] = [prior.rate_doubt ** -2, 0];
  let a22 = stiff + prior.room_doubt ** -2;
  // Written out: this is where a fit spends its time.
  for (const [time_s, temp_c] of used) {
    const since = time_s - zero;
    const theta = excessAfter(over, k, since, n);
    const off = temp_c - (room + warmer + theta);
    const weight = 1 / (noise ** 2 + (off * off) / TAIL);
    const slope = Math.pow(theta / over, n);
    const byRate = -speed * since * slope;
    const byRoom = 1 - slope;
    b0 += weight * slope * off;
    b1 += weight * byRate * off;
    b2 += weight * byRoom * off;
    a00 += weight * slope * slope;
    a01 += weight * slope * byRate;
    a02 += weight * slope * byRoom;
    a11 += weight * byRate * byRate;
    a12 += weight * byRate * byRoom;
    a22 += weight * byRoom * byRoom;
  }
  return [
    [a00, a01, a02, a11, a12, a22],
    [b0, b1, b2],
  ];
}

/** The matrix with a heavier diagonal (Levenberg and Marquardt). @param {Symmetric} m @param {number} damping
 * @returns {Symmetric} */
function damped([a, b, c, e, f, i], damping) {
  return [a * (1 + damping), b, c, e * (1 + damping), f, i * (1 + damping)];
}

/** Inverse of a symmetric, positive 3 × 3 matrix as LDLᵀ, and the log of its determinant.
 * @param {Symmetric} m @returns {[number[][], number]} */
function inverse([a, b, c, e, f, i]) {
  const p = b / a;
  const q = c / a;
  const second = Math.max(e - b * p, 1e-14 * e);
  const r = (f - b * q) / second;
  const third = Math.max(i - c * q - r * r * second, 1e-14 * i);
  const s = p * r - q;
  const rows = [
    [1 / a + (p * p) / second + (s * s) / third, -p / second - (s * r) / third, s / third],
    [-p / second - (s * r) / third, 1 / second + (r * r) / third, -r / third],
    [s / third, -r / third, 1 / third],
  ];
  return [rows, Math.log(a) + Math.log(second) + Math.log(third)];
}
