/** A reading that is asked for of a candle: what it is of, what is odd about it, and the event it becomes. */
import { t } from "../words/door.js";
import { HOUR_MS } from "./burn_fold.js";
import { candleName, flameLimit } from "./burn_words.js";
import { FLAME } from "./limits.js";
import { markNow } from "./tests.js";

/** @typedef {import("./burn_fold.js").TestSheet} TestSheet */
/** @typedef {import("./burn_fold.js").TestState} TestState */
/** @typedef {import("./burn_fold.js").Sitting} Sitting */
/** @typedef {import("./burn_prompt.js").Pad} Pad */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../bench/reading_request.js").Doubt} Doubt */
/**
 * @typedef {object} BurnRequest
 * @property {string} asks the question
 * @property {"mass" | "temperature" | "length"} dimension
 * @property {number} step of the scale, thermometer or ruler, base unit
 * @property {(value: number) => Doubt | null} doubt what can hardly be meant is questioned; without answers it is refused
 * @property {(value: number) => import("../records/event_types.js").NewBurnTestEvent} event
 */

/** No candle loses more, g an hour; no flame is higher, mm; no vessel is hotter or colder, °C (our choice). */
const FASTEST = 40;
const HIGHEST_FLAME_MM = 200;
const HOTTEST_C = 150;

/** A pool that is so much narrower than before was measured elsewhere (our choice, mm). */
const NARROWER_MM = 5;

/** @param {{sheet: TestSheet, state: TestState}} test @param {number} candle its index @param {Pad} pad
 * @param {number} now_ms @param {DisplayUnits} units @returns {BurnRequest} */
export function burnRequest({ sheet, state }, candle, pad, now_ms, units) {
  const { sittings, sitting: burn } = state.candles[candle];
  const name = candleName(candle);
  if (pad === "before" || pad === "after") {
    const asks = t("What does the scale show with {candle} alone on it, without a lid?", { candle: name });
    const doubt = (/** @type {number} */ value) =>
      pad === "before"
        ? doubtBefore(value, sheet, sittings.slice(0, burn).at(-1), units)
        : doubtAfter(value, sheet, sittings[burn], now_ms, units);
    const event = (/** @type {number} */ read_g) =>
      /** @type {const} */ ({ type: "weighed", candle, burn, when: pad, read_g });
    return { asks, dimension: "mass", step: sheet.step_g, doubt, event };
  }
  const sitting = sittings[burn];
  const mark = markNow(sitting, now_ms);
  if (pad === "hottest") {
    return {
      asks: t("How hot is the hottest place of the vessel?"),
      dimension: "temperature",
      step: 1,
      doubt: (value) => doubtHottest(value, units),
      event: (temp_c) => ({ type: "hottest", candle, burn, mark, temp_c }),
    };
  }
  const ASKS = {
    pool: t("How wide is the pool? Measure one way."),
    across: t("How wide is it the other way?"),
    depth: t("How deep is the pool at its deepest?"),
    flame: t("How high is the flame, from the wick's tip?"),
  };
  const last = sitting.marks.slice(0, mark).findLast(({ seen }) => seen.pool_mm !== undefined || seen.pool_full);
  const doubts = {
    pool: (/** @type {number} */ value) => doubtPool(value, sheet, last?.seen, units),
    across: (/** @type {number} */ value) => doubtPool(value, sheet, undefined, units),
    depth: (/** @type {number} */ value) => doubtDepth(value, units),
    flame: (/** @type {number} */ value) => doubtFlame(value, units),
  };
  return {
    asks: ASKS[pad],
    dimension: "length",
    step: 1,
    doubt: doubts[pad],
    event: (mm) => ({ type: "measured", candle, burn, mark, what: pad, mm }),
  };
}

/** @param {string} question @returns {Doubt} */
const refused = (question) => ({ question, answers: [] });

/** @param {string} question @param {string} reading @param {number} value @returns {Doubt} */
const questioned = (question, reading, value) => ({
  question,
  answers: [{ label: t("Yes, {reading}", { reading }), value }],
});

