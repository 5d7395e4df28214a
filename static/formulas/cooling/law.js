/** How wax in a jug cools: dθ/dt = −k·θ^n, θ the excess over the room in °C; and its inverse. */
import { InputError, message } from "../../words/door.js";
import * as checks from "../checks.js";

export const EXPONENT = 1.25;

/** θ in °C after `elapsed_s` seconds.
 * @param {number} start_c @param {number} rate @param {number} elapsed_s @param {number} [exponent] */
export function excess(start_c, rate, elapsed_s, exponent = EXPONENT) {
  const start = checks.positive(start_c, message("The excess over the room"), "start_c");
  const k = checks.positive(rate, message("The rate"), "rate");
  const seconds = checks.number(elapsed_s, message("The time"), "elapsed_s");
  const n = checks.within(exponent, message("The exponent"), 1, 3, "exponent");
  if (grown(start, k, seconds, n) <= 0) throw new InputError("That is before this curve begins.", {}, "elapsed_s");
  return excessAfter(start, k, seconds, n);
}

/** Seconds in which θ goes from `start_c` to `end_c`.
 * @param {number} start_c @param {number} end_c @param {number} rate @param {number} [exponent] */
export function elapsed(start_c, end_c, rate, exponent = EXPONENT) {
  const start = checks.positive(start_c, message("The excess at the start"), "start_c");
  const end = checks.positive(end_c, message("The excess at the end"), "end_c");
  const k = checks.positive(rate, message("The rate"), "rate");
  return secondsBetween(start, end, k, checks.within(exponent, message("The exponent"), 1, 3, "exponent"));
}

/** What stands in the brackets of the law; the curve begins where it is zero.
 * @param {number} start @param {number} k @param {number} seconds @param {number} n */
function grown(start, k, seconds, n) {
  return 1 + (n - 1) * k * seconds * Math.pow(start, n - 1);
}

/** `excess` without its checks; before its beginning the curve is held at its hottest.
 * @param {number} start @param {number} k @param {number} seconds @param {number} n */
export function excessAfter(start, k, seconds, n) {
  if (n === 1) return start * Math.exp(Math.min(-k * seconds, 200));
  const growth = Math.max((n - 1) * k * seconds * Math.pow(start, n - 1), -1 + 1e-9);
  return start * Math.exp(Math.min(-Math.log1p(growth) / (n - 1), 200));
}

/** `elapsed` without its checks. @param {number} start @param {number} end @param {number} k @param {number} n */
export function secondsBetween(start, end, k, n) {
  if (n === 1) return Math.log(start / end) / k;
  return (Math.pow(end, 1 - n) * -Math.expm1((1 - n) * Math.log(start / end))) / ((n - 1) * k);
}
