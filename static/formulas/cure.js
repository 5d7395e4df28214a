/** When a poured batch is cured. Dates are ISO 8601 text in the maker's own time zone. */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";

export const LONGEST_DAYS = 365;

const DAY_MS = 86_400_000;

/** The day on which a batch has cured for `days` whole days. @param {string} poured_on @param {number} days */
export function ready(poured_on, days) {
  return new Date(cured(poured_on, days)).toISOString().slice(0, 10);
}

/** Whole days from `today` until the batch is ready; 0 on the day, negative after it.
 * @param {string} poured_on @param {number} days @param {string} today */
export function daysLeft(poured_on, days, today) {
  return (cured(poured_on, days) - midnight(today, "today")) / DAY_MS;
}

/** @param {string} poured_on @param {number} days */
function cured(poured_on, days) {
  const whole = checks.whole(days, message("The days of cure"), 0, LONGEST_DAYS, "days");
  return midnight(poured_on, "poured_on") + whole * DAY_MS;
}

/** @param {string} text a calendar date; counted in UTC so that no clock change makes a day shorter
 * @param {string} about the argument that it came in by */
function midnight(text, about) {
  const at = /^[12]\d{3}-\d{2}-\d{2}$/.test(text) ? Date.parse(`${text}T00:00:00Z`) : NaN;
  if (Number.isNaN(at) || new Date(at).toISOString().slice(0, 10) !== text) {
    throw new InputError("“{typed}” is not a date: write it as 2026-11-25.", { typed: text }, about);
  }
  return at;
}
