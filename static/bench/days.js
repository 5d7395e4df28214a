/** Times and days in words. */

/** Seconds as m:ss, or h:mm:ss from an hour. @param {number} seconds */
export function clockText(seconds) {
  const whole = Math.max(0, Math.ceil(seconds - 1e-6));
  const [h, m, s] = [Math.floor(whole / 3600), Math.floor((whole % 3600) / 60), whole % 60];
  const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
  return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}

/** The calendar date in her time zone, ISO 8601. @param {number} at_ms */
export function localDate(at_ms) {
  const at = new Date(at_ms);
  const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
}

/** Such as 'Wed 25 Nov'. @param {string} date ISO 8601 */
export function dayText(date) {
  const [year, month, day] = date.split("-").map(Number);
  const options = /** @type {const} */ ({ weekday: "short", day: "numeric", month: "short" });
  return new Date(year, month - 1, day).toLocaleDateString("en-GB", options).replace(",", "");
}

/** Such as '14:32'. @param {number} at_ms */
export function timeText(at_ms) {
  return new Date(at_ms).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
}

/** Such as '9:00'. @param {number} minutes since midnight */
export function timeOfDay(minutes) {
  return `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, "0")}`;
}
