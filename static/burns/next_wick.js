/**
 * Which wick of a series to burn next, from her own tests alone.
 *
 * Within one series pools get wider and flames higher with the size: two lines that never fall (`monotone.js`), one
 * through the pools at the hour by which they should be at the wall, one through the highest flames, each candle a
 * point. A pool at the wall, a flame that was only said to be low and one that ended its candle are points that are
 * known to one side. Where a size is proved too small, nothing smaller is recommended; where one is too large, or ended
 * a candle dangerously, nothing larger.
 */
import { displayUnits } from "../bench/display_units.js";
import { meanOf } from "../formulas/means.js";
import { chanceAbove, meanAt, monotoneFit } from "../formulas/monotone.js";
import { t } from "../words/door.js";
import * as facts from "./candle_facts.js";
import { FLAME } from "./limits.js";
import { LEVEL, verdictOf } from "./verdict.js";

/** @typedef {import("./candle_facts.js").WickResult} WickResult */
/** @typedef {import("./candle_facts.js").Asked} Asked */
/** @typedef {import("./candle_facts.js").Wick} Wick */
/** @typedef {import("../formulas/monotone.js").Point} Point */
/** @typedef {import("../formulas/monotone.js").Monotone} Monotone */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** No flame of a candle is higher than this on average, mm (our choice). */
const HIGHEST_FLAME_MM = 150;

/** What candles of one wick may differ by, standard deviation: flames in mm, pools as part of the width, burning rates
 * as part of the largest (our choice). @type {Record<"flame" | "pool" | "rate", [number, number]>} */
const SCATTERS = { flame: [2, 12], pool: [0.01, 0.1], rate: [0.01, 0.2] };

/** A wick that would do for fewer candles than this is no answer. */
const LEAST_CHANCE = 0.1;

/** Wicks are as good as each other within this: of those that proved right the middle one keeps the most room to both
 * sides, of others the smallest has the lowest flame. */
const AS_GOOD = 0.05;

/**
 * @typedef {object} Chance what one more candle of a wick would do
 * @property {Wick} wick
 * @property {boolean} tested a candle of it was burned
 * @property {number | null} chance_full that its pool is at the wall in time; null: no pool was seen in this series
 * @property {number | null} chance_flame_ok that its flame stays below the limit; null: no flame was seen
 * @property {number} chance both, as far as they are known; 0 where its size is ruled out
 * @property {boolean} is_right it was tested, and proved right
 * @property {boolean} is_out its size is ruled out: as small as one that is too small, as large as one that is too
 *   large, or no smaller than one that ended a candle dangerously
 * @property {{mean: number, low: number | null, high: number | null} | null} rate g/h: of a tested wick as measured, of
 *   another where the line through the tested ones would be
 */

/** @typedef {{wick: Wick | null, why: string, chances: Chance[]}} NextWick */

/**
 * The likeliest wick of a series.
 * @param {WickResult[]} results what was burned, of this series @param {Wick[]} series all wicks of it that she keeps, the
 *   smallest first @param {Asked} asked @param {DisplayUnits} [units] hers, for the words
 * @returns {NextWick} `chances` from the smallest wick to the largest
 */
export function nextWick(results, series, asked, units = displayUnits({})) {
  const sized = bySize(series);
  const burned = sized.flatMap(({ wick, x }) => {
    const result = results.find((each) => each.wick.id === wick.id);
    return result?.candles.some(facts.isBurned) ? [{ ...result, x }] : [];
  });
  const pool = fitted(sized, burned, (candle) => poolPoint(candle, asked), {
    most: 2 * asked.width_mm,
    scatter: inPartsOf(asked.width_mm, SCATTERS.pool),
  });
  const flame = fitted(sized, burned, facts.flameRange, { most: HIGHEST_FLAME_MM, scatter: SCATTERS.flame });
  const { from, below, right } = allowed(burned, asked);
  const rates = ratesOf(sized, burned);
  const chances = sized.map(({ wick, x }) => {
    const chance_full = pool && chanceAbove(pool, x, asked.width_mm);
    const chance_flame_ok = flame && 1 - chanceAbove(flame, x, FLAME.value);
    const is_out = x <= from || x >= below;
    const chance = is_out ? 0 : (chance_full ?? 1) * (chance_flame_ok ?? 1);
    const tested = burned.some((each) => each.wick.id === wick.id);
    const is_right = !is_out && right.has(x);
    return { wick, tested, chance_full, chance_flame_ok, chance, is_right, is_out, rate: rates(x) };
  });
  return { ...recommended(chances, pool !== null, units), chances };
}

