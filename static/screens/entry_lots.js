/** On a pour's page: which lots it took from, and how much of each; where that is not known, she may say it. */
import { now } from "../bench/clock.js";
import { addEvent } from "../bench/pours.js";
import { isPieces } from "../shelf/lots.js";
import { keyOf, usesOf } from "../shelf/uses.js";
import { t } from "../words/door.js";
import { h, replaceKeepingFocus, slot } from "./dom.js";
import { tryToKeep } from "./screen.js";
import { amountText } from "./shelf_words.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../shelf/stock.js").Shelf} Shelf */
/** @typedef {import("../shelf/uses.js").Use} Use */

/** @param {HTMLElement} place @param {Pour} pour @param {Shelf} shelf @param {import("../bench/display_units.js").DisplayUnits} units */
export function drawLots(place, pour, shelf, units) {
  const section = slot(place, "lots");
  const uses = usesOf(pour).filter((use) => shelf.materials.get(keyOf(use))?.lots.length);
  section.hidden = uses.length === 0;
  if (section.hidden) return;
  /** @type {Map<string, Use[]>} */
  const byMaterial = new Map();
  for (const use of uses) byMaterial.set(keyOf(use), [...(byMaterial.get(keyOf(use)) ?? []), use]);
  const lines = [...byMaterial.values()].map((of) => lineOf(of, pour, shelf, units));
  replaceKeepingFocus(slot(place, "drawn"), ...lines);
}

/** @param {Use[]} uses of one material @param {Pour} pour @param {Shelf} shelf @param {import("../bench/display_units.js").DisplayUnits} units */
function lineOf(uses, pour, shelf, units) {
  const [{ kind, id, name }] = uses;
  /** @type {Map<string | null, number>} */
  const amounts = new Map();
  for (const { lot, amount } of uses) amounts.set(lot, (amounts.get(lot) ?? 0) + amount);
  const text = (/** @type {number} */ amount) => amountText(amount, isPieces(kind), units);
  const parts = [...amounts].map(([lot, amount]) => {
    const kept = lot === null ? undefined : shelf.lots.get(lot);
    const from = lot === null ? t("not said which") : (kept?.name ?? t("one that is not here"));
    return h("li", {}, kept ? h("a", { href: `#/lot/${kept.id}` }, from) : from, ": ", h("b", {}, text(amount)));
  });
  const { lots } = /** @type {import("../shelf/stock.js").Material} */ (shelf.materials.get(keyOf({ kind, id })));
  const select = /** @type {HTMLSelectElement} */ (
    h(
      "select",
      { "data-key": `from ${keyOf({ kind, id })}`, "aria-label": t("{name} came from", { name }) },
      h("option", { value: "" }, t("not said which")),
      ...lots.map((lot) => h("option", { value: lot.id }, lot.name)),
    )
  );
  select.value =
    amounts.size === 1 ? ([...amounts.keys()][0] ?? "") : ([...amounts.keys()].find((lot) => lot !== null) ?? "");
  select.addEventListener("change", () =>
    tryToKeep(
      () => addEvent(pour, { type: "came_from", kind, material: id, lot: select.value || null }, now()),
      t("This pour was changed elsewhere. Look again."),
    ),
  );
  return h("li", { class: "field" }, h("b", {}, name), h("span", {}), select, h("ul", { class: "parts" }, ...parts));
}
