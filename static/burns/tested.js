/** Whether a recipe was tested as it is now: what its tests say of it, and what was changed since. Pure. */
import { resultsOf } from "./results.js";

/** @typedef {import("../bench/mixing.js").Fields} Fields */
/** @typedef {import("../bench/mixing.js").Mix} Mix */
/** @typedef {import("./burn_fold.js").TestSheet} TestSheet */
/** @typedef {import("./candle_facts.js").WickResult} WickResult */
/** @typedef {"small" | "large" | "right" | "unknown"} Verdict */
/** @typedef {"vessel" | "wax" | "fragrance" | "load" | "wick"} Changed what is not as it was tested */
/**
 * @template T
 * @typedef {object} Judged a test as it is judged: of each wick of its sheet, in that order, what came of it
 * @property {string} id
 * @property {TestSheet} sheet
 * @property {{verdict: Verdict, told: T}[]} wicks `told`: whatever is to be handed on
 */
/**
 * @template T
 * @typedef {object} Tested
 * @property {"right" | "wrong" | "open"} came of the recipe's wick, or of the test where it has none of it
 * @property {Changed[]} changed empty: it is as it was tested
 * @property {Judged<T>} test
 * @property {number | null} wick which of the test's is the recipe's; null: none
 */

/** Loads and shares closer than this are one. */
const SAME = 0.0005;

/**
 * What tests say of a recipe: of one that is as it was tested, before one that was changed since; of those, one that it
 * passed, before one that it failed, before one that says nothing yet; the newest first.
 * @template T @param {Fields} recipe @param {Pick<Mix, "waxes" | "oils" | "load">} mix what it is made of now
 * @param {Judged<T>[]} tests newest first @returns {Tested<T> | null} null: it was never tested
 */
export function testedOf(recipe, mix, tests) {
  const found = tests
    .filter(({ sheet }) => sheet.recipe === recipe.id)
    .map((test) => {
      const at = test.sheet.wicks.findIndex(({ id }) => id === recipe.wick);
      const wick = at < 0 ? null : at;
      const changed = changesSince(recipe, mix, test.sheet);
      return { came: cameOf(test, wick), changed, test, wick };
    });
  const order = ["right", "wrong", "open"];
  const rank = (/** @type {Tested<T>} */ { came, changed }) => (changed.length > 0 ? 3 : 0) + order.indexOf(came);
  return found.reduce(
    (best, each) => (best === null || rank(each) < rank(best) ? each : best),
    /** @type {Tested<T> | null} */ (null),
  );
}

/** @template T @param {Judged<T>} test @param {number | null} wick @returns {Tested<T>["came"]} */
function cameOf({ wicks }, wick) {
  const verdicts = wick === null ? wicks.map(({ verdict }) => verdict) : [wicks[wick].verdict];
  if (verdicts.includes("right")) return "right";
  return verdicts.every((verdict) => verdict === "small" || verdict === "large") ? "wrong" : "open";
}

/**
 * What of a recipe is not as it was in a test. Less fragrance than was tested is taken for no change (our choice).
 * @param {Fields} recipe @param {Pick<Mix, "waxes" | "oils" | "load">} mix @param {TestSheet} sheet @returns {Changed[]}
 */
export function changesSince(recipe, mix, sheet) {
  /** @type {[Changed, boolean][]} */
  const changes = [
    ["vessel", recipe.vessel !== sheet.vessel.id],
    ["wax", !isSameBlend(mix.waxes, sheet.waxes)],
    ["fragrance", mix.load > SAME && !isSameBlend(mix.oils, sheet.oils)],
    ["load", mix.load > sheet.load + SAME],
    ["wick", !sheet.wicks.some(({ id }) => id === recipe.wick)],
  ];
  return changes.flatMap(([what, is]) => (is ? [what] : []));
}

/** @param {import("../bench/mixing.js").Part[]} now @param {import("../bench/mixing.js").Part[]} then */
function isSameBlend(now, then) {
  const shares = new Map(then.map(({ id, share }) => [id, share]));
  return now.length === then.length && now.every(({ id, share }) => Math.abs((shares.get(id) ?? -1) - share) <= SAME);
}

/**
 * What was burned in a test and in all others of the same candle, wick by wick: the same vessel, width, wax, fragrance and
 * load. Candles of a wick that several tests have are put together.
 * @template {{sheet: TestSheet, state: import("./burn_fold.js").TestState}} T @param {T} test @param {T[]} others
 * @returns {WickResult[]}
 */
export function alikeResults(test, others) {
  /** @type {Map<string, WickResult>} */
  const found = new Map();
  for (const each of [test, ...others.filter(({ sheet }) => isAlike(sheet, test.sheet))])
    for (const { wick, candles } of resultsOf(each)) {
      const before = found.get(wick.id)?.candles ?? [];
      found.set(wick.id, { wick, candles: [...before, ...candles] });
    }
  return [...found.values()];
}

/** Widths that differ by less were measured alike, mm. */
const SAME_MM = 1;

/** Whether candles of two tests are the same but for their wicks. @param {TestSheet} a @param {TestSheet} b */
function isAlike(a, b) {
  return (
    a.vessel.id === b.vessel.id &&
    Math.abs(a.width_mm - b.width_mm) <= SAME_MM &&
    Math.abs(a.load - b.load) <= SAME &&
    isSameBlend(a.waxes, b.waxes) &&
    isSameBlend(a.oils, b.oils)
  );
}
