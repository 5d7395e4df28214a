/**
 * When wax on the heat will be at temperature: a straight line through the last readings.
 *
 * Over the few minutes that matter, wax on a steady heat rises in a straight line; as it gets hotter it loses more,
 * so that the line, if anything, comes early: on the side of turning the heat down in time. Only the phone asks this,
 * so this file has no twin.
 */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";
import { NINETY } from "./cooling/forecast.js";
import { MOST_READINGS, noiseOf } from "./cooling/readings.js";

/** The line goes through this many of the last readings: the heat may have been turned. */
export const LAST = 4;

/** What a careful dip adds to a thermometer's rounding, standard deviation in °C. */
export const HANDLING_C = 0.1;

/** A rise slower than 0.2 °C a minute is none that a forecast could rest on, °C/s. */
export const LEAST_RATE = 0.2 / 60;

/**
 * @typedef {object} Rise when the target is reached on the heat
 * @property {number} eta_s seconds from the readings' zero; before the last reading if it is passed
 * @property {number} low_s start of the 90 % interval
 * @property {number} high_s its end
 * @property {number} rate_c_per_min the rise, °C a minute
 * @property {number} temp_c the wax at the last reading, on the line
 */

/**
 * When wax on the heat reaches `target_c`: least squares through the last readings.
 * @param {[number, number][]} readings seconds from any zero and °C, in any order; two or more
 * @param {number} target_c the temperature waited for, −20 to 300 °C
 * @param {{thermometer_step_c?: number, handling_c?: number}} [options] the thermometer's step (0.001 to 5 °C), and the
 *   standard deviation of a dip beside it (0 to 5 °C)
 * @returns {Rise}
 * @throws {InputError} fewer than two readings, no rise, or a number out of range
 */
export function forecast(readings, target_c, options = {}) {
  const { thermometer_step_c = 0.1, handling_c = HANDLING_C } = options;
  const target = checks.within(target_c, message("The target in °C"), -20, 300, "target_c");
  const noise = noiseOf(thermometer_step_c, handling_c);
  if (readings.length > MOST_READINGS) {
    throw new InputError("Too many readings for one warming: start a new one.", {}, "readings");
  }
  for (const [time_s, temp_c] of readings) {
    checks.number(time_s, message("The time of a reading"), "readings");
    checks.within(temp_c, message("A reading in °C"), -20, 300, "readings");
  }
  const used = [...readings].sort((a, b) => a[0] - b[0] || a[1] - b[1]).slice(-LAST);
  if (used.length < 2 || used[used.length - 1][0] - used[0][0] < 1) {
    throw new InputError("Read once more in a minute: two readings tell how fast it rises.", {}, "readings");
  }
  let middle = 0;
  let level = 0;
  for (const [time_s, temp_c] of used) {
    middle += time_s / used.length;
    level += temp_c / used.length;
  }
  let leverage = 0;
  let product = 0;
  for (const [time_s, temp_c] of used) {
    leverage += (time_s - middle) ** 2;
    product += (time_s - middle) * (temp_c - level);
  }
  const rate = product / leverage;
  if (rate < LEAST_RATE) {
    throw new InputError("It hardly rises: give it more heat, or it has begun to cool.", {}, "readings");
  }
  const ahead = (target - level) / rate;
  const doubt = ((NINETY * noise) / rate) * Math.sqrt(1 / used.length + (ahead * ahead) / leverage);
  return {
    eta_s: middle + ahead,
    low_s: middle + ahead - doubt,
    high_s: middle + ahead + doubt,
    rate_c_per_min: 60 * rate,
    temp_c: level + rate * (used[used.length - 1][0] - middle),
  };
}
