/**
 * A candle that burns: how fast, how hot, how long, and when its pool should be at the wall.
 *
 * Grams, hours, mm, watts, g/ml. Only the phone asks this, so this file has no twin.
 */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";
import { fitLine } from "./regression.js";

/** What a gram of wax gives off when it burns, J/g: 42 MJ/kg (read second-hand). */
export const HEAT_J_PER_G = 42_000;

/** Where a burn test stops, mm of wax left: EN 15426:2018 (read second-hand). */
export const RESIDUE_MM = 10;

/** Hours for each mm of width until the pool is at the wall: one an inch (common practice, no source). */
export const FULL_H_PER_MM = 1 / 25.4;

/** More sittings than any candle lasts. */
export const MOST_SITTINGS = 200;

/** @typedef {{hours: number, before_g: number, after_g: number}} Weighed a sitting: lit to out, weighed before and after */

/**
 * @typedef {object} BurnRate
 * @property {number} g_per_h grams an hour
 * @property {number | null} se standard error of the slope: how straight the line is. It is no doubt about other
 *   candles, for which see `meanOf`. Null of one sitting
 * @property {number} hours burnt in all
 * @property {number} grams burnt in all
 * @property {[h: number, left_g: number][]} points grams left against hours burnt, from the first weighing on
 */

/**
 * How fast ONE candle burns: the slope of grams left against hours burnt over its sittings; of one sitting the plain
 * quotient. What is left is the first weighing less the weighed losses: wax or wick trimmed away between two sittings
 * is no consumption.
 * @param {Weighed[]} sittings in order; 1 to 200, hours above zero, grams 0 or more
 * @returns {BurnRate}
 * @throws {InputError} none, a candle that got heavier as it burned, or a number out of range
 */
export function burnRate(sittings) {
  if (sittings.length < 1 || sittings.length > MOST_SITTINGS) {
    throw new InputError(
      "A burning rate needs from {low} to {high} sittings.",
      { low: 1, high: MOST_SITTINGS },
      "sittings",
    );
  }
  let hours = 0;
  let grams = 0;
  const [{ before_g: start_g }] = sittings;
  /** @type {[number, number][]} */
  const points = [[0, start_g]];
  for (const sitting of sittings) {
    hours += checks.positive(sitting.hours, message("The hours of a sitting"), "sittings");
    const before_g = checks.notNegative(sitting.before_g, message("The candle before it was lit"), "sittings");
    const after_g = checks.notNegative(sitting.after_g, message("The candle after it was out"), "sittings");
    if (after_g > before_g) {
      throw new InputError("A candle can't be heavier after it has burned: check both weights.", {}, "sittings");
    }
    grams += before_g - after_g;
    points.push([hours, start_g - grams]);
  }
  if (sittings.length === 1) return { g_per_h: grams / hours, se: null, hours, grams, points };
  const line = fitLine(
    points.map(([h]) => h),
    points.map(([, left_g]) => left_g),
  );
  // Nothing burnt is zero, and not minus zero.
  return { g_per_h: Math.max(0, -line.slope), se: line.se_slope, hours, grams, points };
}

/** The heat of a flame in W: 5 g/h are 58 W. @param {number} g_per_h 0 or more
 * @throws {InputError} a number out of range */
export function heatW(g_per_h) {
  return (checks.notNegative(g_per_h, message("The burning rate"), "g_per_h") * HEAT_J_PER_G) / 3600;
}

/**
 * The wax in g that is left standing `residue_mm` high in a round vessel with straight walls.
 * @param {number} width_mm inside width, above zero @param {number} solid_density 0.5 to 2 g/ml
 * @param {number} [residue_mm] 0 or more
 * @throws {InputError} a number out of range
 */
export function residueG(width_mm, solid_density, residue_mm = RESIDUE_MM) {
  const radius_mm = checks.positive(width_mm, message("The width"), "width_mm") / 2;
  const height_mm = checks.notNegative(residue_mm, message("The height of what is left"), "residue_mm");
  const density = checks.density(solid_density, message("The density of the set wax"), "solid_density");
  return (Math.PI * radius_mm ** 2 * height_mm * density) / 1000;
}

/**
 * Hours from the first lighting until `residue_g` are left, at one burning rate.
 * @param {number} fuel_g wax, fragrance and additives in the candle, above zero @param {number} residue_g less than
 *   that @param {number} g_per_h above zero
 * @throws {InputError} as much is left as there was, or a number out of range
 */
