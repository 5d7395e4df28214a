/** What past months come to, in words. */

import { percent } from "../bench/display_units.js";
import { write } from "../formulas/rounding.js";
import { listed, locale, plural, t } from "../words/door.js";
import { numberText } from "../words/numbers.js";
import { minorText } from "./cost_words.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../shelf/back_sums.js").Sums} Sums */
/** @typedef {import("../shelf/back_sums.js").Spread} Spread */

/** Such as 'Nov 2026'; of a year, that year. @param {string} part '2026-11' or '2026' */
export function partText(part) {
  return part.length === 4 ? part : monthIn(part, { month: "short", year: "numeric" });
}

/** Such as 'N', below a bar; of a year, '26'. @param {string} part */
export function partLetter(part) {
  return part.length === 4 ? part.slice(2) : monthIn(part, { month: "narrow" });
}

/** @param {string} month @param {Intl.DateTimeFormatOptions} form */
const monthIn = (month, form) =>
  new Intl.DateTimeFormat(locale(), { ...form, timeZone: "UTC" }).format(new Date(`${month}-15T12:00:00Z`));

/** What was earned, each currency for itself; "" where nothing was. @param {Sums["earned"]} earned */
export const earnedText = (earned) => listed([...earned].map(([currency, minor]) => minorText(minor, currency)));

/** How many of each were made and went, where there were any. @param {Sums} sums @returns {[name: string, value: string][]} */
export function goneFacts({ gone, earned, unpriced }) {
  /** @type {[string, number][]} */
  const ways = [
    [t("Sold"), gone.sold],
    [t("Given away"), gone.given],
    [t("Went out otherwise"), gone.handed_out],
    [t("Came back"), gone.returned],
    [t("Broken"), gone.broken],
    [t("Destroyed"), gone.destroyed],
    [t("Burned in a test"), gone.test_burned],
  ];
  /** @type {[string, string][]} */
  const facts = ways.flatMap(([name, n]) => (n > 0 ? [[name, `**${n}**`]] : []));
  if (earned.size > 0 || unpriced > 0) {
    const lacking = plural(unpriced, "of {n} sold candle no price is kept", "of {n} sold candles no price is kept");
    const said = [earned.size > 0 && `**${earnedText(earned)}**`, unpriced > 0 && lacking].filter(Boolean);
    facts.push([t("Earned"), said.join("; ")]);
  }
  return facts;
}

/** How much came of what was planned and weighed, and how near it was. @param {Sums} sums @param {boolean} isOne of one
 * recipe, so that its loads may be put together @param {DisplayUnits} units @returns {[name: string, value: string][]} */
export function yieldFacts(sums, isOne, units) {
  const { pours, given_up, put_away, made, planned, grams, load, off_load, off_c } = sums;
  const waiting = pours - put_away;
  /** @type {[string, string | false][]} */
  const facts = [
    [
      t("Pours"),
      [
        `**${pours}**`,
        given_up > 0 && plural(given_up, "{n} more was given up", "{n} more were given up"),
        waiting > 0 && plural(waiting, "{n} is not put away yet", "{n} are not put away yet"),
      ]
        .filter(Boolean)
        .join("; "),
    ],
    [t("Candles made"), put_away > 0 && t("**{made}** of {planned} planned", { made, planned })],
    [
      t("Came into vessels"),
      grams.pours > 0 &&
        plural(
          grams.pours,
          "**{part}** of what was weighed; all was read in {n} pour of {pours}",
          "**{part}** of what was weighed; all was read in {n} pours of {pours}",
          { part: percent(grams.filled_g / grams.weighed_g), pours },
        ),
    ],
    [t("Load reached"), load !== null && isOne && spreadText(load, (each) => percent(each, 0.01))],
    [t("Load, from what was planned"), off_load !== null && spreadText(off_load, (points) => loadText(points * 100))],
    [t("Fragrance in, from its target"), off_c !== null && spreadText(off_c, degreesOf(units))],
  ];
  return facts.flatMap(([name, value]) => (value === false ? [] : [[name, value]]));
}

/** The mean, the least and the most, and of how many. @param {Spread} spread @param {(value: number) => string} text */
function spreadText({ n, of, mean, low, high }, text) {
  const read = plural(of, "read of {count} of {n} jug", "read of {count} of {n} jugs", { count: n });
  const values = { mean: text(mean), low: text(low), high: text(high), read };
  if (n === 1) return t("**{mean}**; {read}", values);
  return t("**{mean}** on average, {low} to {high}; {read}", values);
}

/** A difference with its sign: '+0.12 %'. @param {number} value @param {number} step @param {string} unit */
export function signed(value, step, unit) {
  const text = numberText(write(Math.abs(value), step));
  const isNought = Number(write(Math.abs(value), step)) === 0;
  return `${isNought ? "" : value < 0 ? "−" : "+"}${text}${unit}`;
}

/** How far from a load. @param {number} points per cent of the wax */
export const loadText = (points) => signed(points, 0.01, "\u00a0%");

/** How far from a temperature, in her degrees. @param {DisplayUnits} units @returns {(celsius: number) => string} */
export const degreesOf = (units) => (celsius) =>
  signed(celsius * perDegree(units), 0.1, `\u00a0${units.units.temperature}`);

/** So many of her degrees are one of Celsius. @param {DisplayUnits} units */
export const perDegree = (units) => (units.units.temperature === "°F" ? 1.8 : 1);
