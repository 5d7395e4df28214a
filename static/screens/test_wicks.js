/** What a burn test proves of each wick: the verdict and why, the numbers, the charts; and which wick to burn next. */
import * as candles from "../burns/candle_facts.js";
import { flameChart, leftChart, poolChart } from "../burns/charts.js";
import { AFTER_SMOKE, CANDLES, FLAME, FULL_POOL, hottest, RESIDUE, SECOND_FLAME, SITTING } from "../burns/limits.js";
import { write } from "../formulas/rounding.js";
import { plural, t, worded } from "../words/door.js";
import { numberText } from "../words/numbers.js";
import { chip, fact, h } from "./dom.js";
import { hoursText, statusText, verdictText } from "./test_words.js";

/** @typedef {import("../burns/tests.js").BurnTest} BurnTest */
/** @typedef {import("../burns/candle_facts.js").WickResult} WickResult */
/** @typedef {import("../burns/verdict.js").Verdict} Verdict */
/** @typedef {import("../burns/next_wick.js").NextWick} NextWick */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {{mean: number, low: number | null, high: number | null}} Range */

/** How a verdict's chip looks. */
const TONES = { right: "now", large: "past", small: "", unknown: "" };

/** @param {BurnTest["sheet"]} sheet @param {WickResult} result @param {Verdict} verdict @param {DisplayUnits} units
 * @param {HTMLElement | false} use a button to use this wick in the recipe */
export function wickSection(sheet, result, verdict, units, use) {
  return h(
    "section",
    { class: "wick" },
    h("h2", {}, result.wick.name, " ", chip(verdictText(verdict.verdict), TONES[verdict.verdict])),
    h("ul", { class: "reasons" }, ...verdict.reasons.map(reasonLine)),
    moreText(verdict) !== "" && h("p", { class: "settles" }, moreText(verdict)),
    h("dl", { class: "facts" }, ...numberFacts(verdict, sheet, units)),
    chartsOf(sheet, result, verdict, units),
    use && h("p", { class: "links" }, use),
  );
}

/** What a reason's sign says aloud. @param {"for" | "against" | "missing"} weighs */
function signText(weighs) {
  switch (weighs) {
    case "for":
      return t("For it:");
    case "against":
      return t("Against it:");
    case "missing":
      return t("Missing:");
  }
}

/** @param {import("../burns/verdict.js").Reason} reason */
function reasonLine({ text, weighs }) {
  return h("li", { class: weighs }, h("span", { class: "sr" }, `${signText(weighs)} `), text);
}

/** How many more candles would settle it. @param {Verdict} verdict */
function moreText({ verdict, more }) {
  if (verdict !== "unknown") return "";
  if (more === null) return t("More candles like these would not settle it.");
  if (more === 0) return t("Another sitting of these candles would settle it.");
  return plural(more, "{n} more candle would settle it.", "{n} more candles would settle it.");
}

/** @param {number} value @param {number} step */
const number = (value, step) => numberText(write(value, step));

/** What one number is, and between which it lies. @param {Range} range @param {(value: number) => string} text */
function rangeText({ mean, low, high }, text) {
  const value = text(mean);
  if (low === null || high === null || text(low) === text(high)) return `**${value}**`;
  return t("**{value}** ({low} to {high})", { value, low: text(Math.max(0, low)), high: text(high) });
}

/** @param {Verdict} verdict @param {BurnTest["sheet"]} sheet @param {DisplayUnits} units */
function numberFacts({ verdict, numbers }, sheet, units) {
  const { rate, heat_w, hours, claim_h, full_h, flame_mm, smoke_s } = numbers;
  const length = (/** @type {number} */ mm) => units.text(mm, "length");
  const facts = [];
  if (rate !== null) {
    const burns = rangeText(rate, (grams) => units.text(grams, "mass", "fine"));
    const values = { rate: burns, watts: heat_w === null ? "" : number(heat_w, 1) };
    const text =
      heat_w === null ? t("{rate} an hour", values) : t("{rate} an hour, which is {watts} W of heat", values);
    facts.push(fact(t("It burns"), text));
  }
  if (hours !== null) {
    facts.push(fact(t("Burning time"), [rangeText(hours, hoursText), howKnown(hours)].join(" ")));
    // No hours are claimed of a candle that was not found right.
    if (claim_h !== null && verdict === "right")
      facts.push(
        fact(
          t("A label may claim"),
          plural(claim_h, "**{n} hour**: the lower end, rounded down", "**{n} hours**: the lower end, rounded down"),
        ),
      );
  }
  const due = { due: hoursText(candles.dueH(sheet)), status: statusText(FULL_POOL) };
  if (full_h !== null) {
    const values = { ...due, hours: rangeText(full_h, hoursText) };
    facts.push(fact(t("Pool at the wall"), t("after {hours}; asked for by {due} ({status})", values)));
  }
  if (flame_mm !== null) {
    const { highest, next } = flame_mm;
    const values = {
      highest: length(highest),
      next: length(next),
      limit: length(FLAME.value),
      status: statusText(FLAME),
    };
    facts.push(
      fact(
        t("Highest flame"),
        t("**{highest}**; one more candle would stay under {next}; the limit is {limit} ({status})", values),
      ),
    );
  }
  if (smoke_s !== null) {
    const values = { seconds: number(smoke_s, 1), limit: AFTER_SMOKE.value, status: statusText(AFTER_SMOKE) };
    facts.push(fact(t("After-smoke"), t("**{seconds} s** on average; the limit is {limit} s ({status})", values)));
  }
  return facts;
}

