/**
 * From cost to price and back: markup, margin, tax, and what a discount or a marketplace leaves.
 *
 * With cost C and price before tax P the markup is (P − C)/C, and the margin is (P − C)/P, so that C = P·(1 − margin).
 * Money is in minor units; all is exact, and is rounded once, where it is shown, half up (`roundHalfUp`). What these
 * come to is held to a textbook's worked examples. Only the phone asks this, so this file has no twin.
 */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";
import { add, compare, fractionOf, isZero, ONE, over, subtract, times, ZERO } from "./fraction.js";

/** @typedef {import("./fraction.js").Fraction} Fraction */
/** @typedef {number | Fraction} Amount of money in minor units, from nothing; or a rate as a fraction of one */
/** @typedef {import("../words/door.js").Message} Message */
/**
 * @typedef {object} Sale how it is sold; rates from 0 to 1
 * @property {Amount} [tax_rate] of the price before tax
 * @property {Amount} [discount] of the price on the tag
 * @property {Amount} [share] what the marketplace keeps, of what the buyer pays
 * @property {Amount} [fee] what it keeps besides, minor units
 */
/**
 * @typedef {object} Sold one that is sold, minor units
 * @property {Fraction} paid what the buyer pays, with tax
 * @property {Fraction} tax in it
 * @property {Fraction} net what the buyer pays, before tax
 * @property {Fraction} kept what the marketplace keeps
 * @property {Fraction} left of the price before tax, less what the marketplace keeps and the cost; may be below nothing
 * @property {Fraction | null} margin what is left, of the price before tax; null: nothing is paid
 * @property {Fraction | null} markup what is left, of the cost; null: it cost nothing
 */

/** The most that a markup may be: ten thousand per cent. */
export const MOST_MARKUP = 100;

/** The most that a margin may be: at one there is no price that is high enough. */
export const MOST_MARGIN = 0.99;

/** The price before tax. @param {Amount} cost @param {Amount} markup of the cost, 0 to `MOST_MARKUP`
 * @throws {InputError} out of range */
export function byMarkup(cost, markup) {
  return times(moneyOf(cost, message("The cost"), "cost"), add(ONE, markupOrThrow(markup)));
}

/** The price before tax. @param {Amount} cost @param {Amount} margin of the price before tax, 0 to `MOST_MARGIN`
 * @throws {InputError} out of range */
export function byMargin(cost, margin) {
  return over(moneyOf(cost, message("The cost"), "cost"), subtract(ONE, marginOrThrow(margin)));
}

/** @param {Amount} net price before tax @param {Amount} tax_rate 0 to 1 @throws {InputError} out of range */
export function withTax(net, tax_rate) {
  return times(moneyOf(net, message("The price"), "net"), taxed(tax_rate));
}

/** What one that is sold leaves. @param {Amount} gross the price on the tag, with tax @param {Amount} cost of one
 * @param {Sale} sale @returns {Sold} @throws {InputError} out of range */
export function leftOf(gross, cost, sale) {
  const { tax, discounted, share, fee } = termsOf(sale);
  const spent = moneyOf(cost, message("The cost"), "cost");
  const paid = times(moneyOf(gross, message("The price"), "gross"), discounted);
  const net = over(paid, tax);
  const kept = add(times(paid, share), fee);
  const left = subtract(subtract(net, kept), spent);
  return {
    paid,
    tax: subtract(paid, net),
    net,
    kept,
    left,
    margin: isZero(net) ? null : over(left, net),
    markup: isZero(spent) ? null : over(left, spent),
  };
}

/**
 * The price on the tag, with tax, at which one that is sold leaves so much after all.
 * @param {Amount} cost of one @param {{margin: Amount} | {markup: Amount}} wanted what is to be left
 * @param {Sale} sale @returns {Fraction}
 * @throws {InputError} out of range, or no price is high enough
 */
export function priceThatLeaves(cost, wanted, sale) {
  const { tax, discounted, share, fee } = termsOf(sale);
  const spent = moneyOf(cost, message("The cost"), "cost");
  // Of each that the buyer pays, this is before tax and not wanted as margin, and this the marketplace leaves of it.
  const ofPaid = "margin" in wanted ? over(subtract(ONE, marginOrThrow(wanted.margin)), tax) : over(ONE, tax);
  const free = times(subtract(ofPaid, share), discounted);
  if (compare(free, ZERO) <= 0)
    throw new InputError("Discount, share and margin take more than there is: no price leaves that.", {}, "share");
  const covered = "markup" in wanted ? times(spent, add(ONE, markupOrThrow(wanted.markup))) : spent;
  return over(add(covered, fee), free);
}

/** @param {Sale} sale */
function termsOf({ tax_rate = ZERO, discount = ZERO, share = ZERO, fee = ZERO }) {
  return {
    tax: taxed(tax_rate),
    discounted: subtract(ONE, rateOf(discount, message("The discount"), 1, "discount")),
    share: rateOf(share, message("The marketplace's share"), 1, "share"),
    fee: moneyOf(fee, message("The marketplace's fee"), "fee"),
  };
}

/** @param {Amount} rate */
const taxed = (rate) => add(ONE, rateOf(rate, message("The tax"), 1, "tax_rate"));

/** @param {Amount} markup */
const markupOrThrow = (markup) => rateOf(markup, message("The markup"), MOST_MARKUP, "markup");

/** @param {Amount} margin */
const marginOrThrow = (margin) => rateOf(margin, message("The margin"), MOST_MARGIN, "margin");

/** @param {Amount} value @param {Message} name @param {number} most @param {string} about */
function rateOf(value, name, most, about) {
  if (!isFraction(value)) return fractionOf(checks.within(value, name, 0, most, about));
  if (compare(value, ZERO) >= 0 && compare(value, fractionOf(most)) <= 0) return value;
  throw new InputError("{name} must be from {low} to {high}.", { name, low: 0, high: checks.plain(most) }, about);
}

/** @param {Amount} value @param {Message} name @param {string} about */
function moneyOf(value, name, about) {
  if (!isFraction(value)) {
    // A sum of many may be more than a bench's number.
    if (typeof value !== "number" || !Number.isFinite(value))
      throw new InputError("{name} must be a finite number.", { name }, about);
    return moneyOf(fractionOf(value), name, about);
  }
  if (compare(value, ZERO) < 0) throw new InputError("{name} can't be less than zero.", { name }, about);
  return value;
}

/** @param {unknown} value @returns {value is Fraction} */
const isFraction = (value) => typeof value === "object" && value !== null;
