/** How the wicks of a burn test throw their scent, as it was rated. */
import { ratingsOf } from "../burns/scent.js";
import { plural, t } from "../words/door.js";
import { numberText } from "../words/numbers.js";

/** @typedef {import("../burns/tests.js").BurnTest} BurnTest */

/** By wick, cold and burning; as long as it is blind, only how many have rated. @param {BurnTest} test
 * @returns {[name: string, value: string][]} */
export function scentFacts({ sheet, state }) {
  const ratings = state.ratings.flatMap(({ candle, throw: how, nose, rating }) => {
    const wick = sheet.candles[candle]?.wick;
    return wick === undefined ? [] : [{ wick, throw: how, nose, rating }];
  });
  if (ratings.length === 0) return [[t("Rated"), t("by nobody yet")]];
  const noses = new Set(ratings.map(({ nose }) => nose.trim().toLowerCase())).size;
  if (state.blind !== null) {
    const count = plural(noses, "{n} nose has rated.", "{n} noses have rated.");
    return [[t("Rated"), `${count} ${t("Which letter is which is not told yet.")}`]];
  }
  return ratingsOf(ratings).map(({ wick, throw: how, n, median, enough }) => {
    const name =
      how === "cold"
        ? t("{wick}, unlit", { wick: sheet.wicks[wick].name })
        : t("{wick}, burning", { wick: sheet.wicks[wick].name });
    const of = plural(n, "**{median}** of 5, by {n} nose", "**{median}** of 5, by {n} noses", {
      median: numberText(String(median)),
    });
    return /** @type {[string, string]} */ ([
      name,
      enough ? of : `${of}; ${t("three noses are the least that say something")}`,
    ]);
  });
}
