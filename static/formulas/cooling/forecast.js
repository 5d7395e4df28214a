/** When the wax will be at temperature, how sure that is, and when to dip again. */
import { InputError, message } from "../../words/door.js";
import * as checks from "../checks.js";
import { fittedTemp, tempGradient, timeGradient } from "./fit.js";
import { elapsed, excess, excessAfter, secondsBetween } from "./law.js";
import { covariance, posteriorOf, slopeByExponent } from "./posterior.js";
import { priorFor, RATE_DOUBT, ROOM_DOUBT_C } from "./prior.js";
import { afterLastRise, inOrder } from "./readings.js";

/** A next dip is due at the latest at this part of the earliest arrival. */
export const LATEST = 0.95;

/** Standard deviations off the curve from which a reading is called odd. */
export const ODD = 3.5;

/** A doubt at the target of ± 0.35 °C, nine times in ten, is worth no further dip. */
export const NEED_C = 0.35;

/** Standard deviations either side that hold 90 % of a normal distribution. */
export const NINETY = 1.6448536269514722;

/** @typedef {import("./prior.js").Prior} Prior */
/** @typedef {import("./readings.js").Reading} Reading */
/** @typedef {import("./readings.js").Placed} Placed */
/** @typedef {import("./posterior.js").Posterior} Posterior */
/**
 * @typedef {object} Forecast
 * @property {number} eta_s when the curve crosses the target, seconds from the readings' zero
 * @property {number} low_s
 * @property {number} high_s
 * @property {number} doubt_c half of the 90 % interval of the temperature at `eta_s`
 * @property {number} rate_c_per_min
 * @property {number} exponent
 * @property {number} rate
 * @property {number} room_c
 * @property {number} zero_s
 * @property {number} excess_c
 * @property {number | null} next_dip_s when another reading is worth the trouble
 * @property {number} used
 * @property {number[]} odd which of the readings lie so far off the curve that they hardly count
 * @property {boolean} restarted
 * @property {boolean} guessed
 */

/** The wax in °C, `t_s` seconds from the readings' zero. @param {Forecast} forecast @param {number} t_s */
export function tempAt(forecast, t_s) {
  const since = checks.number(t_s, message("The time"), "t_s") - forecast.zero_s;
  return forecast.room_c + excess(forecast.excess_c, forecast.rate, since, forecast.exponent);
}

/** When the curve passes `temp_c`, seconds from the readings' zero. @param {Forecast} forecast @param {number} temp_c */
export function timeAt(forecast, temp_c) {
  const over = checks.within(temp_c, message("The temperature in °C"), -20, 300, "temp_c") - forecast.room_c;
  if (over < checks.SMALLEST) throw new InputError("The wax never gets that cold in this room.", {}, "temp_c");
  return forecast.zero_s + elapsed(forecast.excess_c, over, forecast.rate, forecast.exponent);
}

/** When cooling wax reaches `target_c`.
 * @param {Reading[]} readings @param {number} room_c @param {number} target_c
 * @param {{thermometer_step_c?: number, mass_g?: number | null, history?: number[][],
 *   exponent?: number | null, handling_c?: number | null, room_doubt_c?: number, need_c?: number}} [options]
 * @returns {Forecast} */
export function forecast(readings, room_c, target_c, options = {}) {
  const {
    thermometer_step_c = 0.1,
    mass_g = null,
    history = [],
    exponent = null,
    handling_c = null,
    room_doubt_c = ROOM_DOUBT_C,
    need_c = NEED_C,
  } = options;
  const room = checks.within(room_c, message("The room in °C"), -20, 50, "room_c");
  const target = checks.within(target_c, message("The target in °C"), -20, 300, "target_c");
  if (target - room < checks.SMALLEST) {
    throw new InputError(
      "The target is not above the room: the wax will never cool to it. " +
        "Check the target and the room temperature.",
      {},
      "target_c",
    );
  }
  const need = checks.positive(need_c, message("The doubt that is good enough"), "need_c");
  const prior = priorFor(mass_g, history, exponent, room_doubt_c, handling_c);
  return forecastFrom(inOrder(readings, room), room, target, thermometer_step_c, prior, need);
}

/** `forecast` from what it has checked and from any prior.
 * @param {Placed[]} ordered @param {number} room @param {number} target @param {number} step
 * @param {Prior} prior @param {number} need @returns {Forecast} */
