/** Reading what looking back needs: of settled pours what was kept of them, of the others what follows from their events. */
import { isOnBench, ofEach, openPours } from "../bench/pours.js";
import * as store from "../records/store.js";
import { backOf, backTold } from "./back_told.js";
import { withCandles } from "./read_candles.js";

/** @typedef {import("./back_told.js").Told} Told */

/** The pours of some years that have left the bench, and those of which candles went in these years.
 * @param {string[] | null} years such as '2026'; null: all @returns {Promise<Told[]>} */
export async function readBack(years) {
  const [rows, pours] = await Promise.all([
    Promise.all((years ?? [undefined]).map((year) => store.settledOf(backOf(year)))),
    openPours().then(withCandles),
  ]);
  const settled = new Map(rows.flat().map(({ id, back }) => [id, /** @type {Told} */ (back)]));
  return [...settled.values(), ...ofEach(pours, (pour) => (isOnBench(pour) ? [] : [backTold(pour)]))];
}
