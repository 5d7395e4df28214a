/** On a pour's page: where its candles are, and what was left in the jug, which may be melted again. */
import { phoneNow } from "../bench/clock.js";
import * as store from "../records/store.js";
import { codeOf } from "../shelf/batches.js";
import { candlesOf } from "../shelf/candles.js";
import { withCandles } from "../shelf/read_candles.js";
import { allLeft } from "../shelf/read_trace.js";
import { localDate } from "../words/dates.js";
import { t } from "../words/door.js";
import { askInBox } from "./ask_in_box.js";
import { factsOf } from "./candles.js";
import { h, replaceKeepingFocus, showFacts, slot } from "./dom.js";
import { readLike } from "./quantity_box.js";
import { tryToKeep } from "./screen.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** @param {HTMLElement} place @param {Pour} pour @param {DisplayUnits} units */
export async function drawCandles(place, pour, units) {
  const section = slot(place, "candles");
  section.hidden = pour.state.finished === null || Boolean(pour.record.deleted);
  if (section.hidden) return;
  const [[whole], left] = await Promise.all([withCandles([pour]), allLeft()]);
  showFacts(slot(place, "candle_facts"), factsOf(candlesOf(whole)));
  slot(place, "inside").href = `#/candle/${codeOf(pour) ?? pour.id}`;
  slot(place, "life").href = `#/candles/${pour.id}`;
  replaceKeepingFocus(slot(place, "left"), ...leftLine(pour, left, units));
}

/** What is left of it as a delivery, or the way to make it one. @param {Pour} pour @param {Map<string, string>} left
 * @param {DisplayUnits} units @returns {HTMLElement[]} */
function leftLine(pour, left, units) {
  const [lot] = [...left].find(([, of]) => of === pour.id) ?? [];
  if (lot) return [h("a", { class: "quiet small", href: `#/lot/${lot}` }, t("What was left of it"))];
  const wax = pour.sheet.waxes[0]?.id;
  if (pour.state.finished?.rest !== "kept" || !wax) return [];
  const keep = async () => {
    const question = t("How much was left in the jug?");
    const read = (/** @type {string} */ text) => readLike("lot", "amount_g", text, units);
    const amount_g = await askInBox(question, "", read);
    if (amount_g === null) return;
    await tryToKeep(() =>
      store.save("lot", store.newId(), {
        ...{ material: ["wax", wax], by: "weight", amount_g, left_of: pour.id },
        // It was paid for with the wax of this pour.
        ...{ paid: 0, name: codeOf(pour) ?? pour.id, received_on: localDate(phoneNow()) },
      }),
    );
  };
  const label = t("Put what was left on the shelf");
  return [h("button", { type: "button", class: "quiet small", "data-key": "left", onclick: () => void keep() }, label)];
}
