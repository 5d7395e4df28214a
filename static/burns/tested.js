/** Whether a recipe was tested as it is now: what its tests say of it, and what was changed since. Pure. */

/** @typedef {import("../bench/mixing.js").Fields} Fields */
/** @typedef {import("../bench/mixing.js").Mix} Mix */
/** @typedef {import("./test_sheet.js").TestSheet} TestSheet */
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
