/**
 * Student's t distribution: how far a mean of a few values may be off.
 *
 * The chance beyond x is ½·I_z(df/2, ½) with z = df/(df + x²), where I is the regularised incomplete beta function:
 * its continued fraction (Abramowitz and Stegun 26.5.8 and 26.7.1, from memory) by Lentz's way, the logarithm of the
 * gamma function by Lanczos's sum. `tests/formulas/test_student_t.py` holds both sides to SciPy.
 */
import { message } from "../words/door.js";
import * as checks from "./checks.js";

/** More degrees of freedom than any bench has; beyond them the normal distribution would do. */
export const MOST_DF = 10_000;

/** Lanczos's sum for g = 7, good to 15 digits. */
const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
];

/**
 * The chance that t is at most `x`.
 * @param {number} x @param {number} df degrees of freedom, 1 to 10 000, not necessarily whole
 * @throws {InputError} a number out of range
 */
export function tCdf(x, df) {
  const at = checks.number(x, message("The value"), "x");
  const beyond = tail(Math.abs(at), freedom(df));
  return at > 0 ? 1 - beyond : beyond;
}

/**
 * The value that t is at most, with the chance `p`: the inverse of `tCdf`.
 * @param {number} p from a millionth to one less a millionth @param {number} df as in `tCdf`
 * @throws {InputError} a number out of range
 */
export function tQuantile(p, df) {
  const chance = checks.within(p, message("The chance"), 1e-6, 1 - 1e-6, "p");
  const nu = freedom(df);
  if (chance === 0.5) return 0;
  const beyond = chance < 0.5 ? chance : 1 - chance;
  let low = 0;
  let high = 1;
  while (tail(high, nu) > beyond) {
    low = high;
    high *= 2;
  }
  // Newton's steps on the logarithm of the tail, which is smooth however long it is; halving where one leaves the way.
  let x = (low + high) / 2;
  for (let turn = 0; turn < 200; turn += 1) {
    const over = tail(x, nu);
    if (over > beyond) low = x;
    else high = x;
    let next = x + (over * Math.log(over / beyond)) / density(x, nu);
    if (!(low < next && next < high)) next = (low + high) / 2;
    const moved = Math.abs(next - x);
    x = next;
    if (moved <= 1e-15 * x) break;
  }
  return chance < 0.5 ? -x : x;
}

/** @param {unknown} df */
function freedom(df) {
  return checks.within(df, message("The degrees of freedom"), 1, MOST_DF, "df");
}

/** The chance beyond x, which is not below zero. @param {number} x @param {number} df */
function tail(x, df) {
  const square = x * x;
  return 0.5 * incompleteBeta(df / (df + square), square / (df + square), df / 2, 0.5);
}

/** @param {number} x @param {number} df */
function density(x, df) {
  return Math.exp(-logBeta(df / 2, 0.5) - 0.5 * Math.log(df) - ((df + 1) / 2) * Math.log1p((x * x) / df));
}

/** I_z(a, b). @param {number} z @param {number} rest 1 − z, given apart so that nothing cancels
 * @param {number} a @param {number} b @returns {number} */
function incompleteBeta(z, rest, a, b) {
  if (z <= 0) return 0;
  if (rest <= 0) return 1;
  if (z > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(rest, z, b, a);
  const log_z = z > 0.5 ? Math.log1p(-rest) : Math.log(z);
  const log_rest = rest > 0.5 ? Math.log1p(-z) : Math.log(rest);
  return (Math.exp(a * log_z + b * log_rest - logBeta(a, b)) / a) * fraction(z, a, b);
}

/** The continued fraction of I_z(a, b). @param {number} z @param {number} a @param {number} b */
function fraction(z, a, b) {
  const away = (/** @type {number} */ value) => (Math.abs(value) < checks.SMALLEST ? checks.SMALLEST : value);
  let c = 1;
  let d = 1 / away(1 - ((a + b) * z) / (a + 1));
  let found = d;
  for (let m = 1; m <= 1000; m += 1) {
    const even = (m * (b - m) * z) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / away(1 + even * d);
    c = away(1 + even / c);
    found *= d * c;
    const odd = (-(a + m) * (a + b + m) * z) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / away(1 + odd * d);
    c = away(1 + odd / c);
    found *= d * c;
    if (Math.abs(d * c - 1) < 1e-16) break;
  }
  return found;
}

/** @param {number} a @param {number} b */
function logBeta(a, b) {
  return logGamma(a) + logGamma(b) - logGamma(a + b);
}

/** @param {number} value one half or more */
function logGamma(value) {
  const z = value - 1;
  let sum = LANCZOS[0];
  for (let i = 1; i < LANCZOS.length; i += 1) sum += LANCZOS[i] / (z + i);
  const t = z + 7.5;
  return 0.5 * Math.log(2 * Math.PI) + (z + 0.5) * Math.log(t) - t + Math.log(sum);
}