export function forecastFrom(ordered, room, target, step, prior, need) {
  const first = afterLastRise(ordered, room, step, prior);
  const used = ordered.slice(first);
  const known = posteriorOf(used, room, step, prior);
  const { fit, grid } = known;
  const over = Math.max(target - fit.room_c, 0.05);
  const eta = fit.zero_s + secondsBetween(fit.excess_c, over, fit.rate, fit.exponent);
  const last_s = used[used.length - 1][0];
  const moved = grid.map(
    (each, index) =>
      each.zero_s +
      secondsBetween(each.excess_c, Math.max(target - each.room_c, 0.05), each.rate, prior.exponents[index]),
  );
  const byExponent = slopeByExponent(moved, known);
  const sure = Math.sqrt(
    covariance(fit, timeGradient(fit, over)) +
      byExponent ** 2 * known.exponent_var +
      (prior.law_doubt * (eta - last_s)) ** 2,
  );
  const [low, high] = interval(eta, last_s, sure);
  const speed = fit.rate * over ** fit.exponent;
  const nowOver = excessAfter(fit.excess_c, fit.rate, last_s - fit.zero_s, fit.exponent);
  const doubt = NINETY * sure * speed;
  const odd = ordered
    .slice(first)
    .filter(([time_s, temp_c]) => Math.abs(temp_c - fittedTemp(fit, time_s)) > ODD * known.noise)
    .map(([, , index]) => index)
    .sort((a, b) => a - b);
  return {
    eta_s: eta,
    low_s: low,
    high_s: high,
    doubt_c: doubt,
    rate_c_per_min: 60 * fit.rate * nowOver ** fit.exponent,
    exponent: fit.exponent,
    rate: fit.rate,
    room_c: fit.room_c,
    zero_s: fit.zero_s,
    excess_c: fit.excess_c,
    next_dip_s: nextDip(known, last_s, eta, low, doubt, need),
    used: used.length,
    odd,
    restarted: first > 0,
    guessed: Math.sqrt(fit.spread[1][1]) > RATE_DOUBT / 3,
  };
}

/** When another reading shrinks the doubt under what is needed; the earliest such time.
 * @param {Posterior} known @param {number} last_s @param {number} eta_s
 * @param {number} low_s @param {number} doubt_c @param {number} need_c
 * @returns {number | null} */
function nextDip(known, last_s, eta_s, low_s, doubt_c, need_c) {
  const ahead = eta_s - last_s;
  if (doubt_c <= need_c || ahead <= 60) return null;
  const latest = last_s + LATEST * (low_s - last_s);
  const tempsAt = (/** @type {number} */ time_s) => known.grid.map((each) => fittedTemp(each, time_s));
  const atTarget = tempGradient(known.fit, eta_s);
  const targetN = slopeByExponent(tempsAt(eta_s), known);
  const before = covariance(known.fit, atTarget) + targetN ** 2 * known.exponent_var;
  let best_s = null;
  let best = before;
  for (let twentieth = 1; twentieth <= 20; twentieth += 1) {
    const time_s = last_s + ((latest - last_s) * twentieth) / 20;
    if (time_s - last_s < 30) continue;
    const there = tempGradient(known.fit, time_s);
    const thereN = slopeByExponent(tempsAt(time_s), known);
    const shared = covariance(known.fit, atTarget, there) + targetN * thereN * known.exponent_var;
    const seen = covariance(known.fit, there) + thereN ** 2 * known.exponent_var + known.noise ** 2;
    const after = before - (shared * shared) / seen;
    // A later dip has to be clearly better: a tie must not be settled by rounding.
    if (after < best * (1 - 1e-6)) {
      best = after;
      best_s = time_s;
    }
    if (NINETY * Math.sqrt(Math.max(after, 0)) <= need_c) break;
  }
  return best < 0.8 * before ? best_s : null;
}

/** 90 % either side, stretched so that an arrival more than a second ahead does not lie in the past.
 * @param {number} eta_s @param {number} last_s @param {number} sure @returns {[number, number]} */
function interval(eta_s, last_s, sure) {
  const ahead = eta_s - last_s;
  if (ahead <= 1) return [eta_s - NINETY * sure, eta_s + NINETY * sure];
  const doubt = NINETY * sure;
  const stretch = Math.exp(Math.min(doubt / ahead, 5));
  // Where the doubt is longer than the wait, a multiple of the wait would have no end.
  return [last_s + ahead / stretch, Math.min(last_s + ahead * stretch, eta_s + doubt * (Math.E - 1))];
}