/** @param {{measured: number, reckoned: number}} hours */
function howKnown({ measured, reckoned }) {
  if (reckoned === 0) return t("measured: they were burned down");
  if (measured === 0) return t("reckoned from how they burned so far, down to 10 mm of wax");
  return t("measured of {measured} that burned down, reckoned of {reckoned}", { measured, reckoned });
}

/** @param {BurnTest["sheet"]} sheet @param {WickResult} result @param {Verdict} verdict @param {DisplayUnits} units */
function chartsOf({ fuel_g, width_mm, marks_h }, { candles: burned }, { numbers }, units) {
  const counted = burned.filter(({ counts }) => counts);
  const until_h = marks_h.at(-1) ?? SITTING.value;
  const left = counted.flatMap((each) => {
    const rate = candles.rateOf(each);
    if (rate === null) return [];
    const [[, start_g]] = rate.points;
    const points = rate.points.map(([h, left_g]) => /** @type {[number, number]} */ ([h, fuel_g - (start_g - left_g)]));
    return [{ number: each.candle, points }];
  });
  /** @param {(sitting: WickResult["candles"][number]["sittings"][number]) => [number, number][]} points */
  const bySitting = (points) =>
    counted
      .flatMap(({ candle, sittings }) => sittings.map((sitting) => ({ number: candle, points: points(sitting) })))
      .filter(({ points: read }) => read.length > 0);
  const pools = bySitting(({ pools: seen }) =>
    seen.flatMap(({ h: hours, mm, full }) => (mm === null && !full ? [] : [[hours, mm ?? width_mm]])),
  );
  const flames = bySitting(({ flames: seen }) =>
    seen.flatMap(({ h: hours, mm }) => (mm === null ? [] : [[hours, mm]])),
  );
  const { rate } = numbers;
  const band =
    rate !== null && rate.low !== null && rate.high !== null
      ? { ...rate, low: Math.max(0, rate.low), high: rate.high }
      : null;
  const charts = [
    left.length > 0 && leftChart(left, band, units),
    pools.length > 0 && poolChart(pools, width_mm, until_h, units),
    flames.length > 0 && flameChart(flames, FLAME.value, until_h, units),
  ];
  const drawn = charts.flatMap((each) => (each ? [h("figure", {}, each)] : []));
  return drawn.length > 0 && h("div", { class: "charts" }, ...drawn);
}

/** Every limit with what it is, how well it is known, and where it is from. @param {DisplayUnits} units
 * @param {number | null} [hottest_c] how hot she lets a place of the vessel get */
export function limitLines(units, hottest_c = null) {
  const length = (/** @type {number} */ mm) => units.text(mm, "length");
  /** @type {[string, import("../burns/limits.js").Limit][]} */
  const lines = [
    [t("Flame: {limit} at most", { limit: length(FLAME.value) }), FLAME],
    [t("Second flame: none"), SECOND_FLAME],
    [t("After-smoke: {limit} s on average at most", { limit: AFTER_SMOKE.value }), AFTER_SMOKE],
    [t("Pool at the wall: after about an hour for each {inch}", { inch: length(1 / FULL_POOL.value) }), FULL_POOL],
    [t("A sitting: {limit} h at most", { limit: SITTING.value }), SITTING],
    [t("Candles of each wick: {limit} at least", { limit: CANDLES.value }), CANDLES],
    [t("Left at the end: {limit} of wax", { limit: length(RESIDUE.value) }), RESIDUE],
  ];
  if (hottest_c !== null) {
    const limit = units.text(hottest_c, "temperature", 1);
    lines.push([t("Hottest place of the vessel: {limit} at most", { limit }), hottest(hottest_c)]);
  }
  return lines.map(([text, limit]) =>
    h("li", {}, h("b", {}, text), ` (${statusText(limit)}). `, h("span", { class: "help" }, worded(limit.source))),
  );
}

/** Which wick to burn next, and what each size would do. @param {NextWick} next */
export function adviceOf({ why, chances }) {
  const known = chances.filter(({ chance_full, chance_flame_ok }) => chance_full !== null || chance_flame_ok !== null);
  const heads = [t("Wick"), t("Pool at the wall"), t("Flame below the limit")];
  const cell = (/** @type {number | null} */ chance) => (chance === null ? t("not known") : tenthsText(chance));
  return [
    h("p", {}, why),
    known.length > 1 &&
      h(
        "table",
        {},
        h("thead", {}, h("tr", {}, ...heads.map((text) => h("th", { scope: "col" }, text)))),
        h(
          "tbody",
          {},
          ...known.map(({ wick, tested, chance_full, chance_flame_ok, is_out }) =>
            h(
              "tr",
              { class: is_out ? "out" : "" },
              h(
                "th",
                { scope: "row" },
                wick.name,
                h("span", { class: "under" }, is_out ? t("ruled out") : tested ? t("burned") : t("not burned yet")),
              ),
              h("td", {}, cell(chance_full)),
              h("td", {}, cell(chance_flame_ok)),
            ),
          ),
        ),
      ),
  ].flatMap((each) => each || []);
}

/** @param {number} chance */
const tenthsText = (chance) => t("{n} of 10", { n: number(chance * 10, 1) });
