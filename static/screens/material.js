/** One material: what is there of it, lot by lot. */
import { phoneNow } from "../bench/clock.js";
import * as store from "../records/store.js";
import { MATERIALS } from "../shelf/lots.js";
import { readShelf } from "../shelf/stock.js";
import { keyOf } from "../shelf/uses.js";
import { dayText, localDate } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { card, chip, cloneTemplate, replaceKeepingFocus, setText, showCautions, showFacts, slot } from "./dom.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { amountText, farDay, keepsText, lotCautions } from "./shelf_words.js";

/** @typedef {import("../shelf/stock.js").Lot} Lot */
/** @typedef {import("../shelf/stock.js").Material} Material */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** @param {HTMLElement} place @param {string[]} path kind and id @param {import("./screen.js").Context} context */
export async function show(place, [kind, id], { units, go }) {
  place.append(cloneTemplate("screen-material"));
  slot(place, "edit").href = `#/edit/${kind}/${id}`;
  slot(place, "receive").href = `#/edit/lot/new/material/${kind}/${id}`;
  return drawOnChange(ofKinds("lot", "pour", "supplier", ...MATERIALS), async () => {
    const shelf = await readShelf(localDate(phoneNow()), { material: keyOf({ kind, id }) });
    const material = shelf.materials.get(keyOf({ kind, id }));
    if (material === undefined) {
      go("shelf");
      return;
    }
    setText(slot(place, "name"), material.name);
    const supplier = material.record.supplier && (await store.get("supplier", material.record.supplier));
    showFacts(slot(place, "facts"), factsOf(material, supplier?.name, units));
    const open = material.lots.filter(({ is_open }) => is_open);
    const empty = material.lots.filter(({ is_open }) => !is_open);
    showCautions(
      slot(place, "cautions"),
      open.flatMap((lot) => lotCautions(lot, shelf.today)),
    );
    replaceKeepingFocus(slot(place, "lots"), ...open.map((lot) => lineOf(lot, material, shelf.today, units)));
    slot(place, "empties").hidden = empty.length === 0;
    setText(slot(place, "many"), plural(empty.length, "{n} that is used up", "{n} that are used up"));
    replaceKeepingFocus(slot(place, "gone"), ...empty.map((lot) => lineOf(lot, material, shelf.today, units)));
    slot(place, "unknown").hidden = material.unknown.length === 0 || material.lots.length === 0;
    replaceKeepingFocus(slot(place, "pours"), ...unknownLines(material, units));
  });
}

/** @param {Material} material @param {string | undefined} supplier @param {DisplayUnits} units
 * @returns {[string, string][]} */
function factsOf({ here, pieces, record }, supplier, units) {
  const text = (/** @type {number} */ amount) => amountText(amount, pieces, units);
  /** @type {[string, string][]} */
  const facts = [[t("There is"), `**${text(here)}**`]];
  if (typeof record.reorder_at === "number") facts.push([t("Time to order below"), text(record.reorder_at)]);
  if (supplier) facts.push([t("Supplier"), supplier]);
  if (typeof record.pack === "number") facts.push([t("Bought in"), text(record.pack)]);
  return facts;
}

/** @param {Lot} lot @param {Material} material @param {string} today @param {DisplayUnits} units */
function lineOf(lot, { pieces }, today, units) {
  const { state } = lot;
  const keeps = keepsText(lot, today);
  const bad = state.withdrawn !== null || (state.expires_on !== null && state.expires_on < today);
  const came = t("came {day}", { day: farDay(lot.record.received_on, today) });
  return card({
    href: state.counted_wrong ? `#/lot/${lot.id}/count` : `#/lot/${lot.id}`,
    name: lot.name,
    line: bad || keeps === "" ? came : `${came}, ${keeps}`,
    chip: state.counted_wrong ? chip(t("counted wrong?"), "past") : bad && chip(keeps, "past"),
    right: amountText(state.here, pieces, units),
  });
}

/** Pours that took some, and did not say of which lot. @param {Material} material @param {DisplayUnits} units */
function unknownLines({ unknown, pieces }, units) {
  /** @type {Map<string, {title: string, at_ms: number, amount: number}>} */
  const pours = new Map();
  for (const { pour, title, at_ms, amount } of unknown) {
    pours.set(pour, { title, at_ms, amount: amount + (pours.get(pour)?.amount ?? 0) });
  }
  return [...pours].map(([pour, { title, at_ms, amount }]) =>
    card({
      href: `#/entry/${pour}`,
      name: title,
      line: dayText(localDate(at_ms)),
      right: amountText(amount, pieces, units),
    }),
  );
}
