/**
 * What the bytes of an open Bluetooth characteristic say: a reading in °C or g, or a reason why there is none. Pure.
 * Formats: Bluetooth SIG, GATT Specification Supplement; its FLOAT is the 32-bit one of IEEE 11073-20601.
 */

import { message } from "../words/door.js";

/**
 * @typedef {object} Read
 * @property {number} value °C, −50 to 400, or g, 0 to 327 670
 * @property {number} step the difference that one more in the last digit makes, same unit
 * @property {string | null} taken when, by the instrument's own clock: local time, ISO 8601
 */
/** @typedef {Read | {reason: import("../words/door.js").Message}} Said */

const NO_VALUE = message("It has no value just now.");
const OUT_OF_RANGE = message("What it sends can't be a reading at a bench.");

/** A time stamp's bytes: year (2), month, day, hours, minutes, seconds. */
const STAMP = 7;

/** FLOAT's mantissas that stand for not a number, not at this resolution, one reserved, and infinite.
 * They do so with exponent 0; with another, no thermometer has digits like these. */
const NOT_A_NUMBER = new Set([0x7fffff, -0x800000, -0x7fffff]);
const INFINITE = new Set([0x7ffffe, -0x7ffffe]);

/** Exponents that leave a digit worth reading between −50 and 400. */
const LEAST_EXPONENT = -6;
const MOST_EXPONENT = 1;

/** Temperature, 0x2A6E: hundredths of a °C. @param {DataView} bytes @returns {Said} */
export function temperature(bytes) {
  if (bytes.byteLength !== 2) return wrongLength(bytes, 2);
  const hundredths = bytes.getInt16(0, true);
  return hundredths === -0x8000 ? { reason: NO_VALUE } : celsius(hundredths / 100, 0.01, null);
}

/** Temperature Measurement, 0x2A1C, and Intermediate Temperature, 0x2A1E: flags, FLOAT, and what the flags tell
 * of: time stamp, place on the body. @param {DataView} bytes @returns {Said} */
export function temperatureMeasurement(bytes) {
  const flags = bytes.byteLength > 0 ? bytes.getUint8(0) : 0;
  const needed = 5 + (flags & 2 ? STAMP : 0) + (flags & 4 ? 1 : 0);
  if (isWrong(bytes, needed, flags & ~7)) return wrongLength(bytes, needed);
  const mantissa = (bytes.getInt32(1, true) << 8) >> 8;
  const exponent = bytes.getInt8(4);
  if (NOT_A_NUMBER.has(mantissa)) return { reason: NO_VALUE };
  if (INFINITE.has(mantissa) || exponent < LEAST_EXPONENT || exponent > MOST_EXPONENT) return { reason: OUT_OF_RANGE };
  // Whole numbers up to the one division, so that what comes out is the nearest there is.
  const [number, parts] = exponent < 0 ? [mantissa, 10 ** -exponent] : [mantissa * 10 ** exponent, 1];
  const step = exponent < 0 ? 1 / parts : 10 ** exponent;
  const taken = flags & 2 ? stampAt(bytes, 5) : null;
  return flags & 1
    ? celsius(((number - 32 * parts) * 5) / (9 * parts), (step * 5) / 9, taken)
    : celsius(number / parts, step, taken);
}

/** Weight Measurement, 0x2A9D: flags, steps of 5 g or of a hundredth of a pound, and what the flags tell of:
 * time stamp, person, body-mass index and height. @param {DataView} bytes @returns {Said} */
export function weightMeasurement(bytes) {
  const flags = bytes.byteLength > 0 ? bytes.getUint8(0) : 0;
  const needed = 3 + (flags & 2 ? STAMP : 0) + (flags & 4 ? 1 : 0) + (flags & 8 ? 4 : 0);
  if (isWrong(bytes, needed, flags & ~15)) return wrongLength(bytes, needed);
  const steps = bytes.getUint16(1, true);
  if (steps === 0xffff) return { reason: NO_VALUE };
  const taken = flags & 2 ? stampAt(bytes, 3) : null;
  // A pound is 453.59237 g (NIST SP 811, appendix B).
  return flags & 1 ? { value: (steps * 45359237) / 1e7, step: 4.5359237, taken } : { value: steps * 5, step: 5, taken };
}

/** @param {number} value @param {number} step @param {string | null} taken @returns {Said} */
function celsius(value, step, taken) {
  return -50 <= value && value <= 400 ? { value, step, taken } : { reason: OUT_OF_RANGE };
}

/** Too short, or longer than it says; a flag that is not known yet may bring more.
 * @param {DataView} bytes @param {number} needed @param {number} unknown */
function isWrong({ byteLength }, needed, unknown) {
  return byteLength < needed || (byteLength > needed && unknown === 0);
}

/** @param {DataView} bytes @param {number} needed */
function wrongLength({ byteLength }, needed) {
  return {
    reason: message("It sent {sent} bytes instead of {needed}, so the bench can't read it.", {
      sent: byteLength,
      needed,
    }),
  };
}

/** A time stamp; null where a part of it is unknown (0) or none. @param {DataView} bytes @param {number} at */
function stampAt(bytes, at) {
  const year = bytes.getUint16(at, true);
  const [month, day, hour, minute, second] = [2, 3, 4, 5, 6].map((part) => bytes.getUint8(at + part));
  const known = year >= 1582 && year <= 9999 && month >= 1 && month <= 12 && day >= 1 && day <= 31;
  if (!known || hour > 23 || minute > 59 || second > 59) return null;
  const two = (/** @type {number} */ part) => String(part).padStart(2, "0");
  return `${year}-${two(month)}-${two(day)}T${two(hour)}:${two(minute)}:${two(second)}`;
}
