/** What is expected of a jug before the first dip: from physics, then from past pours in it. */
import { InputError, message } from "../../words/door.js";
import * as checks from "../checks.js";
import { EXPONENT } from "./law.js";

/** The excess over the room at which a jug's rate is given and compared, °C. */
export const REFERENCE_C = 50;

/** k in °C^(−1/4)/s at n = 5/4 for a kilogram of wax in a jug, before any reading; from physics. */
export const DEFAULT_RATE = 1.2e-4;
export const DEFAULT_MASS_G = 1000;

/** Standard deviation of the logarithm of a jug's rate before it is known. */
export const RATE_DOUBT = 0.25;

/** Middle and scale of n for wax in a jug, and the degrees of freedom of its Student's t. */
export const EXPONENT_OF_WAX = [1.22, 0.05];
export const EXPONENT_TAIL = 2;

/** The same where no mass is given, and the part of the wait that stays open there. */
export const EXPONENT_OF_ANYTHING = [1.3, 0.2];
export const LAW_DOUBT_OF_ANYTHING = 0.08;

/** The grid on which n is weighed. */
export const EXPONENTS = [1.0001, 1.05, 1.1, 1.15, 1.2, 1.25, 1.3, 1.36, 1.45, 1.58, 1.75, 1.95, 2.2];

/** Standard deviation of the room that she gives, °C. */
export const ROOM_DOUBT_C = 0.7;

/** What a dip adds to a thermometer's rounding, standard deviation in °C, until her hand is known: the middle one,
 * the standard deviation of its logarithm, what stays open of a known hand, and the most. */
export const HANDLING_C = 0.15;
export const HANDLING_DOUBT = 0.6;
export const HANDLING_POUR_DOUBT = 0.2;
export const MOST_HANDLING_C = 5;

/** What stays open of a known jug: its rate, how that goes with the fill, its n. */
export const POUR_DOUBT = 0.03;
export const POUR_DOUBTS = 2;
export const FILL_DOUBT = 0.15;
export const EXPONENT_POUR_DOUBT = 0.02;

/** @typedef {[number, number, number, number, number, number, number]} Learned wax in the jug, k, n, the doubts of
 *   the logarithm of the rate and of n, what a dip added in °C, and the doubt of its logarithm */
/**
 * @typedef {object} Prior what is expected of a jug before its dips are looked at
 * @property {number} log_rate ln of the rate at θ = 50 °C
 * @property {number} rate_doubt its standard deviation
 * @property {number} room_doubt standard deviation of the room given, °C
 * @property {[number, number]} exponent middle and scale of n
 * @property {number[]} exponents the grid on which n is weighed; one value where n is known
 * @property {number[]} weights what each counts for before the dips
 * @property {[number, number]} handling middle and standard deviation of the logarithm of what a dip adds, in °C
 * @property {number[]} handlings the grid on which that is weighed, °C, all alike; one value where it is known
 * @property {number} law_doubt part of the wait that stays open whatever the dips say
 */

/** k at n = 5/4 to expect of `mass_g` grams of wax before any reading. @param {number | null} [mass_g] */
export function defaultRate(mass_g = null) {
  const mass = mass_g === null ? DEFAULT_MASS_G : checks.positive(mass_g, message("The wax in the jug"), "mass_g");
  return DEFAULT_RATE / Math.cbrt(mass / DEFAULT_MASS_G);
}

/** The prior for `forecast` and `learn`, whose arguments it takes.
 * @param {number | null} mass_g @param {number[][]} history @param {number | null} exponent
 * @param {number} room_doubt_c @param {number | null} [handling_c] @returns {Prior} */
export function priorFor(mass_g, history, exponent, room_doubt_c, handling_c = null) {
  let log_rate = expected(mass_g === null ? DEFAULT_MASS_G : mass_g);
  let rate_doubt = RATE_DOUBT;
  let [middle, scale] = mass_g === null ? EXPONENT_OF_ANYTHING : EXPONENT_OF_WAX;
  const past = history.map(pastOf);
  if (past.length > 0 && mass_g !== null) {
    [log_rate, rate_doubt] = rateFrom(past, mass_g, log_rate);
    const told = past.map(([, , n, , doubt]) => [n, doubt]);
    [middle, scale] = knownFrom(told, middle, scale, EXPONENT_POUR_DOUBT);
  }
  const [handling, handlings] = handFrom(past, handling_c);
  const room_doubt = Math.max(checks.notNegative(room_doubt_c, message("The doubt of the room"), "room_doubt_c"), 1e-6);
  const known = { log_rate, rate_doubt, room_doubt, handling, handlings };
  if (exponent !== null) {
    const fixed = checks.within(exponent, message("The exponent"), 1, 3, "exponent");
    return { ...known, exponent: [fixed, 1e-6], exponents: [fixed], weights: [1], law_doubt: 0 };
  }
  const exponents =
    past.length > 0
      ? [-4, -2, -1, 0, 1, 2, 4].map((step) => Math.min(Math.max(1.0001, middle + step * scale), 3))
      : EXPONENTS;
  const weights = exponents.map((n, index) => {
    const below = exponents[Math.max(0, index - 1)];
    const above = exponents[Math.min(exponents.length - 1, index + 1)];
    const away = (n - middle) / scale;
    const tail = (1 + (away * away) / EXPONENT_TAIL) ** (-(EXPONENT_TAIL + 1) / 2);
    return ((above - below) / 2) * tail;
  });
  const law_doubt = mass_g === null ? LAW_DOUBT_OF_ANYTHING : 0;
  return { ...known, exponent: [middle, scale], exponents, weights, law_doubt };
}

