/** Which module shows which address. */
import { openDesk } from "./desk.js";

/** @import { Screen } from "./screens/screen.js" */
/** By the first part of the address. @typedef {Record<string, () => Promise<Screen>>} Screens */

/** From a cold start to a finished pour: in the first pack. @type {Screens} */
const BENCH = {
  today: () => import("./screens/today.js"),
  recipes: () => import("./screens/recipes.js"),
  plan: () => import("./screens/plan.js"),
  pour: () => import("./screens/board.js"),
  trim: () => import("./screens/trim.js"),
};

/** All the others: in the second. @type {Screens} */
const DESK = {
  recipe: () => import("./screens/recipe.js"),
  log: () => import("./screens/log.js"),
  entry: () => import("./screens/entry.js"),
  back: () => import("./screens/back.js"),
  price: () => import("./screens/price.js"),
  net: () => import("./screens/net.js"),
  workshop: () => import("./screens/workshop.js"),
  shelf: () => import("./screens/shelf.js"),
  material: () => import("./screens/material.js"),
  lot: () => import("./screens/lot.js"),
  trace: () => import("./screens/trace.js"),
  buyer: () => import("./screens/buyer.js"),
  recall: () => import("./screens/recall.js"),
  candle: () => import("./screens/candle.js"),
  candles: () => import("./screens/candles.js"),
  sell: () => import("./screens/sell.js"),
  wanted: () => import("./screens/wanted.js"),
  shopping: () => import("./screens/shopping.js"),
  day: () => import("./screens/bench_day.js"),
  stocktake: () => import("./screens/stocktake.js"),
  list: () => import("./screens/list.js"),
  edit: () => import("./screens/edit.js"),
  pair: () => import("./screens/pair.js"),
  devices: () => import("./screens/devices.js"),
  history: () => import("./screens/history.js"),
  copies: () => import("./screens/copies.js"),
  tables: () => import("./screens/tables.js"),
  burn: () => import("./screens/burn.js"),
  reminders: () => import("./screens/reminders.js"),
  bench: () => import("./screens/bench_settings.js"),
  tests: () => import("./screens/tests.js"),
  test: () => import("./screens/test.js"),
  new_test: () => import("./screens/new_test.js"),
  scent: () => import("./screens/scent.js"),
  labels: () => import("./screens/labels.js"),
  label: () => import("./screens/label.js"),
  made_label: () => import("./screens/made_label.js"),
  hazard: () => import("./screens/hazard.js"),
  products: () => import("./screens/products.js"),
  product: () => import("./screens/product.js"),
  risk: () => import("./screens/risk.js"),
  complaints: () => import("./screens/complaints.js"),
  complaint: () => import("./screens/complaint.js"),
  storage: () => import("./screens/storage.js"),
};

/** As notifications and calendar files of earlier versions name a screen. @type {Map<string, string>} */
const FORMER = new Map([["finish", "trim"]]);

/** The screen of an address such as '#/entry/k3v9q2ax': its name, the rest of the address, and its module.
 * @param {string} hash @returns {{name: string, path: string[], load: () => Promise<Screen>}} */
export function screenAt(hash) {
  const [first, ...path] = hash.replace(/^#\/?/, "").split("/").map(decoded);
  const named = FORMER.get(first) ?? first;
  if (Object.hasOwn(DESK, named)) return { name: named, path, load: () => desk(DESK[named]) };
  const name = Object.hasOwn(BENCH, named) ? named : "today";
  return { name, path, load: BENCH[name] };
}

/** A module that can't be had now may be remembered as such: the desk itself is asked for first. @param {() => Promise<Screen>} load */
async function desk(load) {
  await openDesk();
  return load();
}

/** @param {string} part */
function decoded(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}