/** @param {number} value @param {TestSheet} sheet @param {Sitting | undefined} last the sitting before @param {DisplayUnits} units */
function doubtBefore(value, { fuel_g, step_g }, last, units) {
  const text = (/** @type {number} */ grams) => units.text(grams, "mass", step_g);
  const reading = text(value);
  if (value <= 0) return refused(t("Type what it shows, more than nothing."));
  const after_g = last?.after_g ?? null;
  if (after_g !== null && value > after_g + 2 * step_g) {
    const given = { reading, before: text(after_g) };
    return questioned(
      t("It weighed {before} after it last burned. Is a lid on it? Is it {reading}?", given),
      reading,
      value,
    );
  }
  if (after_g !== null && value < after_g - fuel_g * 0.05) {
    const given = { reading, before: text(after_g) };
    return questioned(t("It weighed {before} after it last burned. Is {reading} this candle?", given), reading, value);
  }
  if (last === undefined && value < fuel_g * 0.8) {
    const given = { reading, fuel: text(fuel_g) };
    return questioned(t("{reading} is less than its wax, {fuel}. Is that what it shows?", given), reading, value);
  }
  return null;
}

/** @param {number} value @param {TestSheet} sheet @param {Sitting} sitting @param {number} now_ms @param {DisplayUnits} units */
function doubtAfter(value, { step_g }, { before_g, lit_at, stopped_at }, now_ms, units) {
  const text = (/** @type {number} */ grams) => units.text(grams, "mass", step_g);
  const reading = text(value);
  if (value <= 0) return refused(t("Type what it shows, more than nothing."));
  if (before_g === null) return null;
  if (value > before_g) {
    const given = { reading, before: text(before_g) };
    return refused(
      t(
        "It weighed {before} before it burned, and can't weigh more now: is a lid on it? If the weight before was " +
          "wrong, set that right on the test's page.",
        given,
      ),
    );
  }
  const hours = ((stopped_at ?? now_ms) - (lit_at ?? now_ms)) / HOUR_MS;
  const rate = (before_g - value) / Math.max(hours, 1 / 60);
  if (rate > FASTEST) {
    const given = { reading, burned: text(before_g - value) };
    return questioned(t("It would have burned {burned}. Is {reading} what it shows?", given), reading, value);
  }
  if (hours > 0.5 && before_g - value < step_g) {
    return questioned(t("It would have burned nothing. Is {reading} what it shows?", { reading }), reading, value);
  }
  return null;
}

/** @param {number} value @param {TestSheet} sheet @param {import("./burn_fold.js").Seen | undefined} last @param {DisplayUnits} units */
function doubtPool(value, { width_mm }, last, units) {
  const text = (/** @type {number} */ mm) => units.text(mm, "length", 1);
  if (value > width_mm + 1) {
    const given = { reading: text(value), width: text(width_mm) };
    return refused(t("{reading} is wider than the vessel, {width}. Measure it again.", given));
  }
  const before_mm = last?.pool_full ? width_mm : (last?.pool_mm ?? 0);
  if (value < before_mm - NARROWER_MM) {
    const given = { reading: text(value), before: text(before_mm) };
    return questioned(t("It was {before} at the mark before. Is it {reading} now?", given), given.reading, value);
  }
  return null;
}

/** @param {number} value @param {DisplayUnits} units */
function doubtDepth(value, units) {
  const reading = units.text(value, "length", 1);
  return value > 60
    ? questioned(t("{reading} is a very deep pool. Is that right?", { reading }), reading, value)
    : null;
}

/** @param {number} value @param {DisplayUnits} units */
function doubtFlame(value, units) {
  const reading = units.text(value, "length", 1);
  if (value > HIGHEST_FLAME_MM) {
    return refused(t("No candle's flame is {reading} high. Is it in {unit}?", { reading, unit: units.units.length }));
  }
  if (value <= FLAME.value) return null;
  const given = { reading, limit: flameLimit(units) };
  return questioned(t("{reading} is higher than {limit}. Put it out. Is that how high it is?", given), reading, value);
}

/** @param {number} value @param {DisplayUnits} units */
function doubtHottest(value, units) {
  const reading = units.text(value, "temperature", 1);
  if (value < -20 || value > 500) return refused(t("No vessel is at {reading}. Measure it again.", { reading }));
  if (value < 0 || value > HOTTEST_C)
    return questioned(t("{reading} is far from what a vessel gets. Is that right?", { reading }), reading, value);
  return null;
}
