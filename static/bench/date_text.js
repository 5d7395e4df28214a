/** Times and days in words. By hand: the platform's own formats take a slow phone 70 ms to get ready. */

const DAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sept", "Oct", "Nov", "Dec"];

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

/** Such as 'Wed 25 Nov'. @param {string} date ISO 8601 */
export function dayText(date) {
  const [year, month, day] = date.split("-").map(Number);
  return `${DAYS[new Date(year, month - 1, day).getDay()]} ${day} ${MONTHS[month - 1]}`;
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
