/** A burn test in words: how its candles stand, what comes next, what its verdicts are called. */
import { candleName, whyText } from "../burns/burn_words.js";
import { countBurning } from "../burns/tests.js";
import { roundTo } from "../formulas/rounding.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { message, plural, t, worded } from "../words/door.js";
import { numberText } from "../words/numbers.js";

/** @typedef {import("../burns/tests.js").BurnTest} BurnTest */
/** @typedef {import("../burns/burn_fold.js").CandleState} CandleState */
/** @typedef {"small" | "large" | "right" | "unknown"} Verdict */

/** @type {Record<Verdict, import("../words/door.js").Message>} */
const VERDICTS = {
  right: message("right"),
  small: message("too small"),
  large: message("too large"),
  unknown: message("not known yet"),
};

/** @param {Verdict} verdict */
export const verdictText = (verdict) => worded(VERDICTS[verdict]);

/** How well a figure is known. @type {Record<import("../burns/limits.js").Limit["status"], import("../words/door.js").Message>} */
const STATUSES = {
  seen: message("read in its source"),
  "second-hand": message("second-hand"),
  memory: message("from memory"),
  "common practice": message("common practice, no source"),
  hers: message("your own"),
};

/** @param {Pick<import("../burns/limits.js").Limit, "status">} limit */
export const statusText = ({ status }) => worded(STATUSES[status]);

/** Such as 'candle 2, flat cotton 4'. @param {BurnTest["sheet"]} sheet @param {number} candle its index */
export function candleWithWick({ candles, wicks }, candle) {
  const wick = wicks[candles[candle]?.wick]?.name;
  return wick ? t("{candle}, {wick}", { candle: candleName(candle), wick }) : candleName(candle);
}

/** Hours, to a tenth. @param {number} hours */
export const hoursText = (hours) => t("{n}\u00a0h", { n: numberText(String(roundTo(hours, 0.1))) });

/** Which of its candles is to be burned next: of those that may, one that has burned least; null: none.
 * @param {BurnTest} test @returns {number | null} */
export function candleToBurn({ state, sheet }) {
  if (state.closed !== null) return null;
  const open = sheet.candles.map((_, index) => index).filter((index) => state.candles[index].step !== "over");
  const burns = (/** @type {number} */ index) => {
    const { step, sittings } = state.candles[index];
    // One that burns or rests is gone on with before another is begun.
    return step === "trim" ? sittings.length : -1;
  };
  return open.reduce(
    (best, index) => (best === null || burns(index) < burns(best) ? index : best),
    /** @type {number | null} */ (null),
  );
}

/** What there is to do next in a test. @param {BurnTest} test */
export function comesNext(test) {
  const { state, sheet } = test;
  if (state.closed !== null) return t("closed on {day}", { day: dayText(localDate(state.closed.at)) });
  const burning = countBurning(state);
  if (burning > 0) return plural(burning, "{n} candle burns", "{n} candles burn");
  const resting = state.candles.filter(({ step }) => step === "smoke" || step === "rest").length;
  if (resting > 0)
    return plural(resting, "{n} candle rests before it is weighed", "{n} candles rest before they are weighed");
  const next = candleToBurn(test);
  if (next === null) return t("all candles are done: see what came of it");
  const { sittings } = state.candles[next];
  return t("next: {candle}, sitting {n}", { candle: candleWithWick(sheet, next), n: sittings.length + 1 });
}

/** How a candle stands. @param {CandleState} candle @returns {{text: string, tone: string}} as of a chip */
export function standOf({ step, sittings, burned_down, set_aside, failed }) {
  if (set_aside !== null) return { text: t("out of the test"), tone: "" };
  if (failed !== null && step === "over") return { text: whyText(failed), tone: "past" };
  if (burned_down) return { text: t("burned down"), tone: "" };
  const now = sittings.at(-1);
  switch (step) {
    case "burning":
      return { text: t("burns since {time}", { time: timeText(now?.lit_at ?? 0) }), tone: "now" };
    case "smoke":
    case "rest":
      return { text: t("rests"), tone: "now" };
    case "light":
      return { text: t("weighed, not lit yet"), tone: "now" };
    default:
      return { text: sittings.length === 0 ? t("not burned yet") : "", tone: "" };
  }
}

/** How often and how long it has burned. @param {CandleState} candle */
export function burnedText({ sittings }) {
  const lit = sittings.filter(({ lit_at }) => lit_at !== null);
  if (lit.length === 0) return "";
  const hours = lit.reduce((sum, each) => sum + (each.hours ?? 0), 0);
  return plural(lit.length, "{n} sitting, {hours}", "{n} sittings, {hours}", { hours: hoursText(hours) });
}
