/** When wax on the heat will be at temperature: a straight line through the last readings. */
import { InputError } from "../words/door.js";
import * as checks from "./checks.js";
import { HANDLING_C, MOST_READINGS, NINETY } from "./cooling.js";

/** The line goes through this many of the last readings: the heat may have been turned. */
export const LAST = 4;

/** A rise slower than 0.2 °C a minute is none that a forecast could rest on, °C/s. */
export const LEAST_RATE = 0.2 / 60;

/**
 * @typedef {object} Rise
 * @property {number} eta_s seconds from the readings' zero
 * @property {number} low_s
 * @property {number} high_s
 * @property {number} rate_c_per_min
 * @property {number} temp_c the wax at the last reading, on the line
 */

/** When wax on the heat reaches `target_c`.
 * @param {[number, number][]} readings @param {number} target_c
 * @param {{thermometer_step_c?: number, handling_c?: number}} [options] @returns {Rise} */
export function forecast(readings, target_c, options = {}) {
  const { thermometer_step_c = 0.1, handling_c = HANDLING_C } = options;
  const target = checks.within(target_c, "The target in °C", -20, 300);
  const step = checks.within(thermometer_step_c, "The thermometer's step in °C", 0.001, 5);
  const handling = checks.within(handling_c, "The doubt of a dip in °C", 0, 5);
  if (readings.length > MOST_READINGS) {
    throw new InputError("Too many readings for one warming: start a new one.");
  }
  for (const [time_s, temp_c] of readings) {
    checks.number(time_s, "The time of a reading");
    checks.within(temp_c, "A reading in °C", -20, 300);
  }
  const used = [...readings].sort((a, b) => a[0] - b[0] || a[1] - b[1]).slice(-LAST);
  if (used.length < 2 || used[used.length - 1][0] - used[0][0] < 1) {
    throw new InputError("Read once more in a minute: two readings tell how fast it rises.");
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
    throw new InputError("It hardly rises: more heat, or it has begun to cool.");
  }
  const noise = Math.sqrt((step * step) / 12 + handling * handling);
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
