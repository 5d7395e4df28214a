/** Times and days in words, in the language that is spoken. */
import { locale } from "./door.js";

/** Made once for each language and form: a slow phone takes a while to get ready for one.
 * @type {Map<string, Intl.DateTimeFormat>} */
const formats = new Map();

/** @param {number} n */
const two = (n) => String(n).padStart(2, "0");

/** Seconds as m:ss, or h:mm:ss from an hour. @param {number} seconds */
export function clockText(seconds) {
  const whole = Math.max(0, Math.ceil(seconds - 1e-6));
  const [h, m, s] = [Math.floor(whole / 3600), Math.floor((whole % 3600) / 60), whole % 60];
  return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}

/** The calendar date in her time zone, ISO 8601. @param {number} at_ms */
export function localDate(at_ms) {
  const at = new Date(at_ms);
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
}

/** Such as 'Wed 2 Sept' (CLDR's MMMEd). @param {string} date ISO 8601 */
export function dayText(date) {
  return dateText(date, { weekday: "short", day: "numeric", month: "short" });
}

/** Such as 'September 2026' (CLDR's yMMMM). @param {string} date ISO 8601 */
export function monthText(date) {
  return dateText(date, { month: "long", year: "numeric" });
}

/** @param {string} date ISO 8601 @param {Intl.DateTimeFormatOptions} form */
function dateText(date, form) {
  const key = [locale(), ...Object.keys(form)].join(" ");
  let format = formats.get(key);
  if (format === undefined) {
    // A calendar date has no zone: noon of it is the same day in UTC.
    format = new Intl.DateTimeFormat(locale(), { ...form, timeZone: "UTC" });
    formats.set(key, format);
  }
  return format.format(new Date(`${date}T12:00:00Z`));
}

/** Such as '14:32'. @param {number} at_ms */
export function timeText(at_ms) {
  const at = new Date(at_ms);
  return `${two(at.getHours())}:${two(at.getMinutes())}`;
}

/** Such as '9:00'. @param {number} minutes since midnight */
export function timeOfDay(minutes) {
  return `${Math.floor(minutes / 60)}:${two(minutes % 60)}`;
}
