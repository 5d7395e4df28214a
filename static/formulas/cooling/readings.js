/** The dips of a thermometer, put in order: how exact each is, and which of them count. */
import { InputError, message } from "../../words/door.js";
import * as checks from "../checks.js";
import { EXPONENT, excessAfter } from "./law.js";
import { REFERENCE_C } from "./prior.js";

/** A fit starts with the wax at least this far above the room. */
export const LEAST_EXCESS_C = 0.5;

/** More are no cooling that one hand has dipped; a fit takes time with each. */
export const MOST_READINGS = 1000;

/** @typedef {import("./prior.js").Prior} Prior */
/** @typedef {[number, number]} Reading seconds from any zero, and °C */
/** @typedef {[number, number, number]} Placed time, temperature and place of a reading */

/** Standard deviation of a reading, °C: rounding to the step (step/√12), and the hand.
 * @param {number} thermometer_step_c @param {number} handling_c */
export function noiseOf(thermometer_step_c, handling_c) {
  const step = checks.within(
    thermometer_step_c,
    message("The thermometer's step in °C"),
    0.001,
    5,
    "thermometer_step_c",
  );
  const handling = checks.within(handling_c, message("The doubt of a dip in °C"), 0, 5, "handling_c");
  return Math.sqrt((step * step) / 12 + handling * handling);
}

/** The readings by time, checked. @param {Reading[]} readings @param {number} room °C @returns {Placed[]} */
export function inOrder(readings, room) {
  if (readings.length === 0) {
    throw new InputError("Take a reading first: dip the thermometer and enter what it shows.", {}, "readings");
  }
  if (readings.length > MOST_READINGS) {
    throw new InputError("Too many readings for one cooling: start a new one.", {}, "readings");
  }
  let cold = 0;
  const placed = readings.map(([time_s, temp_c], index) => {
    checks.number(time_s, message("The time of a reading"), "readings");
    checks.within(temp_c, message("A reading in °C"), -20, 300, "readings");
    if (temp_c - room < checks.SMALLEST) cold += 1;
    return /** @type {Placed} */ ([time_s, temp_c, index]);
  });
  // One of three or more may be a slip, 17.4 for 71.4; else there is nothing to go by.
  if (2 * cold >= placed.length) {
    throw new InputError(
      "A reading is not above the room temperature: the wax is cold, or the room " +
        "temperature is wrong. Check both.",
      {},
      "readings",
    );
  }
  // Of two readings at one time the hotter comes first, so that they don't count as a rise.
  return placed.sort((a, b) => a[0] - b[0] || b[1] - a[1] || a[2] - b[2]);
}

/** Index of the first reading after the wax was last warmed; a slip of the hand is no warming.
 * @param {Placed[]} ordered @param {number} room @param {number} step the thermometer's, °C @param {Prior} prior */
export function afterLastRise(ordered, room, step, prior) {
  const clear = Math.max(1, 4 * noiseOf(step, prior.handlings[prior.handlings.length >> 1]));
  const rate = Math.exp(prior.log_rate) * REFERENCE_C ** -EXPONENT;
  /** How far the second lies off where the first should lead, and the fall expected.
   * @param {Placed} one @param {Placed} other */
  const off = (one, other) => {
    const over = Math.max(one[1] - room, LEAST_EXCESS_C);
    const then = excessAfter(over, rate, other[0] - one[0], EXPONENT);
    return [Math.abs(other[1] - room - then), over - then];
  };
  let first = 0;
  let kept = [ordered[0]];
  let low_c = ordered[0][1];
  for (let index = 1; index < ordered.length; index += 1) {
    const now = ordered[index];
    const before = kept[kept.length - 1];
    if (now[1] - before[1] <= clear && now[1] - low_c <= 2 * clear) {
      kept.push(now);
      low_c = Math.min(low_c, now[1]);
      continue;
    }
    // A low one, after which this goes on where the one before had left off.
    if (kept.length > 1 && now[1] - before[1] > clear) {
      const [away, fall] = off(kept[kept.length - 2], now);
      if (away <= clear + fall / 2) {
        kept[kept.length - 1] = now;
        low_c = Math.min(...kept.map(([, temp_c]) => temp_c));
        continue;
      }
    }
    // A high one, after which the next does so.
    if (index + 1 < ordered.length) {
      const after = ordered[index + 1];
      if (after[1] <= low_c + clear && off(before, after)[0] < off(now, after)[0]) continue;
    } else if (kept.length > 1 && now[1] <= kept[kept.length - 2][1] + clear) {
      // The last may be a touch of the hot base: too early an alarm is the lesser harm.
      continue;
    }
    first = index;
    kept = [now];
    low_c = now[1];
  }
  return first;
}