export function burningHours(fuel_g, residue_g, g_per_h) {
  const fuel = checks.positive(fuel_g, message("The wax in the candle"), "fuel_g");
  const residue = checks.notNegative(residue_g, message("What is left of it"), "residue_g");
  if (residue >= fuel) {
    throw new InputError("The candle holds no more than what is left of it at the end: check both.", {}, "residue_g");
  }
  return (fuel - residue) / checks.positive(g_per_h, message("The burning rate"), "g_per_h");
}

/** Hours by which the pool should be at the wall: about one an inch of width (common practice, no source).
 * @param {number} width_mm inside width, above zero
 * @throws {InputError} a number out of range */
export function fullPoolByH(width_mm) {
  return checks.positive(width_mm, message("The width"), "width_mm") * FULL_H_PER_MM;
}

/** @typedef {{fall: number, sd: number}} Fall by which part of itself the burning rate falls while all of the candle
 *  would burn, and how sure that is (standard deviation) */

/** What is held of a fall before any was weighed: the deeper the pool, the slower a candle burns, as a rule (from
 * memory); by how much is our choice, and so wide that a few sittings outweigh it. @type {Fall} */
export const USUAL_FALL = { fall: 0.1, sd: 0.15 };

/** A sitting's burning rate is off its candle's line by no less than this part (our choice). */
export const LEAST_SCATTER = 0.02;

/**
 * By how much candles of one wick burn slower the lower they are: the common slope of each sitting's rate, as part of
 * its candle's, against the part of the candle that was burnt in the middle of it; weighed against `USUAL_FALL`.
 * @param {Weighed[][]} candles the sittings of each, in order, as in `burnRate` @param {number} fuel_g as in
 *   `burningHours`
 * @returns {Fall}
 * @throws {InputError} as `burnRate`
 */
export function fallOf(candles, fuel_g) {
  const fuel = checks.positive(fuel_g, message("The wax in the candle"), "fuel_g");
  let spread = 0;
  let product = 0;
  let squares = 0;
  let free = -1;
  for (const sittings of candles) {
    const { grams, hours } = burnRate(sittings);
    if (sittings.length < 2 || grams <= 0) continue;
    let burnt_g = 0;
    const each = sittings.map((sitting) => {
      const lost_g = sitting.before_g - sitting.after_g;
      burnt_g += lost_g;
      return { at: (burnt_g - lost_g / 2) / fuel, part: (lost_g * hours) / (sitting.hours * grams) };
    });
    let middle = 0;
    let level = 0;
    for (const { at, part } of each) {
      middle += at / each.length;
      level += part / each.length;
    }
    for (const { at, part } of each) {
      spread += (at - middle) ** 2;
      product += (at - middle) * (part - level);
      squares += (part - level) ** 2;
    }
    free += each.length - 1;
  }
  if (spread < 1e-6) return USUAL_FALL;
  const slope = product / spread;
  const scatter = free > 0 ? Math.sqrt(Math.max(0, squares - slope * product) / free) : 0;
  const told = spread / Math.max(scatter, LEAST_SCATTER) ** 2;
  const held = 1 / USUAL_FALL.sd ** 2;
  return {
    fall: Math.min(0.8, Math.max(-0.8, (held * USUAL_FALL.fall - told * slope) / (held + told))),
    sd: Math.sqrt(1 / (held + told)),
  };
}

/**
 * Hours from the first lighting until `residue_g` are left, of a candle that has burned for some of them: those, and
 * what is left at a rate that goes on falling. The rate is r(u) = r̄·(1 − fall·(u − ū)) of the part u that is burnt, and
 * r̄ the mean so far at ū, half of what is burnt so far; hours are the integral of the part over the rate.
 * @param {number} fuel_g as in `burningHours` @param {number} residue_g
 * @param {{hours: number, grams: number}} burnt so far, both above zero @param {number} fall −0.8 to 0.8; see `fallOf`
 * @throws {InputError} as `burningHours`
 */
export function hoursAsItFalls(fuel_g, residue_g, burnt, fall) {
  const grams = checks.positive(burnt.grams, message("What is burnt so far"), "burnt");
  const hours = checks.positive(burnt.hours, message("The hours burnt so far"), "burnt");
  const slower = checks.within(fall, message("The fall of the burning rate"), -0.8, 0.8, "fall");
  const even = burningHours(fuel_g, residue_g, grams / hours);
  if (grams >= fuel_g - residue_g) return even;
  const part = grams / fuel_g;
  const until = 1 - residue_g / fuel_g;
  if (Math.abs(slower) < 1e-6) return even;
  const at = (/** @type {number} */ share) => Math.log(1 - slower * (share - part / 2));
  return hours + ((fuel_g * hours) / (grams * slower)) * (at(part) - at(until));
}
