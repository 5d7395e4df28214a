/** What one burned candle tells, put together from its sittings: sittings are repeats in time, candles are the repeats. */
import { burnRate, fullPoolByH } from "../formulas/burning.js";
import { meanOf } from "../formulas/means.js";
import { InputError } from "../words/door.js";
import { DANGEROUS } from "./burn_fold.js";
import { FLAME, SITTING } from "./limits.js";

/** @typedef {import("./results.js").SittingResult} SittingResult */
/** @typedef {import("./results.js").CandleResult} CandleResult */
/** @typedef {import("./burn_fold.js").Graded} Graded */
/** @typedef {import("./results.js").WickResult} WickResult all candles of one wick */
/** @typedef {{id: string, name: string, series?: string | null, size?: string | number | null}} Wick */
/** @typedef {{width_mm: number, fuel_g: number, solid_density: number, hottest_c?: number | null}} Asked inside width,
 *   mix in one candle, density when set, and how hot a place may get, where she set that */

/** It is over for reasons of safety. @param {CandleResult} candle */
export const isDangerous = ({ failed }) => DANGEROUS.includes(failed);

/** It was lit, whatever came of it. @param {CandleResult} candle */
export const isBurned = ({ sittings, failed }) => sittings.length > 0 || failed !== null;

/** Lit to out, weighed before and after, and looked at whenever a mark was due. @param {SittingResult} sitting */
export function isWhole({ hours, before_g, after_g, marks_seen, marks_due }) {
  return hours !== null && before_g !== null && after_g !== null && marks_seen > 0 && marks_seen >= marks_due;
}

/** It counts, and at least one of its sittings is whole. @param {CandleResult} candle */
export const isTested = (candle) => candle.counts && candle.sittings.some(isWhole);

/** The sittings that say how much burned in how long, in order. @param {CandleResult} candle
 * @returns {import("../formulas/burning.js").Weighed[]} */
export function weighedSittings({ sittings }) {
  return sittings.flatMap(({ hours, before_g, after_g }) =>
    hours === null || hours <= 0 || before_g === null || after_g === null || after_g > before_g
      ? []
      : [{ hours, before_g, after_g }],
  );
}

/** How fast it burned; null where that is not known. @param {CandleResult} candle */
export function rateOf(candle) {
  const sittings = weighedSittings(candle);
  if (sittings.length === 0) return null;
  try {
    const rate = burnRate(sittings);
    return rate.grams > 0 ? rate : null;
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return null;
  }
}

/** All hours that it has burned; null where a sitting's are not known. @param {CandleResult} candle */
export function hoursBurned({ sittings }) {
  let total = 0;
  for (const { hours } of sittings) {
    if (hours === null) return null;
    total += hours;
  }
  return total > 0 ? total : null;
}

/** The highest flame measured, or whether it was only ever said to be below the limit. @param {CandleResult} candle
 * @returns {{mm: number | null, isLow: boolean}} */
export function flameOf({ sittings }) {
  const measured = sittings.flatMap(({ flame_mm }) => (flame_mm === null ? [] : [flame_mm]));
  const mm = measured.length > 0 ? Math.max(...measured) : null;
  return { mm, isLow: mm === null && sittings.some(({ flames_low }) => flames_low > 0) };
}

/** Seconds that it smoked once it was out, the mean of its sittings. @param {CandleResult} candle */
export function smokeOf({ sittings }) {
  return meanOrNull(sittings.map(({ smoke_s }) => smoke_s));
}

/** The worst grade of a thing; null where nobody ever looked. Wax on the wall is what the last sitting left: an early
 * one often leaves some that a later one takes. @param {CandleResult} candle @param {Graded} thing */
export function gradeOf({ sittings }, thing) {
  const grades = sittings.flatMap(({ worst }) => (worst[thing] === null ? [] : [worst[thing]]));
  if (grades.length === 0) return null;
  return thing === "wall" ? grades[grades.length - 1] : Math.max(...grades);
}

/** The hottest place, °C. @param {CandleResult} candle */
export function hottestOf({ sittings }) {
  const read = sittings.flatMap(({ hottest_c }) => hottest_c ?? []);
  return read.length > 0 ? Math.max(...read) : null;
}

