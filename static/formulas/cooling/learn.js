/** What a finished cooling tells of its jug and of her hand, for the forecasts of its next pours. */
import { message } from "../../words/door.js";
import * as checks from "../checks.js";
import { moments, posteriorOf, slopeByExponent } from "./posterior.js";
import { DEFAULT_MASS_G, priorFor, REFERENCE_C, ROOM_DOUBT_C } from "./prior.js";
import { afterLastRise, inOrder } from "./readings.js";

/** How far the logarithm of a learned rate, or of a hand, may lie from what was expected. */
export const MOST_LEARNED = 3;

/** @typedef {import("./readings.js").Reading} Reading */
/** @typedef {import("./prior.js").Learned} Learned */

/** What the readings of one cooling tell of the jug and of the hand, for the `history` of the next.
 * @param {Reading[]} readings @param {number} room_c
 * @param {{thermometer_step_c?: number, mass_g?: number, history?: number[][], room_doubt_c?: number}} [options]
 * @returns {Learned} */
export function learn(readings, room_c, options = {}) {
  const { thermometer_step_c = 0.1, mass_g = DEFAULT_MASS_G, history = [], room_doubt_c = ROOM_DOUBT_C } = options;
  const room = checks.within(room_c, message("The room in °C"), -20, 50, "room_c");
  const mass = checks.positive(mass_g, message("The wax in the jug"), "mass_g");
  const prior = priorFor(mass, history, null, room_doubt_c);
  const ordered = inOrder(readings, room);
  const used = ordered.slice(afterLastRise(ordered, room, thermometer_step_c, prior));
  const known = posteriorOf(used, room, thermometer_step_c, prior);
  const byExponent = slopeByExponent(
    known.grid.map((fit) => fit.log_rate),
    known,
  );
  const variance = known.fit.spread[1][1] + byExponent ** 2 * known.exponent_var;
  const [told, rateVar] = without(known.fit.log_rate, variance, prior.log_rate, prior.rate_doubt ** 2);
  // Dips that say next to nothing say nothing absurd.
  const rate = Math.min(Math.max(told, prior.log_rate - MOST_LEARNED), prior.log_rate + MOST_LEARNED);
  const [middle, scale] = prior.exponent;
  const [open, nVar] = without(known.fit.exponent, known.exponent_var, middle, scale * scale);
  const n = Math.min(Math.max(open, 1), 2.5);
  const [usual, doubt] = prior.handling;
  const hand = moments(prior.handlings.map(Math.log), known.handlings);
  const [added, addedVar] = without(...hand, usual, doubt * doubt);
  const handling = Math.exp(Math.min(Math.max(added, usual - MOST_LEARNED), usual + MOST_LEARNED));
  return [
    mass,
    Math.exp(rate) * REFERENCE_C ** -n,
    n,
    Math.sqrt(rateVar),
    Math.sqrt(nVar),
    handling,
    Math.sqrt(addedVar),
  ];
}

/** Value and variance with a prior taken off.
 * @param {number} value @param {number} variance @param {number} prior @param {number} priorVar
 * @returns {[number, number]} */
function without(value, variance, prior, priorVar) {
  const precision = Math.max(1 / variance - 1 / priorVar, 0.01 / priorVar);
  return [prior + (value - prior) / variance / precision, 1 / precision];
}
