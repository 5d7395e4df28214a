/** The candles of a recipe that stand ready, cure or are on the bench. Pure. */
import { filledOf } from "../bench/fold.js";
import { ofEach } from "../bench/pours.js";
import { ready } from "../formulas/cure.js";
import { candlesOf } from "./candles.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../formulas/backwards.js").Batch} Batch */
/** @typedef {{best_days: number, least_days: number, label_days: number}} Days until candles are ready */

/**
 * @param {Pour[]} pours @param {{id: string, vessel: string}} recipe @param {Days} days as the recipe has them, for
 *   older pours that don't say them @param {string} today ISO 8601
 * @returns {Batch[]} those of the recipe's own vessel; a pour on the bench as if it were set aside today
 */
export function batchesOf(pours, recipe, days, today) {
  return ofEach(pours, (pour) => {
    const { sheet, state, id } = pour;
    if (sheet.recipe !== recipe.id) return [];
    const n = Math.min(standing(pour), ofVessel(sheet, recipe.vessel));
    if (n <= 0) return [];
    const on = state.set_on ?? today;
    const label_days = sheet.label_days ?? days.label_days;
    const after = (/** @type {number} */ cure_days) => ready(on, Math.max(cure_days, label_days));
    return [
      {
        id,
        group: recipe.id,
        n,
        best_on: after(sheet.cure_best_days ?? days.best_days),
        least_on: after(sheet.cure_least_days ?? days.least_days),
      },
    ];
  });
}

/** How many candles of a pour are there, or are to come of it. @param {Pour} pour */
export function standing(pour) {
  const { state, stage } = pour;
  if (stage === "abandoned") return 0;
  if (stage === "curing") {
    const { shelf, withdrawn } = candlesOf(pour);
    return withdrawn === null ? shelf : 0;
  }
  const { filled } = filledOf(state);
  return stage === "setting" ? filled : filled + state.jugs.reduce((sum, { open }) => sum + open.length, 0);
}

/** Of further sizes in the same pour none will do. @param {Pour["sheet"]} sheet @param {string} vessel the recipe's */
function ofVessel({ sizes }, vessel) {
  // Older sheets don't say which vessel it was.
  const same = sizes.filter(({ id }) => id === null || id === vessel);
  return same.reduce((sum, { count }) => sum + count, 0);
}

/** How many candles went out for each thing that was wanted, by its id. @param {Pour[]} pours @returns {Map<string, number>} */
export function handedOut(pours) {
  /** @type {Map<string, number>} */
  const found = new Map();
  for (const { n, wanted } of pours.flatMap((pour) => candlesOf(pour).out)) {
    if (wanted) found.set(wanted, (found.get(wanted) ?? 0) + n);
  }
  return found;
}
