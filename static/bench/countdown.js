/** The wait for a temperature: from a jug's dips to a moment on the clock. Pure: `now` is given. */
import { ValueError } from "../formulas/checks.js";
import { forecast, tempAt } from "../formulas/cooling.js";
import { windowOf } from "./fold.js";

/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("./fold.js").JugState} JugState */
/** @typedef {import("../formulas/cooling.js").Forecast} Forecast */
/**
 * @typedef {object} Wait
 * @property {"unread" | "hot" | "open" | "cold" | "unclear"} standing
 * @property {import("./mixing.js").Window} window
 * @property {Forecast | null} forecast times in seconds from `zero_ms`
 * @property {number} zero_ms wall clock of the first dip
 * @property {number | null} at_ms when the target is reached
 * @property {number | null} low_ms
 * @property {number | null} high_ms
 * @property {number | null} opens_ms when the window opens
 * @property {number | null} closes_ms when it has become too cool
 * @property {number | null} temp_c what the wax is at now, as far as the dips tell
 * @property {number | null} odd_c how far the last dip lies off the curve, where that is no thermometer's doubt
 * @property {string | null} problem a sentence, where the dips make no forecast
 */

/** A dip this far off the curve is a slip, or the jug has been moved, covered or warmed. */
const ODD_C = 2;

/** @param {Sheet} sheet @param {JugState} jug @param {number} now_ms @returns {Wait} */
export function waitOf(sheet, jug, now_ms) {
  const window = windowOf(sheet, jug);
  const zero_ms = jug.dips[0]?.at ?? now_ms;
  /** @type {Wait} */
  const wait = {
    standing: "unread", window, forecast: null, zero_ms, at_ms: null, low_ms: null, high_ms: null,
    opens_ms: null, closes_ms: null, temp_c: null, odd_c: null, problem: null,
  };
  if (jug.dips.length === 0) return wait;
  const toward = (/** @type {number} */ target_c) => forecastTo(sheet, jug, zero_ms, target_c);
  const onClock = (/** @type {number} */ seconds) => zero_ms + seconds * 1000;
  try {
    const found = toward(window.target_c);
    wait.forecast = found;
    wait.at_ms = onClock(found.eta_s);
    wait.low_ms = onClock(found.low_s);
    wait.high_ms = onClock(found.high_s);
    wait.opens_ms = onClock(toward(window.high_c).eta_s);
    wait.temp_c = tempAt(found, (now_ms - zero_ms) / 1000);
    const last = jug.dips[jug.dips.length - 1];
    const off_c = last.temp_c - tempAt(found, (last.at - zero_ms) / 1000);
    if (Math.abs(off_c) > ODD_C) {
      wait.odd_c = off_c;
      // Until she reads again, what she read last stands.
      wait.temp_c = last.temp_c;
    }
  } catch (error) {
    if (!(error instanceof ValueError)) throw error;
    const last = jug.dips[jug.dips.length - 1];
    wait.temp_c = last.temp_c;
    wait.problem = error.message;
  }
  if (window.low_c > sheet.room_c && wait.forecast) wait.closes_ms = onClock(toward(window.low_c).eta_s);
  wait.standing = standing(wait);
  return wait;
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} zero_ms @param {number} target_c */
function forecastTo(sheet, jug, zero_ms, target_c) {
  return forecast(
    jug.dips.map(({ at, temp_c }) => /** @type {[number, number]} */ ([(at - zero_ms) / 1000, temp_c])),
    sheet.room_c,
    target_c,
    { thermometer_step_c: sheet.thermometer_step_c, mass_g: jug.wax_g > 0 ? jug.wax_g : null },
  );
}

/** @param {Wait} wait @returns {Wait["standing"]} */
function standing({ temp_c, window, problem }) {
  if (temp_c === null) return "unread";
  if (temp_c > window.high_c) return problem ? "unclear" : "hot";
  return temp_c < window.low_c ? "cold" : "open";
}

/** When a jug's clock rings next, and for what; null while nothing runs.
 * @param {Sheet} sheet @param {JugState} jug @param {number} now_ms
 * @returns {{at_ms: number, what: "temperature" | "stir", key: string} | null} */
export function alarmOf(sheet, jug, now_ms) {
  if (jug.step === "stir" && jug.added_at !== null) {
    return { at_ms: jug.added_at + sheet.stir_s * 1000, what: "stir", key: `stir ${jug.added_at}` };
  }
  if (jug.step !== "cool" && jug.step !== "settle") return null;
  const last = jug.dips[jug.dips.length - 1];
  const { at_ms } = waitOf(sheet, jug, now_ms);
  // A dip already at or under the target needs no bell: the screen answers it at once.
  if (at_ms === null || last.temp_c <= windowOf(sheet, jug).target_c) return null;
  return { at_ms, what: "temperature", key: `temperature ${last.event}` };
}
