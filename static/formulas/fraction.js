/**
 * Exact rational numbers: pairs of whole numbers of any size.
 *
 * A price per gram has no end as a decimal, so money is reckoned in these and rounded once, where it is shown.
 */
import { InputError } from "../words/door.js";

/** In lowest terms; `d` is above nothing. @typedef {Readonly<{n: bigint, d: bigint}>} Fraction */

/** @param {bigint} n @param {bigint} [d] not nothing @returns {Fraction} in lowest terms
 * @throws {InputError} the denominator is nothing */
export function fraction(n, d = 1n) {
  if (d === 0n) throw new InputError("Can't divide by zero.", {}, "d");
  const by = d < 0n ? -greatestCommonDivisor(n, d) : greatestCommonDivisor(n, d);
  return Object.freeze({ n: n / by, d: d / by });
}

export const ZERO = fraction(0n);
export const ONE = fraction(1n);

/** A number as a person would write it, by its shortest decimal digits: 28.5 is 57/2, and 0.1 is 1/10.
 * @param {number} value @returns {Fraction} @throws {InputError} no finite number */
export function fractionOf(value) {
  if (typeof value !== "number") throw new InputError("An amount must be a number.", {}, "value");
  if (!Number.isFinite(value)) throw new InputError("An amount must be a finite number.", {}, "value");
  const [digits, exponent = "0"] = String(value).split("e");
  const [whole, decimals = ""] = digits.split(".");
  const n = BigInt(whole + decimals);
  const tens = Number(exponent) - decimals.length;
  return tens < 0 ? fraction(n, 10n ** BigInt(-tens)) : fraction(n * 10n ** BigInt(tens));
}

/** With the least divisors to look for, as Knuth has it (TAOCP, volume 2, 4.5.1; from memory). @param {Fraction} a
 * @param {Fraction} b @returns {Fraction} */
export function add(a, b) {
  const common = greatestCommonDivisor(a.d, b.d);
  const n = a.n * (b.d / common) + b.n * (a.d / common);
  const rest = greatestCommonDivisor(n, common);
  return Object.freeze({ n: n / rest, d: (a.d / common) * (b.d / rest) });
}

/** @param {Fraction} a @param {Fraction} b */
export const subtract = (a, b) => add(a, { n: -b.n, d: b.d });

/** So too. @param {Fraction} a @param {Fraction} b @returns {Fraction} */
export function times(a, b) {
  const [left, right] = [greatestCommonDivisor(a.n, b.d), greatestCommonDivisor(b.n, a.d)];
  return Object.freeze({ n: (a.n / left) * (b.n / right), d: (a.d / right) * (b.d / left) });
}

/** @param {Fraction} a @param {Fraction} b not nothing @throws {InputError} it is nothing */
export const over = (a, b) => times(a, fraction(b.d, b.n));

/** Below nothing where `a` is the smaller one, nothing where they are the same. @param {Fraction} a @param {Fraction} b */
export function compare(a, b) {
  const difference = a.n * b.d - b.n * a.d;
  return difference === 0n ? 0 : difference < 0n ? -1 : 1;
}

/** @param {Fraction} a */
export const isZero = ({ n }) => n === 0n;

/** @param {Fraction} a @param {Fraction} b */
export const least = (a, b) => (compare(a, b) <= 0 ? a : b);

/** The nearest whole number; of two as near the larger one: 1/2 gives 1, and −1/2 gives 0. @param {Fraction} a @returns {bigint} */
export function roundHalfUp({ n, d }) {
  const [twice, by] = [2n * n + d, 2n * d];
  const towardsZero = twice / by;
  return twice < 0n && twice % by !== 0n ? towardsZero - 1n : towardsZero;
}

/** Euclid's algorithm; above nothing where one of both is not nothing. @param {bigint} a @param {bigint} b @returns {bigint} */
function greatestCommonDivisor(a, b) {
  while (b !== 0n) [a, b] = [b, a % b];
  return a < 0n ? -a : a;
}
