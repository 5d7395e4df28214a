/** What she says to a reminder, as events of its pour: done, or tomorrow. */

import { ready } from "../formulas/cure.js";
import { localDate } from "../words/dates.js";
import { phoneNow } from "./clock.js";

/** @typedef {Extract<import("../records/event_types.js").NewPourEvent, {type: "seen_to"}>} SeenTo */
/** @typedef {Extract<import("../records/event_types.js").NewPourEvent, {type: "put_off"}>} PutOff */

/** @param {SeenTo["reminder"]} reminder @param {string} day on which it was due @returns {SeenTo} */
export function seenTo(reminder, day) {
  return { type: "seen_to", reminder, on: day };
}

/** @param {PutOff["reminder"]} reminder @param {string} day @returns {PutOff} */
export function putOff(reminder, day) {
  return { type: "put_off", reminder, on: day, until: ready(localDate(phoneNow()), 1) };
}
