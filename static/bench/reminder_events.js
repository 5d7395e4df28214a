/** What she says to a reminder, as events of its pour: done, or tomorrow. */

import { ready } from "../formulas/cure.js";
import { localDate } from "../words/dates.js";
import { now } from "./clock.js";

/** @param {string} reminder @param {string} day on which it was due */
export function seenTo(reminder, day) {
  return { type: "seen_to", reminder, on: day };
}

/** @param {string} reminder @param {string} day */
export function putOff(reminder, day) {
  return { type: "put_off", reminder, on: day, until: ready(localDate(now()), 1) };
}
