/** Whether a recipe was tested as it is now, in words: for its own page, and for a plan. */

import { mixOf } from "../bench/mixing.js";
import { ofEach, poursOf } from "../bench/pours.js";
import { resultsOf } from "../burns/results.js";
import { testedOf } from "../burns/tested.js";
import { testsOf } from "../burns/tests.js";
import { verdictOf } from "../burns/verdict.js";
import { write } from "../formulas/rounding.js";
import * as store from "../records/store.js";
import { dayText, localDate } from "../words/dates.js";
import { listed, message, plural, t, worded } from "../words/door.js";
import { numberText } from "../words/numbers.js";
import { lotsText } from "./test_batches.js";
import { verdictText } from "./test_words.js";

/** @typedef {import("../burns/tests.js").BurnTest} BurnTest */
/** @typedef {import("../burns/verdict.js").Verdict} Verdict */
/** @typedef {import("../burns/tested.js").Tested<Verdict>} Tested */
/** @typedef {Record<string, any>} Fields */
/**
 * @typedef {object} Told
 * @property {"tested" | "wrong" | "open" | "changed" | "never"} stands
 * @property {string} text @property {string | null} test its id
 * @property {number | null} claim_h the burning time that may be promised, in whole hours
 */

/** @type {Record<import("../burns/tested.js").Changed, import("../words/door.js").Message>} */
const CHANGES = {
  vessel: message("the vessel"),
  wax: message("the wax"),
  fragrance: message("the fragrance"),
  load: message("the load, which is higher"),
  wick: message("the wick"),
};

/** What its burn tests say of a recipe. @param {Fields} recipe @param {import("../bench/mixing.js").Materials} kept
 * @returns {Promise<Told>} */
export async function readTested(recipe, kept) {
  const tests = await testsOf(recipe.id);
  const judged = ofEach(tests, (test) => {
    const verdicts = resultsOf(test).map((result) => verdictOf(result, test.sheet));
    return [{ id: test.id, sheet: test.sheet, wicks: verdicts.map((told) => ({ verdict: told.verdict, told })) }];
  });
  const found = testedOf(recipe, mixOf(recipe, kept), judged);
  if (found === null) return { stands: "never", text: t("How it burns was never tested."), test: null, claim_h: null };
  const test = /** @type {BurnTest} */ (tests.find(({ id }) => id === found.test.id));
  const { changed, came, wick } = found;
  if (changed.length > 0) {
    const what = listed(changed.map((each) => worded(CHANGES[each])));
    return {
      stands: "changed",
      text: t("It was changed since it was tested: {what}.", { what }),
      test: test.id,
      claim_h: null,
    };
  }
  if (came === "open") {
    const isOpen = test.state.closed === null;
    const text = isOpen
      ? t("It is being tested: nothing is settled yet.")
      : t("It was tested, and nothing was settled.");
    return { stands: "open", text, test: test.id, claim_h: null };
  }
  const { verdict, told } = found.test.wicks[/** @type {number} */ (wick)];
  const name = test.sheet.wicks[/** @type {number} */ (wick)].name;
  if (came === "wrong") {
    const text = t("It was tested: {wick} is {verdict}.", { wick: name, verdict: verdictText(verdict) });
    return { stands: "wrong", text, test: test.id, claim_h: null };
  }
  const text = await passedText(test, /** @type {number} */ (wick), name, told);
  return { stands: "tested", text, test: test.id, claim_h: told.numbers.claim_h };
}

/** Such as 'Tested: 3 candles with flat cotton, 4 passed on Mon 19 Oct. They burn for 41 h (38 to 44).'
 * @param {BurnTest} test @param {number} wick @param {string} name @param {Verdict} told */
async function passedText({ sheet, state, record }, wick, name, { numbers }) {
  const ofWick = state.counted.filter((each) => "candle" in each && sheet.candles[each.candle ?? 0]?.wick === wick);
  const last = ofWick.at(-1)?.at ?? record.started_at;
  const day = dayText(localDate(last));
  const parts = [
    plural(
      numbers.candles,
      "Tested: {n} candle with {wick} passed on {day}.",
      "Tested: {n} candles with {wick} passed on {day}.",
      { wick: name, day },
    ),
  ];
  const { hours } = numbers;
  if (hours !== null && hours.low !== null && hours.high !== null) {
    const whole = (/** @type {number} */ value) => numberText(write(value, 1));
    const values = { hours: whole(hours.mean), low: whole(hours.low), high: whole(hours.high) };
    parts.push(t("One burns for **{hours}\u00a0h** ({low} to {high}).", values));
  }
  const ids = sheet.candles.flatMap((candle) => (candle.wick === wick && candle.pour ? [candle.pour] : []));
  const lots = await Promise.all((await poursOf([...new Set(ids)])).map(lotsText));
  const named = [...new Set(lots.filter(Boolean))];
  if (named.length > 0) parts.push(t("They were poured from {lots}.", { lots: named.join("; ") }));
  return parts.join(" ");
}

/** What a recipe's page and a plan are drawn anew for. */
export const TESTED_BY = ["burn_test", "recipe", "wick", "wax", "fragrance", "vessel"];

/** A recipe that lives, or none. @param {string} id */
export async function livingRecipe(id) {
  const recipe = await store.get("recipe", id);
  return recipe === undefined || recipe.deleted ? null : recipe;
}
