/**
 * What a trace rests on, read from the store: no more than what it reaches. What was deleted is followed like the rest:
 * its candles may be out with somebody.
 */
import { foldAll, folded, ofEach } from "../bench/pours.js";
import { plainOf } from "../records/merge.js";
import { settledFrom } from "../records/settling.js";
import * as store from "../records/store.js";
import { withCandles } from "./read_candles.js";
import { LEFT, leftOf, lotsIn, madeOf, newestFirst, parentsOf, wholeBatch } from "./trace.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("./trace.js").Batch} Batch */
/** @typedef {import("./trace.js").Parent} Parent */
/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {"lot" | "pour" | "recipe"} What can be followed */

/** The kinds of record that a trace depends on. */
export const KINDS_OF_TRACE = ["lot", "pour", "batch"];

/** The batches that a delivery is in, the newest first. @param {string} lot its id @returns {Promise<Batch[]>} */
export async function batchesFrom(lot) {
  const [left, open] = await Promise.all([allLeft(), store.unsettled("pour")]);
  const known = new Map((await poursKept(open.map(({ id }) => id))).map((pour) => [pour.id, pour]));
  const asked = new Set();
  for (let next = [lot]; next.length > 0; ) {
    for (const id of next) asked.add(id);
    const rows = await settledFrom(next);
    for (const pour of await poursKept(rows.map(({ id }) => id).filter((id) => !known.has(id))))
      known.set(pour.id, pour);
    next = [...left].flatMap(([id, pour]) => (known.has(pour) && !asked.has(id) ? [id] : []));
  }
  const reached = madeOf(lot, [...known.values()], left).map(({ pour }) => pour);
  return madeOf(lot, await withCandles(reached), left);
}

/** The batches of a delivery, of a pour or of a recipe, the newest first.
 * @param {What} what @param {string} id @returns {Promise<Batch[]>} */
export async function batchesOf(what, id) {
  if (what === "lot") return batchesFrom(id);
  const ids = what === "pour" ? [id] : await idsOfRecipe(id);
  return newestFirst((await withCandles(await poursKept(ids))).map(wholeBatch));
}

/** Every delivery that is in a batch, with those of what was melted again. @param {Pour} pour
 * @param {Map<string, string>} [given] as `allLeft` reads it @returns {Promise<Parent[]>} */
export async function lotsBehind(pour, given) {
  const left = given ?? (await allLeft());
  const known = new Map([[pour.id, pour]]);
  for (let next = [pour]; next.length > 0; ) {
    const before = next.flatMap((each) => [...lotsIn(each)].flatMap((lot) => left.get(lot) ?? []));
    next = await poursKept([...new Set(before)].filter((id) => !known.has(id)));
    for (const each of next) known.set(each.id, each);
  }
  return parentsOf(pour, known, left);
}

/** Which deliveries are what was left of a pour. @returns {Promise<Map<string, string>>} */
export async function allLeft() {
  const rows = await Promise.all([store.unsettled("lot"), store.settledOf(LEFT)]);
  return leftOf(await recordsKept("lot", [...new Set(rows.flat().map(({ id }) => id))]));
}

/** Some pours, deleted ones too. One whose sheet makes no sense took nothing that can be told.
 * @param {string[]} ids @returns {Promise<Pour[]>} */
export async function poursKept(ids) {
  return ofEach(await foldAll(await recordsKept("pour", ids), folded), (pour) => (lotsIn(pour) ? [pour] : []));
}

/** Records of a kind, deleted ones too, as far as they are here. @param {string} kind @param {string[]} ids
 * @returns {Promise<Plain[]>} */
export async function recordsKept(kind, ids) {
  return (await store.stored(ids.map((id) => [kind, id]))).map(plainOf);
}

/** @param {string} recipe its id @returns {Promise<string[]>} ids of its pours, deleted ones too */
async function idsOfRecipe(recipe) {
  const { living, gone } = await store.apart("pour");
  return [...living, ...gone].flatMap(({ id, sheet }) => (sheet?.recipe === recipe ? [id] : []));
}
