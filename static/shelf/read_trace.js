/** What a trace rests on, read from the store: no more than what it reaches. */
import { ofEach, openPours, poursOf } from "../bench/pours.js";
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
  const [left, open] = await Promise.all([allLeft(), openPours()]);
  const known = new Map(readable(open).map((pour) => [pour.id, pour]));
  const asked = new Set();
  for (let next = [lot]; next.length > 0; ) {
    for (const id of next) asked.add(id);
    const rows = await settledFrom(next);
    for (const pour of readable(await poursOf(rows.map(({ id }) => id).filter((id) => !known.has(id)))))
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
  const ids = what === "pour" ? [id] : (await store.living("pour")).flatMap(ofRecipe(id));
  return newestFirst((await withCandles(readable(await poursOf(ids)))).map(wholeBatch));
}

/** Every delivery that is in a batch, with those of what was melted again. @param {Pour} pour
 * @param {Map<string, string>} [given] as `allLeft` reads it @returns {Promise<Parent[]>} */
export async function lotsBehind(pour, given) {
  const left = given ?? (await allLeft());
  const known = new Map([[pour.id, pour]]);
  for (let next = [pour]; next.length > 0; ) {
    const before = next.flatMap((each) => [...lotsIn(each)].flatMap((lot) => left.get(lot) ?? []));
    next = readable(await poursOf([...new Set(before)].filter((id) => !known.has(id))));
    for (const each of next) known.set(each.id, each);
  }
  return parentsOf(pour, known, left);
}

/** Which deliveries are what was left of a pour. @returns {Promise<Map<string, string>>} */
export async function allLeft() {
  const rows = await Promise.all([store.unsettled("lot"), store.settledOf(LEFT)]);
  return leftOf(await store.livingOf("lot", [...new Set(rows.flat().map(({ id }) => id))]));
}

/** One whose sheet makes no sense took nothing that can be told. @param {Pour[]} pours */
const readable = (pours) => ofEach(pours, (pour) => (lotsIn(pour) ? [pour] : []));

/** @param {string} recipe @returns {(record: Plain) => string[]} */
const ofRecipe =
  (recipe) =>
  ({ id, sheet }) =>
    sheet?.recipe === recipe ? [id] : [];
