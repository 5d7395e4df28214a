/** What a burn test tells of its wicks, for judging: candle by candle, sitting by sitting. Pure. */
import { GRADED, HOUR_MS } from "./burn_fold.js";

/** @typedef {import("./burn_fold.js").Sitting} Sitting */
/** @typedef {import("./burn_fold.js").Graded} Graded */
/** @typedef {import("./burn_fold.js").Why} Why */
/**
 * @typedef {object} SittingResult
 * @property {number | null} hours from lit to out; null: it still burns
 * @property {number | null} before_g @property {number | null} after_g
 * @property {number | null} full_h after how many hours the pool was first said to be at the wall all round; null: it was
 *   not seen there
 * @property {{h: number, mm: number | null, full: boolean}[]} pools as seen, in order; mm: the mean of its two diameters,
 *   or of the one that was measured
 * @property {{h: number, mm: number | null}[]} flames as seen; null: it was only said to be lower than the limit
 * @property {number | null} flame_mm the highest measured @property {number} flames_low how many were only said to be lower
 * @property {number | null} hottest_c
 * @property {number | null} smoke_s
 * @property {Record<Graded, number | null>} worst that was seen; of wax on the wall, which a pool may still take, the
 *   last; null: it was never looked at
 * @property {number} marks_seen @property {number} marks_due that came while it burned
 */
/**
 * @typedef {object} CandleResult
 * @property {number} candle its index @property {SittingResult[]} sittings
 * @property {Why | null} failed
 * @property {boolean} burned_down to 10 mm of wax left
 * @property {boolean} counts it was not set aside
 */
/** @typedef {{wick: import("./burn_fold.js").TestSheet["wicks"][number], candles: CandleResult[]}} WickResult */

/** By wick, as the sheet names them. @param {Pick<import("./tests.js").BurnTest, "sheet" | "state">} test
 * @returns {WickResult[]} */
export function resultsOf({ sheet, state }) {
  return sheet.wicks.map((wick, index) => ({
    wick,
    candles: state.candles.flatMap((candle, at) =>
      candle.wick === index
        ? [
            {
              candle: at,
              sittings: candle.sittings.filter(({ lit_at }) => lit_at !== null).map(sittingResult),
              failed: candle.failed,
              burned_down: candle.burned_down,
              counts: candle.set_aside === null,
            },
          ]
        : [],
    ),
  }));
}

/** @param {Sitting} sitting that was lit @returns {SittingResult} */
function sittingResult({ lit_at, stopped_at, marks, hours, before_g, after_g, smoke_s }) {
  const seen = marks.flatMap(({ at_ms, seen: of }) =>
    at_ms === null ? [] : [{ h: Math.max(0, at_ms - /** @type {number} */ (lit_at)) / HOUR_MS, ...of }],
  );
  const pools = seen.flatMap(({ h, pool_full, pool_mm, across_mm }) =>
    pool_full || pool_mm !== undefined
      ? [{ h, mm: pool_mm === undefined ? null : (pool_mm + (across_mm ?? pool_mm)) / 2, full: pool_full === true }]
      : [],
  );
  const flames = seen.flatMap(({ h, flame_low, flame_mm }) =>
    flame_low || flame_mm !== undefined ? [{ h, mm: flame_mm ?? null }] : [],
  );
  return {
    hours,
    before_g,
    after_g,
    full_h: pools.find(({ full }) => full)?.h ?? null,
    pools,
    flames,
    flame_mm: highest(flames.map(({ mm }) => mm)),
    flames_low: flames.filter(({ mm }) => mm === null).length,
    hottest_c: highest(seen.map(({ hottest_c }) => hottest_c ?? null)),
    smoke_s,
    worst: {
      .../** @type {Record<Graded, number | null>} */ (
        Object.fromEntries(GRADED.map((what) => [what, highest(seen.map((each) => each[what] ?? null))]))
      ),
      wall: seen.findLast(({ wall }) => wall !== undefined)?.wall ?? null,
    },
    marks_seen: seen.length,
    marks_due: marks.filter(({ due_ms }) => stopped_at === null || due_ms <= stopped_at).length,
  };
}

/** @param {(number | null)[]} values */
function highest(values) {
  return values.reduce((most, value) => (value !== null && (most === null || value > most) ? value : most), null);
}
