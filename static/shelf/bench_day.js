/** A day at the bench: what is poured on it, in an order that spares washing jugs, and about when. Pure. */
import { mixOf } from "../bench/mixing.js";
import { before } from "./lists.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("./wanted.js").Order} Order */
/**
 * @typedef {object} DayPour
 * @property {Plain} recipe
 * @property {number} count @property {number} jugs
 * @property {Plain[]} wanted what it is for
 * @property {number} load fraction of the wax @property {boolean} dyed
 * @property {string} wax what it is mostly made of, by name
 * @property {number} start_ms @property {number} end_ms about
 * @property {Took} took how long it is reckoned to take
 */
/** @typedef {{took_s: number, pours: number}} Took how long a pour takes; `pours`: of how many that is the median, 0 where
 *   none has told */

/** How long a pour takes as long as none has told (our choice). */
export const USUAL_TOOK_S = 2 * 3600;

/** A pour that took longer was left and taken up again. */
const MOST_TOOK_S = 12 * 3600;

/** From ready to set aside: the median of her past pours of a recipe, else of all. @param {Pour[]} pours @param {string} recipe
 * @returns {Took} */
export function tookOf(pours, recipe) {
  const took = pours.flatMap(({ sheet, state: { ready_at, set_at } }) => {
    const took_s = ready_at === null || set_at === null ? 0 : (set_at - ready_at) / 1000;
    return took_s > 0 && took_s <= MOST_TOOK_S ? [{ recipe: sheet.recipe, took_s }] : [];
  });
  const own = took.filter((each) => each.recipe === recipe);
  const counted = (own.length > 0 ? own : took).map(({ took_s }) => took_s).sort((a, b) => a - b);
  if (counted.length === 0) return { took_s: USUAL_TOOK_S, pours: 0 };
  const half = counted.length >> 1;
  const took_s = counted.length % 2 ? counted[half] : (counted[half - 1] + counted[half]) / 2;
  return { took_s, pours: counted.length };
}

/**
 * @param {Order[]} orders @param {string} day ISO 8601 @param {number} from_ms when she starts
 * @param {{materials: import("../bench/mixing.js").Materials, pours: Pour[]}} kept
 * @returns {DayPour[]} in the order to pour them in
 */
export function dayOf(orders, day, from_ms, { materials, pours }) {
  /** @type {Map<string, DayPour>} */
  const found = new Map();
  for (const { record, recipe, days } of orders) {
    for (const { jugs, n } of days.filter((each) => each.day === day)) {
      if (recipe === null) continue;
      const known = found.get(recipe.id);
      if (known) {
        known.count += n;
        known.jugs += jugs;
        known.wanted.push(record);
        continue;
      }
      const { load, extras, waxes } = mixOf(recipe, materials);
      const most = waxes.reduce((first, each) => (each.share > first.share ? each : first));
      const made = { load, dyed: extras.length > 0, wax: most.name };
      found.set(recipe.id, {
        recipe,
        count: n,
        jugs,
        wanted: [record],
        ...made,
        start_ms: 0,
        end_ms: 0,
        took: tookOf(pours, recipe.id),
      });
    }
  }
  const turns = inTurn([...found.values()]);
  let at_ms = from_ms;
  for (const pour of turns) {
    pour.start_ms = at_ms;
    at_ms += 1000 * pour.took.took_s;
    pour.end_ms = at_ms;
  }
  return turns;
}

/** The same wax together; in it what has no dye first, unscented and light loads before heavy ones. The waxes in the
 * order of their lightest pour. @param {DayPour[]} pours */
function inTurn(pours) {
  const weight = (/** @type {DayPour} */ { dyed, load }) => (dyed ? 1 : 0) + load;
  /** @type {Map<string, number>} */
  const lightest = new Map();
  for (const pour of pours) lightest.set(pour.wax, Math.min(lightest.get(pour.wax) ?? Infinity, weight(pour)));
  return pours.sort(
    (a, b) =>
      (lightest.get(a.wax) ?? 0) - (lightest.get(b.wax) ?? 0) ||
      before(a.wax, b.wax) ||
      weight(a) - weight(b) ||
      before(a.recipe.id, b.recipe.id),
  );
}
