/** A pour's cost beside what was expected, with what is kept of prices. */
import * as store from "../records/store.js";
import { averagesOf, costOf, expectedOf, unpricedOf } from "./cost.js";
import { readShelf } from "./stock.js";
import { pinnedOf, usesOf } from "./uses.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("./cost.js").Prices} Prices */
/** @typedef {import("./stock.js").Shelf} Shelf */

/** The shelf, with all lots that a pour has to do with. @param {Pour} pour @param {string} today ISO 8601 */
export function readShelfOf(pour, today) {
  const pinned = pinnedOf(pour.record).flatMap(({ lots }) => lots.map(({ id }) => id));
  return readShelf(today, { lots: [...usesOf(pour).flatMap(({ lot }) => lot ?? []), ...pinned] });
}

/** @returns {Promise<Prices>} her record of money */
export const readPrices = async () => (await store.get("prices", "prices")) ?? {};

/** @param {Pour} pour @param {Shelf} shelf as `readShelfOf` reads it @param {Prices} prices */
export async function readCost(pour, shelf, prices) {
  const uses = usesOf(pour);
  const beside = (/** @type {import("./cost.js").Averages} */ averages) => {
    const known = { lots: shelf.lots, averages, prices };
    const cost = costOf({ pour, uses, ...known });
    return { cost, expected: expectedOf(pour.sheet, { cost, pinned: pinnedOf(pour.record), ...known }) };
  };
  const found = beside(new Map());
  const lacking = unpricedOf(found.cost, found.expected);
  if (lacking.length === 0) return found;
  const started_ms = Number.isFinite(pour.record.started_at) ? pour.record.started_at : Infinity;
  const materials = await Promise.all(lacking.map((key) => wholeMaterial(key, shelf)));
  return beside(averagesOf(materials.flat(), prices, started_ms));
}

/** A material with all lots that there ever were of it: those that are used up make up its average as well.
 * @param {string} key @param {Shelf} shelf */
async function wholeMaterial(key, shelf) {
  const past = await store.settledOf(key);
  const whole = past.length > 0 ? await readShelf(shelf.today, { material: key }) : shelf;
  return whole.materials.get(key) ?? [];
}
