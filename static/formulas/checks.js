/**
 * Is this a number that the formula can take? If not, a sentence that says so.
 *
 * Every check takes the value, what it is called where the sentence begins (`message("The load")`), its limits
 * where it has any, and the name of the formula's argument that it came in by, which the error carries as `about`.
 */
import { InputError } from "../words/door.js";
import { numberText } from "../words/numbers.js";

/** @typedef {import("../words/door.js").Message} Message */

/** No quantity at a pour bench comes near this; beyond it a sum is a slip of the finger. */
export const LARGEST = 1e9;

/** As good as zero: to divide by less would leave the range of a float. */
export const SMALLEST = 1e-30;

/** A limit as a person writes it: 5000 and 0.95. @param {number} value */
export function plain(value) {
  return numberText(String(Number.isInteger(value) ? value : Number(value.toPrecision(6))));
}

/** A finite number no larger than a billion either way.
 * @param {unknown} value @param {Message} name @param {string | null} [about] @returns {number}
 * @throws {InputError} not a number, not finite, or absurdly large */
export function number(value, name, about = null) {
  if (typeof value !== "number") throw new InputError("{name} must be a number.", { name }, about);
  if (!Number.isFinite(value)) throw new InputError("{name} must be a finite number.", { name }, about);
  if (Math.abs(value) > LARGEST) throw new InputError("{name} is far too large for a pour bench.", { name }, about);
  return value;
}

/** A finite number above zero. @param {unknown} value @param {Message} name @param {string | null} [about] */
export function positive(value, name, about = null) {
  const checked = number(value, name, about);
  if (checked < SMALLEST) throw new InputError("{name} must be more than zero.", { name }, about);
  return checked;
}

/** A finite number, zero or more. @param {unknown} value @param {Message} name @param {string | null} [about] */
export function notNegative(value, name, about = null) {
  const checked = number(value, name, about);
  if (checked < 0) throw new InputError("{name} can't be less than zero.", { name }, about);
  return checked;
}

/** A finite number from `low` to `high`, both included.
 * @param {unknown} value @param {Message} name @param {number} low @param {number} high @param {string | null} [about] */
export function within(value, name, low, high, about = null) {
  const checked = number(value, name, about);
  if (!(low <= checked && checked <= high)) {
    throw new InputError("{name} must be from {low} to {high}.", { name, low: plain(low), high: plain(high) }, about);
  }
  return checked;
}

/** A density in g/ml that a wax, an oil or a dye can have: 0.5 to 2.
 * @param {unknown} value @param {Message} name @param {string | null} [about] */
export function density(value, name, about = null) {
  return within(value, name, 0.5, 2.0, about);
}

/** A whole number from `low` to `high`, both included.
 * @param {unknown} value @param {Message} name @param {number} low @param {number} high @param {string | null} [about] */
export function whole(value, name, low, high, about = null) {
  const checked = number(value, name, about);
  if (checked !== Math.floor(checked)) throw new InputError("{name} must be a whole number.", { name }, about);
  if (!(low <= checked && checked <= high)) {
    throw new InputError("{name} must be from {low} to {high}.", { name, low, high }, about);
  }
  return checked;
}
