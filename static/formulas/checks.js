import { InputError } from "../words/door.js";

/** Is this a number that the formula can take? If not, a sentence that says so. */

/** No quantity at a pour bench comes near this; beyond it a sum is a slip of the finger. */
export const LARGEST = 1e9;

/** As good as zero: to divide by less would leave the range of a float. */
export const SMALLEST = 1e-30;

/** A limit as a person writes it. @param {number} value */
export function plain(value) {
  return Number.isInteger(value) ? String(value) : String(Number(value.toPrecision(6)));
}

/** @param {unknown} value @param {string} name @returns {number} */
export function number(value, name) {
  if (typeof value !== "number") throw new InputError(`${name} must be a number.`);
  if (!Number.isFinite(value)) throw new InputError(`${name} must be a finite number.`);
  if (Math.abs(value) > LARGEST) throw new InputError(`${name} is far too large for a pour bench.`);
  return value;
}

/** @param {unknown} value @param {string} name */
export function positive(value, name) {
  const checked = number(value, name);
  if (checked < SMALLEST) throw new InputError(`${name} must be more than zero.`);
  return checked;
}

/** @param {unknown} value @param {string} name */
export function notNegative(value, name) {
  const checked = number(value, name);
  if (checked < 0) throw new InputError(`${name} can't be less than zero.`);
  return checked;
}

/** @param {unknown} value @param {string} name @param {number} low @param {number} high */
export function within(value, name, low, high) {
  const checked = number(value, name);
  if (!(low <= checked && checked <= high)) {
    throw new InputError(`${name} must be from ${plain(low)} to ${plain(high)}.`);
  }
  return checked;
}

/** @param {unknown} value @param {string} name */
export function density(value, name) {
  return within(value, name, 0.5, 2.0);
}

/** @param {unknown} value @param {string} name @param {number} low @param {number} high */
export function whole(value, name, low, high) {
  const checked = number(value, name);
  if (checked !== Math.floor(checked)) throw new InputError(`${name} must be a whole number.`);
  if (!(low <= checked && checked <= high)) {
    throw new InputError(`${name} must be from ${low} to ${high}.`);
  }
  return checked;
}
