/** What is for sale: the batches with candles on the shelf, what speaks against selling them, and what was sold on a day. */
import { openPours, poursOf } from "../bench/pours.js";
import { ready } from "../formulas/cure.js";
import { effectiveEvents } from "../records/events.js";
import * as store from "../records/store.js";
import { localDate } from "../words/dates.js";
import { currencyOf } from "./candles.js";
import { withCandles } from "./read_candles.js";
import { blocksOf } from "./read_recall.js";
import { standsOf } from "./stock.js";
import { newestFirst, wholeBatch } from "./trace.js";

/** @typedef {import("./trace.js").Batch} Batch */
/** @typedef {import("./read_recall.js").Block} Block */
/** @typedef {import("../records/event_types.js").BatchEvent} BatchEvent */
/**
 * @typedef {object} Offer a batch with candles on the shelf
 * @property {Batch} batch
 * @property {Block[]} blocks why it may not be sold; none: nothing was said against it
 * @property {string | null} cured_from the day from which it is cured at least, where that is still to come
 * @property {boolean} isClassed a hazard class was worked out for its recipe
 * @property {boolean} isLabelled a label was made for the batch
 */
/** @typedef {{recipe: string, title: string, offers: Offer[]}} Product of one recipe, the oldest batch first */
/** @typedef {{event: Extract<BatchEvent, {type: "sold"}>, batch: Batch}} Sale */

/** The kinds of record that it depends on. */
export const KINDS_FOR_SALE = [
  ...["pour", "batch", "lot", "recall", "buyer", "product", "prices", "made_label", "hazard_finding"],
];

/** @param {string} today ISO 8601 @returns {Promise<{products: Product[], sales: Sale[]}>} `sales` of today, the latest first */
export async function readForSale(today) {
  const [open, recipes, labels, classes] = await Promise.all([
    openPours(),
    store.living("recipe"),
    store.living("made_label"),
    store.living("hazard_finding"),
  ]);
  const known = new Set(open.map(({ id }) => id));
  const rows = await Promise.all(recipes.map(({ id }) => store.settledOf(standsOf(id))));
  const past = rows.flat().flatMap(({ id }) => (known.has(id) ? [] : [id]));
  const pours = [...open, ...(await poursOf([...new Set(past)]))].filter(({ stage }) => stage === "curing");
  const batches = newestFirst((await withCandles(pours)).map(wholeBatch)).reverse();
  const there = batches.filter(({ candles }) => candles.shelf > 0);
  const blocks = await blocksOf(there);
  const labelled = new Set(labels.map(({ pour }) => pour));
  const classed = new Set(classes.map(({ recipe }) => recipe));
  /** @type {Map<string, Product>} */
  const products = new Map();
  for (const batch of there) {
    const { sheet, id, state } = batch.pour;
    /** @type {Product} */
    const product = products.get(sheet.recipe) ?? { recipe: sheet.recipe, title: sheet.title, offers: [] };
    products.set(sheet.recipe, product);
    const from = state.set_on === null ? null : ready(state.set_on, sheet.cure_least_days);
    product.offers.push({
      ...{ batch, blocks: blocks.get(id) ?? [], cured_from: from !== null && from > today ? from : null },
      ...{ isClassed: classed.has(sheet.recipe), isLabelled: labelled.has(id) },
    });
  }
  // What was sold today has opened its batch.
  const sales = batches.flatMap((batch) => salesOf(batch, today)).sort((a, b) => b.event.at - a.event.at);
  return { products: [...products.values()].sort((a, b) => a.title.localeCompare(b.title)), sales };
}

/** @param {Batch} batch @param {string} today @returns {Sale[]} */
function salesOf(batch, today) {
  return effectiveEvents("batch", batch.pour.candles ?? []).flatMap((event) =>
    event.type === "sold" && localDate(event.at) === today ? [{ event, batch }] : [],
  );
}

/** What was earned, by currency: amounts of two currencies are never added. @param {Sale[]} sales
 * @returns {Map<string, number>} whole minor units */
export function earned(sales) {
  /** @type {Map<string, number>} */
  const sums = new Map();
  for (const { event } of sales) {
    if (typeof event.price !== "number") continue;
    const currency = currencyOf(event);
    sums.set(currency, (sums.get(currency) ?? 0) + event.price * event.n);
  }
  return sums;
}
