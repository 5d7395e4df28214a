/** What was made of a delivery and who may have it; with no signal. */

import { phoneNow } from "../bench/clock.js";
import { batchesFrom, KINDS_OF_TRACE } from "../shelf/read_trace.js";
import { readShelf } from "../shelf/stock.js";
import { sumsOf } from "../shelf/trace.js";
import { localDate } from "../words/dates.js";
import { listed, t } from "../words/door.js";
import { batchCard, readNames, untoldText } from "./batch_lines.js";
import { cloneTemplate, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { amountText } from "./shelf_words.js";

/** @typedef {import("../shelf/trace.js").Sums} Sums */

/** @param {HTMLElement} place @param {string[]} path the lot's id @param {import("./screen.js").Context} context */
export async function show(place, [id], { units, go }) {
  place.append(cloneTemplate("screen-trace"));
  slot(place, "recall").href = `#/recall/new/lot/${id}`;

  return drawOnChange(ofKinds(...KINDS_OF_TRACE, "wanted", "buyer"), async () => {
    const shelf = await readShelf(localDate(phoneNow()), { lots: [id] });
    const lot = shelf.lots.get(id);
    if (lot === undefined) {
      go("shelf");
      return;
    }
    const [batches, names] = await Promise.all([batchesFrom(id), readNames()]);
    const back = slot(place, "back");
    [back.href, back.textContent] = [`#/lot/${id}`, lot.name];
    const material = shelf.materials.get(lot.material);
    setText(slot(place, "name"), t("What was made of {lot}", { lot: lot.name }));
    const sums = sumsOf(batches);
    showFacts(slot(place, "facts"), factsOf(sums, material?.name ?? "", lot.state.withdrawn));
    slot(place, "untold").hidden = sums.untold === 0;
    setText(slot(place, "untold"), untoldText(sums.untold));
    slot(place, "empty").hidden = batches.length > 0;
    slot(place, "recall").hidden = batches.length === 0;
    const pieces = material?.pieces ?? lot.record.by === "pieces";
    const nameOf = (/** @type {string} */ lotId) => shelf.lots.get(lotId)?.name ?? t("a delivery that is not here");
    const cards = batches.map((batch) => {
      const own = batch.amount > 0 && t("{amount} of it", { amount: amountText(batch.amount, pieces, units) });
      const through = batch.through.length > 0 && t("by way of {lots}", { lots: listed(batch.through.map(nameOf)) });
      return batchCard(batch, names, [own, through].filter((each) => each !== false).join(", "));
    });
    replaceKeepingFocus(slot(place, "batches"), ...cards);
  });
}

/** @param {Sums} sums @param {string} material @param {string | null} withdrawn @returns {[string, string][]} */
function factsOf({ made, here, out }, material, withdrawn) {
  return [
    [t("Material"), material],
    [t("It must not be used"), withdrawn ?? t("not said")],
    [t("Candles made"), `**${made}**`],
    [t("Still here"), `**${here}**`],
    [t("Out with others"), `**${out}**`],
  ];
}