/** ln of the rate at θ = 50 °C that jugs with this much wax have in general. @param {number} mass_g */
function expected(mass_g) {
  return Math.log(defaultRate(mass_g)) + EXPONENT * Math.log(REFERENCE_C);
}

/** A past pour as it was kept, checked. @param {number[]} each @returns {Learned} */
function pastOf(each) {
  if (!(3 <= each.length && each.length <= 7)) {
    throw new InputError("A past pour is its wax, its rate and its exponent.", {}, "history");
  }
  // One kept without what a dip added tells nothing of it.
  const [mass_g, rate, exponent, rate_doubt = 0.03, exponent_doubt = 0.05, added = HANDLING_C, added_doubt = 10] = each;
  checks.positive(mass_g, message("The wax of a past pour"), "history");
  checks.positive(rate, message("The rate of a past pour"), "history");
  checks.within(exponent, message("The exponent of a past pour"), 1, 3, "history");
  checks.positive(rate_doubt, message("The doubt of a past rate"), "history");
  checks.positive(exponent_doubt, message("The doubt of a past exponent"), "history");
  checks.positive(added, message("The doubt of a dip in °C"), "history");
  checks.positive(added_doubt, message("The doubt of a past dip"), "history");
  return [mass_g, rate, exponent, rate_doubt, exponent_doubt, added, added_doubt];
}

/** ln of this jug's rate at this fill, and its doubt; how far its pours scatter is learned as well.
 * @param {Learned[]} past @param {number} mass_g @param {number} general @returns {[number, number]} */
function rateFrom(past, mass_g, general) {
  const points = past.map(
    ([mass, k, n, doubt]) =>
      /** @type {[number, number, number]} */ ([
        Math.log(mass / mass_g),
        Math.log(k) + n * Math.log(REFERENCE_C) - expected(mass),
        doubt ** 2,
      ]),
  );
  const [first, slope] = regressed(points, POUR_DOUBT ** 2);
  let total = POUR_DOUBTS * POUR_DOUBT ** 2;
  for (const [fuller, away, variance] of points) {
    const off = away - first - slope * fuller;
    total += Math.max(0, off * off - variance);
  }
  const scatter = total / (POUR_DOUBTS + points.length);
  const [departure, , variance] = regressed(points, scatter);
  return [general + departure, Math.sqrt(variance + scatter)];
}

/** Level at this fill, slope, and the level's variance.
 * @param {[number, number, number][]} points ln of the fill, departure, variance
 * @param {number} scatter @returns {[number, number, number]} */
function regressed(points, scatter) {
  let a = 1 / RATE_DOUBT ** 2;
  let b = 0;
  let c = 1 / FILL_DOUBT ** 2;
  let p = 0;
  let q = 0;
  for (const [fuller, away, variance] of points) {
    const weight = 1 / (variance + scatter);
    a += weight;
    b += weight * fuller;
    c += weight * fuller * fuller;
    p += weight * away;
    q += weight * fuller * away;
  }
  const determinant = a * c - b * b;
  return [(c * p - b * q) / determinant, (a * q - b * p) / determinant, c / determinant];
}

/** `handling` and `handlings` of a prior: five values, evenly spaced in the logarithm by 1/√2 of its doubt, have the
 * mean and the variance that are expected. @param {Learned[]} past @param {number | null} handling_c
 * @returns {[[number, number], number[]]} */
function handFrom(past, handling_c) {
  const told = past.map(([, , , , , added, doubt]) => [Math.log(added), doubt]);
  const known = knownFrom(told, Math.log(HANDLING_C), HANDLING_DOUBT, HANDLING_POUR_DOUBT);
  if (handling_c !== null) {
    return [known, [checks.within(handling_c, message("The doubt of a dip in °C"), 0, MOST_HANDLING_C, "handling_c")]];
  }
  const [middle, scale] = known;
  const grid = [-2, -1, 0, 1, 2].map((step) => Math.exp(middle + step * Math.sqrt(0.5) * scale));
  return [known, grid.map((each) => Math.min(each, MOST_HANDLING_C))];
}

/** Middle and scale of a quantity, from what is expected and what past pours have told.
 * @param {number[][]} told the quantity and its standard deviation, of each @param {number} middle
 * @param {number} scale @param {number} pour_doubt from pour to pour @returns {[number, number]} */
function knownFrom(told, middle, scale, pour_doubt) {
  let weight = 1 / scale ** 2;
  let total = weight * middle;
  for (const [value, doubt] of told) {
    const more = 1 / (doubt ** 2 + pour_doubt ** 2);
    weight += more;
    total += more * value;
  }
  return [total / weight, Math.sqrt(1 / weight + pour_doubt ** 2)];
}
