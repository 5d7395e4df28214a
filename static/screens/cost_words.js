/** Costs and rates in words: exact until here, and rounded once. */
import { fraction, roundHalfUp, times } from "../formulas/fraction.js";
import { plainMoney } from "../formulas/money.js";
import { listed, plural, t } from "../words/door.js";
import { moneyText } from "../words/money.js";
import { numberText } from "../words/numbers.js";
import { h } from "./dom.js";

/** @typedef {import("../formulas/fraction.js").Fraction} Fraction */

/** Such as '€84.50'. @param {number} minor whole minor units @param {string | null} [currency] */
export const minorText = (minor, currency) =>
  moneyText(plainMoney(minor, currency || undefined), currency || undefined);

/** Rounded half up to what the money has, such as '€4.21'. @param {Fraction} cost minor units
 * @param {string | undefined} currency */
export const costText = (cost, currency) => minorText(Number(roundHalfUp(cost)), currency);

/** Rounded half up to a tenth of a per cent. @param {Fraction} rate */
export function rateText(rate) {
  const tenths = Number(roundHalfUp(times(rate, fraction(1000n))));
  return `${numberText((tenths / 10).toFixed(1))}\u00a0%`;
}

/** @param {number} candles */
export const standText = (candles) => plural(candles, "{n} candle stands", "{n} candles stand");

/** What is not in a cost, for want of a price; nothing where all is in it. @param {string[]} names @returns {Node[]} */
export function unpricedNotice(names) {
  if (names.length === 0) return [];
  const text = plural(
    names.length,
    "{names} has no price yet, so it is not in the cost. Say at its delivery what you paid.",
    "{names} have no price yet, so they are not in the cost. Say at their deliveries what you paid.",
    { names: listed(names) },
  );
  return [h("p", { class: "beware notice" }, text, " ", h("a", { href: "#/shelf" }, t("Open the shelf")))];
}