// ---- the pool --------------------------------------------------------------------------------------

/** Hours by which the pool is due at the wall: about one an inch, and no later than a sitting ends.
 * @param {Asked} asked */
export const dueH = ({ width_mm }) => Math.min(SITTING.value, fullPoolByH(width_mm));

/** Minutes on the clock are not counted where a mark is due. */
const ABOUT_H = 0.1;

/** A mark comes every hour, or she looks a little late: what is seen later says nothing of the due hour. */
const LATEST_H = 1.25;

/** The first look at the pool from the due hour on. @param {SittingResult} sitting @param {Asked} asked */
function dueLook({ pools }, asked) {
  return pools.find(({ h }) => h >= dueH(asked) - ABOUT_H) ?? null;
}

/**
 * Whether the pool came to the wall: 'in time' where the first look from the due hour on found it there, 'late' where a
 * later one did, 'never' where none did. Of several sittings what half of them say; null where none went on for long
 * enough to tell. @param {CandleResult} candle @param {Asked} asked
 * @returns {"in time" | "late" | "never" | null}
 */
export function poolOf({ sittings }, asked) {
  let told = 0;
  let inTime = 0;
  let never = 0;
  for (const sitting of sittings) {
    const look = dueLook(sitting, asked);
    const wasLate = look !== null && !look.full && (sitting.full_h === null || look.h < sitting.full_h);
    if (sitting.full_h === null && !wasLate) continue;
    told += 1;
    if (sitting.full_h === null) never += 1;
    else if (!wasLate) inTime += 1;
  }
  if (told === 0) return null;
  if (2 * inTime >= told) return "in time";
  return 2 * never > told ? "never" : "late";
}

/** Hours until the pool was at the wall, the mean of the sittings that saw it there. @param {CandleResult} candle */
export function fullOf({ sittings }) {
  return meanOrNull(sittings.map(({ full_h }) => full_h));
}

/** Of those that are known; null where none is. @param {(number | null)[]} values */
function meanOrNull(values) {
  const known = values.filter((each) => each !== null);
  return known.length > 0 ? meanOf(known).mean : null;
}

/**
 * How wide the pool was when it was due at the wall, at the look by which `poolOf` judges it; as far as other looks say,
 * where there is none. At the wall it has no more room to show how wide it would be. Of several sittings the middle
 * one's. @param {CandleResult} candle @param {Asked} asked
 * @returns {{low: number, high: number} | null} mm
 */
export function poolAtDue({ sittings }, asked) {
  const due = dueH(asked);
  const told = sittings.flatMap((sitting) => {
    const seen = sitting.pools.flatMap(({ h, mm, full }) => (full || mm !== null ? [{ h, mm: full ? null : mm }] : []));
    const look = dueLook({ ...sitting, pools: sitting.pools.filter(({ mm, full }) => full || mm !== null) }, asked);
    if (look !== null && look.h <= due + LATEST_H) {
      return look.full ? { low: asked.width_mm, high: Infinity } : { low: look.mm ?? 0, high: look.mm ?? Infinity };
    }
    let low = -Infinity;
    let high = Infinity;
    for (const { h, mm } of seen) {
      if (h < due) low = Math.max(low, mm ?? asked.width_mm);
      else if (mm !== null) high = Math.min(high, mm);
    }
    // A pool that grew narrower was misread one of the times.
    if (low > high) [low, high] = [high, low];
    return low === -Infinity && high === Infinity ? [] : [{ low, high }];
  });
  if (told.length === 0) return null;
  const middle = (/** @type {number[]} */ values) => values.sort((a, b) => a - b)[(values.length - 1) >> 1];
  return { low: middle(told.map(({ low }) => low)), high: middle(told.map(({ high }) => high)) };
}

/** The highest flame as far as it is known: one that ended the candle is above the limit, whatever was measured.
 * @param {CandleResult} candle @returns {{low: number, high: number} | null} mm */
export function flameRange(candle) {
  const { mm, isLow } = flameOf(candle);
  if (isDangerous(candle)) return { low: Math.max(FLAME.value, mm ?? 0), high: Infinity };
  if (mm !== null) return { low: mm, high: mm };
  return isLow ? { low: -Infinity, high: FLAME.value } : null;
}
