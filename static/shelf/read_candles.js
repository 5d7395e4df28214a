/** What happened to the candles of pours, read beside them. */
import * as store from "../records/store.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */

/** Pours with what happened to their candles. @param {Pour[]} pours @returns {Promise<Pour[]>} */
export async function withCandles(pours) {
  const candles = await Promise.all(pours.map(({ id }) => store.events("batch", id)));
  return pours.map((pour, index) => ({ ...pour, candles: candles[index] }));
}