/** @param {Chance[]} chances @param {boolean} isKnown @param {DisplayUnits} units @returns {{wick: Wick | null, why: string}} */
function recommended(chances, isKnown, units) {
  if (!isKnown) return { wick: null, why: t("Nothing is known of this series yet: test a size from its middle.") };
  if (chances.every(({ is_out }) => is_out)) {
    return {
      wick: null,
      why: t("No size of this series is left: each is ruled out by what you burned. Try another series."),
    };
  }
  const right = chances.filter(({ is_right }) => is_right);
  const open = right.length > 0 ? right : chances;
  const most = Math.max(...open.map(({ chance }) => chance));
  const good = open.filter(({ chance }) => chance >= most - AS_GOOD);
  const best = good[right.length > 0 ? (good.length - 1) >> 1 : 0];
  const tenths = (/** @type {number | null} */ chance) => Math.floor(10 * (chance ?? 0) + 0.5);
  if (best.chance < LEAST_CHANCE && !best.is_right) {
    return {
      wick: null,
      why: t("No size of this series is likely to do. Try another series, or a vessel of another width."),
    };
  }
  const limit = units.text(FLAME.value, "length", 1);
  const values = { wick: best.wick.name, full: tenths(best.chance_full), limit, flame: tenths(best.chance_flame_ok) };
  if (best.is_right) {
    const why = t(
      "Keep {wick}, which proved right: by your tests the pool would be at the wall in time in {full} of 10 candles, and the flame would stay below {limit} in {flame} of 10.",
      values,
    );
    return { wick: best.wick, why };
  }
  if (best.chance_flame_ok === null) {
    const why = t(
      "Burn {wick}: by your tests the pool would be at the wall in time in {full} of 10 candles. No flame of this series was measured yet.",
      values,
    );
    return { wick: best.wick, why };
  }
  const why = t(
    "Burn {wick}: by your tests the pool would be at the wall in time in {full} of 10 candles, and the flame would stay below {limit} in {flame} of 10.",
    values,
  );
  return { wick: best.wick, why };
}

// ---- sizes -----------------------------------------------------------------------------------------

/** Each wick with its size as a number, the smallest first: the first number that its size holds, or its name; equal
 * steps in her order, where one has none or two have the same.
 * @param {Wick[]} series @returns {{wick: Wick, x: number}[]} */
export function bySize(series) {
  const read = series.map(({ size, name }) => {
    const text = size === null || size === undefined || size === "" ? name : String(size);
    const found = text.match(/\d+(?:[.,]\d+)?/);
    return found ? Number(found[0].replace(",", ".")) : null;
  });
  const numbers = new Set(read);
  const isTold = !numbers.has(null) && numbers.size === series.length;
  return series.map((wick, i) => ({ wick, x: isTold ? (read[i] ?? i) : i })).sort((a, b) => a.x - b.x);
}

/** Sizes between which a wick may do, and those that proved right. @param {(WickResult & {x: number})[]} burned @param {Asked} asked */
function allowed(burned, asked) {
  let from = -Infinity;
  let below = Infinity;
  /** @type {Set<number>} */
  const right = new Set();
  for (const result of burned) {
    const { verdict } = verdictOf(result, asked);
    const isOver = verdict === "large" || result.candles.some(facts.isDangerous);
    if (isOver) below = Math.min(below, result.x);
    if (verdict === "small" && !isOver) from = Math.max(from, result.x);
    if (verdict === "right") right.add(result.x);
  }
  return { from, below, right };
}

// ---- the lines -------------------------------------------------------------------------------------

/** How wide a candle's pool was when it was due; one that went out before, or failed to get there, was narrower.
 * @param {facts.CandleResult} candle @param {Asked} asked */
function poolPoint(candle, asked) {
  const told = facts.poolAtDue(candle, asked);
  if (told !== null || candle.failed !== "went_out") return told;
  return { low: -Infinity, high: asked.width_mm };
}

/** @param {{x: number}[]} sized @param {(WickResult & {x: number})[]} burned
 * @param {(candle: facts.CandleResult) => {low: number, high: number} | null} told
 * @param {{most: number, scatter: [number, number]}} expected @returns {Monotone | null} */
function fitted(sized, burned, told, { most, scatter }) {
  /** @type {Point[]} */
  const points = [];
  for (const { candles, x } of burned) {
    for (const candle of candles) {
      const found = candle.counts || facts.isDangerous(candle) ? told(candle) : null;
      if (found !== null) points.push({ x, ...found });
    }
  }
  if (points.length === 0) return null;
  // A series of one wick has no other size to tell of.
  const first = sized[0].x;
  const last = Math.max(sized[sized.length - 1].x, first + 1);
  return monotoneFit(points, { least: 0, most, first, last, scatter });
}

/** @param {{x: number}[]} sized @param {(WickResult & {x: number})[]} burned @returns {(x: number) => Chance["rate"]} */
function ratesOf(sized, burned) {
  const rates = burned.map(({ candles, x }) => {
    const counted = candles.filter(({ counts }) => counts);
    return { x, rates: counted.flatMap((candle) => facts.rateOf(candle)?.g_per_h ?? []) };
  });
  const all = rates.flatMap((each) => each.rates);
  if (all.length === 0) return () => null;
  const largest = Math.max(...all);
  const points = rates.flatMap((each) => each.rates.map((rate) => ({ x: each.x, low: rate, high: rate })));
  const first = sized[0].x;
  const last = Math.max(sized[sized.length - 1].x, first + 1);
  const range = { least: 0, most: 3 * largest, first, last };
  const fit = monotoneFit(points, { ...range, scatter: inPartsOf(largest, SCATTERS.rate) });
  return (x) => {
    const own = rates.find((each) => each.x === x)?.rates ?? [];
    if (own.length === 0) return meanAt(fit, x, LEVEL);
    const { mean, low, high } = meanOf(own, LEVEL);
    return { mean, low, high };
  };
}

/** @param {number} whole @param {[number, number]} parts @returns {[number, number]} */
const inPartsOf = (whole, [low, high]) => [low * whole, high * whole];
