/** The one place where a number is rounded, and the one where it is written out. */
import { message } from "../words/door.js";
import { number, positive } from "./checks.js";

/** Part of a step by which a value may miss the half and still go up. */
export const GUARD = 1e-9;

/** How many whole steps `value` is nearest to, half up. @param {number} value @param {number} step */
export function steps(value, step) {
  number(value, message("The value"), "value");
  positive(step, message("The step"), "step");
  return Math.floor(value / step + 0.5 + GUARD);
}

/** `count` steps, the nearest float to the decimal that a person would write.
 * @param {number} count @param {number} step */
export function times(count, step) {
  positive(step, message("The step"), "step");
  const perOne = Math.floor(1 / step + 0.5);
  if (perOne >= 1 && Math.abs(perOne * step - 1) < 1e-12) return count / perOne;
  return count * step;
}

/** The multiple of `step` nearest to `value`, half up. @param {number} value @param {number} step */
export function roundTo(value, step) {
  return times(steps(value, step), step);
}

/** The smallest multiple of `step` that is not below `value` (by more than the guard).
 * @param {number} value @param {number} step */
export function roundUp(value, step) {
  number(value, message("The value"), "value");
  positive(step, message("The step"), "step");
  return times(Math.ceil(value / step - GUARD), step);
}

/** The largest multiple of `step` that is not above `value` (by more than the guard).
 * @param {number} value @param {number} step */
export function roundDown(value, step) {
  number(value, message("The value"), "value");
  positive(step, message("The step"), "step");
  return times(Math.floor(value / step + GUARD), step);
}

/** Decimals (0 to 6) needed to write every multiple of `step`. @param {number} step */
export function decimalsOf(step) {
  positive(step, message("The step"), "step");
  for (let decimals = 0; decimals < 6; decimals += 1) {
    const scaled = step * 10 ** decimals;
    if (Math.abs(scaled - Math.floor(scaled + 0.5)) < 1e-6 * scaled) return decimals;
  }
  return 6;
}

/** `value` rounded to `step`, as decimal text. @param {number} value @param {number} step */
export function write(value, step) {
  const decimals = decimalsOf(step);
  const count = steps(roundTo(value, step), Number(`1e-${decimals}`));
  const digits = String(Math.abs(count)).padStart(decimals + 1, "0");
  const text = decimals === 0 ? digits : `${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`;
  return count < 0 ? `-${text}` : text;
}
