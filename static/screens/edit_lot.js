/** What the form of a delivery fills in by itself, and what follows from what is typed. */

import { phoneNow } from "../bench/clock.js";
import { amountOf, isPieces } from "../shelf/lots.js";
import { readShelf } from "../shelf/stock.js";
import { dayText, localDate } from "../words/dates.js";
import { t } from "../words/door.js";
import { boxOf } from "./boxes.js";
import { minorText } from "./cost_words.js";
import { h, showFacts } from "./dom.js";
import { ownField } from "./form_fields.js";
import { amountText } from "./shelf_words.js";

/** @typedef {import("./form_fields.js").DisplayUnits} DisplayUnits */
/** @typedef {import("./form_fields.js").Fields} Fields */

/**
 * Begin a new delivery: today, of the material whose page it was opened from, from whom that usually comes.
 * @param {HTMLFormElement} form @param {string} given 'wax,k3v9q2ax', or empty
 * @param {(kind: string) => Fields[]} others
 */
export function beginLot(form, given, others) {
  const box = (/** @type {string} */ name) => boxOf(/** @type {HTMLElement} */ (ownField(form, name)));
  const offerWay = (/** @type {boolean} */ byHer) => {
    const [kind, id] = box("material").value.split(",");
    if (!id) return;
    const material = others(kind).find((each) => each.id === id);
    const by = /** @type {HTMLSelectElement} */ (box("by"));
    for (const option of by.options) option.hidden = (option.value === "pieces") !== isPieces(kind);
    if (by.selectedOptions[0]?.hidden) by.value = isPieces(kind) ? "pieces" : "weight";
    if (!byHer) return;
    if (kind === "fragrance" && box("density").value === "") box("density").value = String(material?.density ?? "");
    if (box("supplier").value === "") box("supplier").value = material?.supplier ?? "";
  };
  const isNew = box("received_on").value === "";
  if (isNew) box("received_on").value = localDate(phoneNow());
  if (given !== "" && box("material").value === "") box("material").value = given;
  box("material").addEventListener("change", () => offerWay(true));
  offerWay(isNew);
  box("by").dispatchEvent(new Event("change", { bubbles: true }));
}

/** Whether something happened to a delivery since it came: then it stays, that what was made of it can be traced.
 * @param {string} id */
export async function isTold(id) {
  const lot = (await readShelf(localDate(phoneNow()), { lots: [id] })).lots.get(id);
  return lot !== undefined && (lot.events.length > 0 || lot.state.moves.length > 0);
}

/** What a delivery comes to: its grams, and what one of its units costs. @param {HTMLFormElement} form
 * @param {Fields} lot what the form says @param {DisplayUnits} units @returns {Node[]} */
export function lotPreview(form, lot, units) {
  const name = /** @type {HTMLInputElement} */ (form.elements.namedItem("name"));
  name.placeholder = lot.received_on ? dayText(lot.received_on) : "";
  const [kind = ""] = lot.material ?? [];
  const pieces = isPieces(kind) || lot.by === "pieces";
  const amount = amountOf(lot);
  /** @type {[string, string][]} */
  const facts = [];
  if (lot.by === "volume" && amount > 0) facts.push([t("That is"), `**${amountText(amount, false, units)}**`]);
  if (typeof lot.paid === "number" && amount > 0) {
    const whole = lot.paid + (lot.delivery ?? 0);
    const each = pieces ? whole / amount : (whole * 1000) / amount;
    const money = minorText(Math.round(each), units.currency);
    facts.push([t("It costs"), pieces ? t("about {money} a piece", { money }) : t("about {money} a kilo", { money })]);
  }
  const past = lot.best_before && lot.best_before < localDate(phoneNow());
  const warning = h("p", { class: "beware notice" }, t("Its best before is past: it counts as expired."));
  return [...(past ? [warning] : []), ...(facts.length > 0 ? [showFacts(h("dl", { class: "facts" }), facts)] : [])];
}
