/** Days before and after a day. Days are ISO 8601 text, of the Gregorian calendar. */
import { message } from "../words/door.js";
import * as checks from "./checks.js";
import { ready } from "./cure.js";

const DAY_MS = 86_400_000;

/** As far as a plan or a shelf looks ahead or back: a hundred years. */
export const MOST_DAYS = 36_525;

/**
 * The day so many days after another; before it where they are below nothing.
 * @param {string} day @param {number} days whole, within `MOST_DAYS` @returns {string}
 * @throws {InputError} not a day, not whole, or further than that
 */
export function dayPlus(day, days) {
  const whole = checks.whole(days, message("The days"), -MOST_DAYS, MOST_DAYS, "days");
  return new Date(Date.parse(ready(day, 0)) + whole * DAY_MS).toISOString().slice(0, 10);
}

/** Whole days from one day to another; below nothing where it is earlier.
 * @param {string} from @param {string} to @returns {number} @throws {InputError} not a day */
export function daysBetween(from, to) {
  return (Date.parse(ready(to, 0)) - Date.parse(ready(from, 0))) / DAY_MS;
}
