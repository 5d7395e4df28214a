/**
 * A batch's code: short, the same on every phone without asking another, and safe to read aloud.
 *
 * Eight signs, as in `4RJ9-989V`: three tell the day, four stand for the pour, the last is the check (ISO/IEC 7064,
 * pure system with radix 2, with the number of signs here as its modulus). Why, and what it finds: its twin.
 */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";
import { daysLeft, ready } from "./cure.js";

export const SIGNS = "0123456789CFHJKMPRTVWXY";

/** Letters of no code, and the sign that each looks like. @type {Record<string, string>} */
export const MEANT = { O: "0", Q: "0", D: "0", I: "1", L: "1", Z: "2", S: "5", G: "6", B: "8", U: "V" };

export const FIRST_DAY = "2020-01-01";
export const DAY_SIGNS = 3;
export const POUR_SIGNS = 4;
export const LENGTH = DAY_SIGNS + POUR_SIGNS + 1;

/** Of a row of signs that is checked. */
export const MOST_VALUES = 64;

const DAY_MS = 86_400_000;
const DAYS = SIGNS.length ** DAY_SIGNS;
const POURS = SIGNS.length ** POUR_SIGNS;
/** What may stand between signs. */
const BETWEEN = /[ \t\r\n\u00a0\u202f._/–—-]/g;

/**
 * The code of a pour: always the same for its day and its id. Two pours of one day have the same one in 1 of 279 841
 * pairs, so whoever looks a code up shows all that have it.
 * @param {string} poured_on the day on which it was begun, by the maker's calendar; 2020-01-01 to 2053-04-23
 * @param {string} id the id of the pour's record
 * @throws {InputError} no such day, or a day or an id that no code can tell
 */
export function batchCode(poured_on, id) {
  const day = ready(poured_on, 0);
  const number = -daysLeft(FIRST_DAY, 0, day);
  if (!(number >= 0 && number < DAYS)) {
    const values = { first: FIRST_DAY, last: dayOf(DAYS - 1) };
    throw new InputError("A batch code tells days from {first} to {last}.", values, "poured_on");
  }
  if (!/^[A-Za-z0-9._-]{1,64}$/.test(id)) {
    throw new InputError("“{typed}” is not the id of a pour.", { typed: id }, "id");
  }
  const values = [...valuesOf(number, DAY_SIGNS), ...valuesOf(hashed(id) % POURS, POUR_SIGNS)];
  return printed([...values, checkValue(values, SIGNS.length)]);
}

/**
 * What someone typed or heard, as the code that it is.
 * @param {string} text small letters, spaces and dashes anywhere, and the letters of `MEANT` are taken
 * @returns {{code: string, poured_on: string}} the code as it is printed, and the day that it tells
 * @throws {InputError} nothing typed, too many or too few signs, a sign of no code, or a check that does not agree
 */
export function readCode(text) {
  const typed = text.replace(BETWEEN, "");
  if (!typed) throw new InputError("Write a batch code, such as 4RJ9-989V.", {}, "text");
  const values = Array.from(typed, meant);
  if (values.length !== LENGTH) {
    throw new InputError(
      "A batch code has {length} letters and digits, and this has {n}: check it against the label.",
      { length: LENGTH, n: values.length },
      "text",
    );
  }
  if (checkValue(values.slice(0, -1), SIGNS.length) !== values[LENGTH - 1]) {
    throw new InputError(
      "“{typed}” is not a batch code: a sign is wrong, or two have changed places. Check it against the label.",
      { typed: printed(values) },
      "text",
    );
  }
  let number = 0;
  for (const value of values.slice(0, DAY_SIGNS)) number = number * SIGNS.length + value;
  return { code: printed(values), poured_on: dayOf(number) };
}

/**
 * The value of the check sign after these: Σ value·2^place comes to 1, where the check's place is 0.
 * @param {number[]} values 0 to `modulus` − 1 each, the first sign first; 1 to 64 of them
 * @param {number} modulus 3 to 1000, odd
 * @throws {InputError} a number out of range
 */
export function checkValue(values, modulus) {
  const whole = checks.whole(modulus, message("The modulus"), 3, 1000, "modulus");
  if (whole % 2 === 0) throw new InputError("The modulus must be odd.", {}, "modulus");
  if (!(values.length >= 1 && values.length <= MOST_VALUES)) {
    throw new InputError("Signs that are checked are 1 to {most}.", { most: MOST_VALUES }, "values");
  }
  let total = 0;
  for (const value of values) {
    total = ((total + checks.whole(value, message("A value"), 0, whole - 1, "values")) * 2) % whole;
  }
  return (1 - total + whole) % whole;
}

/** The digits of a number to the base of the signs, the highest first. @param {number} number @param {number} length */
function valuesOf(number, length) {
  const found = [];
  for (let rest = number; found.length < length; rest = Math.floor(rest / SIGNS.length)) {
    found.unshift(rest % SIGNS.length);
  }
  return found;
}

/** @param {string} sign */
function meant(sign) {
  // Only Latin letters have capitals here: languages part ways on what else has.
  const capital = /[a-z]/.test(sign) ? sign.toUpperCase() : sign;
  const value = SIGNS.indexOf(Object.hasOwn(MEANT, capital) ? MEANT[capital] : capital);
  if (value < 0) {
    throw new InputError("“{sign}” is in no batch code: check it against the label.", { sign }, "text");
  }
  return value;
}

/** @param {number[]} values */
function printed(values) {
  const signs = values.map((value) => SIGNS[value]).join("");
  return `${signs.slice(0, LENGTH / 2)}-${signs.slice(LENGTH / 2)}`;
}

/** @param {number} number of days since the first one */
function dayOf(number) {
  return new Date(Date.parse(`${FIRST_DAY}T00:00:00Z`) + number * DAY_MS).toISOString().slice(0, 10);
}

/** FNV-1a of 32 bits (draft-eastlake-fnv). @param {string} text of ASCII */
function hashed(text) {
  let found = 0x811c9dc5;
  for (let i = 0; i < text.length; i += 1) found = Math.imul(found ^ text.charCodeAt(i), 0x01000193);
  return found >>> 0;
}
