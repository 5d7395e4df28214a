/** Days with their year, for what is kept for years. */
import { locale } from "./door.js";

/** Such as '2 Sept 2026' (CLDR's yMMMd). @param {string} date ISO 8601 */
export function wholeDayText(date) {
  // A calendar date has no zone: noon of it is the same day in UTC.
  const form = /** @type {const} */ ({ day: "numeric", month: "short", year: "numeric", timeZone: "UTC" });
  return new Intl.DateTimeFormat(locale(), form).format(new Date(`${date}T12:00:00Z`));
}
