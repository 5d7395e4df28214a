/** One shopping list over all that is wanted: what is missing, in the packs that it is bought in, by supplier. Pure. */
import { before } from "./lists.js";
import { keyOf } from "./uses.js";

/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("./missing.js").Missing} Missing */
/** @typedef {import("./stock.js").Shelf} Shelf */
/**
 * @typedef {object} Item
 * @property {string} kind @property {string} id @property {string} name
 * @property {boolean} pieces
 * @property {number} amount grams or pieces that are missing
 * @property {number | null} pack what one bag, bottle or box holds, where she has said
 * @property {number | null} packs how many of these cover it
 * @property {string} order_by the last day to order it
 * @property {number | null} lead_days null: nobody has said how soon it arrives
 * @property {boolean} counted it is counted on the shelf; else some of it may be there
 */
/** @typedef {{supplier: Plain | null, order_by: string, items: Item[]}} Purchase what is bought at one place */

/** @param {Missing[]} missing of all that is wanted @param {Shelf} shelf
 * @returns {Purchase[]} what must be ordered first at the top; of no supplier at the end */
export function shoppingOf(missing, shelf) {
  /** @type {Map<string, {supplier: Plain | null, item: Item}>} */
  const found = new Map();
  for (const { kind, id, name, pieces, amount, order_by, lead_days, supplier, counted } of missing) {
    const key = keyOf({ kind, id });
    const known = found.get(key)?.item;
    if (known) {
      known.amount += amount;
      if (order_by < known.order_by) known.order_by = order_by;
      continue;
    }
    const pack = shelf.materials.get(key)?.record.pack ?? null;
    const item = { kind, id, name, pieces, amount, pack, packs: null, order_by, lead_days, counted };
    found.set(key, { supplier, item });
  }
  /** @type {Map<string, Purchase>} */
  const purchases = new Map();
  for (const { supplier, item } of found.values()) {
    // A millionth less than a pack is what sums leave over.
    if (item.pack !== null && item.pack > 0) item.packs = Math.ceil(item.amount / item.pack - 1e-6);
    const key = supplier?.id ?? "";
    const known = purchases.get(key) ?? { supplier, order_by: item.order_by, items: [] };
    known.items.push(item);
    if (item.order_by < known.order_by) known.order_by = item.order_by;
    purchases.set(key, known);
  }
  const inTurn = (/** @type {{order_by: string}} */ each, /** @type {string} */ name) => `${each.order_by} ${name}`;
  for (const { items } of purchases.values()) items.sort((a, b) => before(inTurn(a, a.name), inTurn(b, b.name)));
  return [...purchases.values()].sort(
    (a, b) =>
      Number(a.supplier === null) - Number(b.supplier === null) ||
      before(inTurn(a, a.supplier?.name), inTurn(b, b.supplier?.name)),
  );
}
