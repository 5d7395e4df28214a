/** What was made of a delivery and who may have it; with no signal. */

import * as store from "../records/store.js";
import { isPieces, materialOf } from "../shelf/lots.js";
import { withdrawnOf } from "../shelf/read_recall.js";
import { batchesFrom, KINDS_OF_TRACE, recordsKept } from "../shelf/read_trace.js";
import { sumsOf } from "../shelf/trace.js";
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
    const [lot] = await recordsKept("lot", [id]);
    if (lot === undefined) {
      go("shelf");
      return;
    }
    const [kind, of] = materialOf(lot);
    const [batches, names, withdrawn, material] = await Promise.all([
      batchesFrom(id),
      readNames(),
      withdrawnOf("lot", id),
      store.get(kind, of),
    ]);
    const carriers = await recordsKept("lot", [...new Set(batches.flatMap(({ through }) => through))]);
    const namesOfLots = new Map(carriers.map((each) => [each.id, String(each.name ?? "")]));
    const name = String(lot.name ?? "");
    const back = slot(place, "back");
    [back.href, back.textContent] = [`#/lot/${id}`, name];
    setText(slot(place, "name"), t("What was made of {lot}", { lot: name }));
    const sums = sumsOf(batches);
    showFacts(slot(place, "facts"), factsOf(sums, String(material?.name ?? ""), withdrawn));
    slot(place, "untold").hidden = sums.untold === 0;
    setText(slot(place, "untold"), untoldText(sums.untold));
    slot(place, "empty").hidden = batches.length > 0;
    slot(place, "recall").hidden = batches.length === 0;
    const nameOf = (/** @type {string} */ carrier) => namesOfLots.get(carrier) ?? t("a delivery that is not here");
    const cards = batches.map((batch) => {
      const own = batch.amount > 0 && t("{amount} of it", { amount: amountText(batch.amount, isPieces(kind), units) });
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
