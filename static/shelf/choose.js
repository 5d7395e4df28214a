/** Which lots a pour is to come from, and how far what is there reaches. Pure. */
import { mayBeUsed } from "./stock.js";
import { keyOf } from "./uses.js";

/** @typedef {import("../bench/sheet.js").Sheet} Sheet */
/** @typedef {import("./stock.js").Shelf} Shelf */
/** @typedef {import("./stock.js").Lot} Lot */
/** @typedef {import("./uses.js").Pinned} Pinned */
/** @typedef {{kind: string, id: string, name: string, amount: number, fixed: number, each?: number}} Need grams or pieces;
 *   `fixed` of it is needed however many are poured, as what clings to the jug; `each`: of packaging, for one candle */
/**
 * @typedef {object} Choice
 * @property {Need} need
 * @property {Lot[]} lots those that may be chosen, in the order in which they are used up
 * @property {Pinned} pinned what is to come from which
 * @property {number} missing grams or pieces; 0: there is enough
 */

/** What a sheet needs of each material that is kept, the same material once.
 * @param {Sheet} sheet @param {{packaging?: {packaging: string, count: number}[]}} recipe
 * @param {(kind: string, id: string) => string | undefined} nameOf of packaging @returns {Need[]} */
export function needsOf(sheet, recipe, nameOf) {
  const { jugs, sizes, wick, waxes, oils, extras, count } = sheet;
  /** @type {Map<string, Need>} */
  const needs = new Map();
  const add = (/** @type {Omit<Need, "id"> & {id: string | null}} */ need) => {
    if (!need.id || need.amount <= 0) return;
    const key = keyOf(need);
    const known = needs.get(key);
    if (known === undefined) needs.set(key, { ...need, id: need.id });
    else Object.assign(known, { amount: known.amount + need.amount, fixed: known.fixed + need.fixed });
  };
  for (const [kind, parts, targets] of /** @type {const} */ ([
    ["wax", waxes, "waxes"],
    ["fragrance", oils, "fragrances"],
    ["additive", extras, "additives"],
  ])) {
    parts.forEach(({ id, name }, index) => {
      let amount = 0;
      for (const jug of jugs) amount += jug[targets][index]?.target_g ?? 0;
      let stays = 0;
      for (const jug of jugs) stays += jug.stays_g;
      // Of what clings to the jug this is its part.
      const whole = jugs.reduce((sum, jug) => sum + jug.wax_g + jug.fragrance_g, 0);
      add({ kind, id, name, amount, fixed: whole > 0 ? (stays * amount) / whole : 0 });
    });
  }
  for (const size of sizes) add({ kind: "vessel", id: size.id, name: size.name, amount: size.count, fixed: 0 });
  if (wick) add({ kind: "wick", ...wick, amount: count, fixed: 0 });
  for (const { packaging: id, count: each } of recipe.packaging ?? []) {
    const name = nameOf("packaging", id);
    if (name !== undefined) add({ kind: "packaging", id, name, amount: each * count, fixed: 0, each });
  }
  return [...needs.values()];
}

/** What a material is called on a shelf. @param {Shelf} shelf @returns {(kind: string, id: string) => string | undefined} */
export const namesOn = (shelf) => (kind, id) => shelf.materials.get(keyOf({ kind, id }))?.name;

/**
 * The lots for each need: that which she chose first, then as the shelf has them.
 * @param {Need[]} needs @param {Shelf} shelf @param {Map<string, string>} [chosen] by material, the lot to begin with
 * @returns {Choice[]} of the materials that have had lots
 */
export function chooseLots(needs, shelf, chosen = new Map()) {
  return needs.flatMap((need) => {
    const material = shelf.materials.get(keyOf(need));
    if (material === undefined || material.lots.length === 0) return [];
    const first = chosen.get(keyOf(need));
    const there = material.lots.filter(({ state, id }) => state.here > 0 || id === first);
    const lots = [...there.filter(({ id }) => id === first), ...there.filter(({ id }) => id !== first)];
    const { kind, id, name, each, amount } = need;
    let left = amount;
    const drawn = [];
    for (const lot of lots) {
      // What is withdrawn or expired is taken where she says so, and never to make up for what is missing.
      if (left <= 0 || !(mayBeUsed(lot, shelf.today) || lot.id === first)) continue;
      const take = Math.min(left, Math.max(0, lot.state.here));
      if (take > 0) drawn.push({ id: lot.id, name: lot.name, amount: take });
      left -= take;
    }
    const pinned = { kind, id, name, ...(each !== undefined && { each }), lots: drawn };
    return [{ need, lots, pinned, missing: Math.max(0, left) }];
  });
}

/** What a pour of these needs pins at its start: also what has no lot. @param {Need[]} needs @param {Choice[]} choices
 * @returns {Pinned[]} */
export function pinsOf(needs, choices) {
  return needs.map((need) => {
    const { kind, id, name, each } = need;
    const chosen = choices.find((choice) => choice.need === need);
    return chosen?.pinned ?? { kind, id, name, ...(each !== undefined && { each }), lots: [] };
  });
}

/** How many of the same would come of what is there, and which material runs out first.
 * @param {Choice[]} choices @param {Shelf} shelf @param {number} count that was planned
 * @returns {{count: number, first: Need} | null} null: no material is counted */
export function howMany(choices, shelf, count) {
  let least = /** @type {{count: number, first: Need} | null} */ (null);
  for (const { need } of choices) {
    const here = shelf.materials.get(keyOf(need))?.here ?? 0;
    const each = (need.amount - need.fixed) / count;
    const reaches = Math.max(0, Math.floor((here - need.fixed) / each + 1e-9));
    if (least === null || reaches < least.count) least = { count: reaches, first: need };
  }
  return least;
}
