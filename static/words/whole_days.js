/** Days with their year, for what is kept for years. */
import { locale } from "./door.js";

/** Made once for each language: a list has many days. @type {Map<string, Intl.DateTimeFormat>} */
const formats = new Map();

/** Such as '2 Sept 2026' (CLDR's yMMMd). @param {string} date ISO 8601 */
export function wholeDayText(date) {
  let format = formats.get(locale());
  if (format === undefined) {
    // A calendar date has no zone: noon of it is the same day in UTC.
    format = new Intl.DateTimeFormat(locale(), { day: "numeric", month: "short", year: "numeric", timeZone: "UTC" });
    formats.set(locale(), format);
  }
  return format.format(new Date(`${date}T12:00:00Z`));
}
