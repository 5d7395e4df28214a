/** On a pour's page: what it cost, line by line, beside what its recipe expects; there only where something has a price. */
import { isZero } from "../formulas/fraction.js";
import { isPriced } from "../shelf/cost.js";
import { isPieces } from "../shelf/lots.js";
import { readCost } from "../shelf/read_cost.js";
import { keyOf } from "../shelf/uses.js";
import { listed, plural, t } from "../words/door.js";
import { costText, standText, unpricedNotice } from "./cost_words.js";
import { h, replaceKeepingFocus, slot } from "./dom.js";
import { amountText } from "./shelf_words.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../formulas/fraction.js").Fraction} Fraction */
/** @typedef {import("../shelf/cost.js").Cost} Cost */
/** @typedef {import("../shelf/cost.js").Expected} Expected */
/** @typedef {import("../shelf/cost.js").Part} Part */

/**
 * @param {HTMLElement} place @param {Pour} pour @param {import("../shelf/stock.js").Shelf} shelf with all of its lots
 * @param {import("../shelf/cost.js").Prices} prices @param {DisplayUnits} units
 */
export async function drawCost(place, pour, shelf, prices, units) {
  const section = slot(place, "cost");
  const { cost, expected } = await readCost(pour, shelf, prices);
  section.hidden = !isPriced(cost);
  if (section.hidden) return;
  const { currency } = prices;
  replaceKeepingFocus(
    section,
    h("h2", {}, t("Cost")),
    h("table", {}, ...tableOf(cost, expected, currency, units)),
    ...unpricedNotice(cost.unpriced),
    ...(cost.each === null || isZero(cost.each)
      ? []
      : [h("p", { class: "links" }, h("a", { class: "quiet", href: `#/price/${pour.id}` }, t("Reckon a price")))]),
  );
}

/** @param {Cost} cost @param {Expected} expected @param {string | undefined} currency @param {DisplayUnits} units */
function tableOf(cost, expected, currency, units) {
  const money = (/** @type {Fraction | null | undefined} */ amount) => (amount ? costText(amount, currency) : "");
  const row = (
    /** @type {string} */ name,
    /** @type {string} */ under,
    /** @type {string} */ real,
    /** @type {string} */ planned,
  ) =>
    h(
      "tr",
      {},
      h("th", { scope: "row" }, name, under && h("span", { class: "under" }, under)),
      h("td", {}, real),
      h("td", {}, planned),
    );
  const lines = cost.lines.map((line) => {
    const parts = line.parts.map((part) => partText(part, isPieces(line.kind), units));
    const real = line.cost === null ? t("no price yet") : money(line.cost);
    return row(line.name, listed(parts), real, money(expected.lines.get(keyOf(line))?.cost));
  });
  const taken = new Set(cost.lines.map(keyOf));
  for (const [key, { name, cost: planned }] of expected.lines) {
    if (!taken.has(key) && planned) lines.push(row(name, t("not used yet"), "", money(planned)));
  }
  const { labour, overhead, candles } = cost;
  if (labour.cost !== null) {
    const minutes = Math.round(labour.work_s / 60);
    const worked = plural(minutes, "{n} minute, without the waiting", "{n} minutes, without the waiting");
    lines.push(row(t("Your work"), worked, money(labour.cost), money(labour.cost)));
  }
  if (overhead !== null) lines.push(row(t("Overhead"), "", money(overhead), money(expected.overhead)));
  const stand = standText(candles);
  const under = candles === expected.candles ? stand : t("{stand}, {n} were planned", { stand, n: expected.candles });
  const heads = [t("What"), t("Cost"), t("Expected")].map((text) => h("th", { scope: "col" }, text));
  return [
    h("thead", {}, h("tr", {}, ...heads)),
    h("tbody", {}, ...lines),
    h(
      "tfoot",
      {},
      row(t("Together"), "", money(cost.sum), money(expected.sum)),
      row(t("One candle"), under, money(cost.each), money(expected.each)),
    ),
  ];
}

/** So much from one lot. @param {Part} part @param {boolean} pieces @param {DisplayUnits} units */
function partText({ name: lot, amount, averaged }, pieces, units) {
  const text = amountText(amount, pieces, units);
  if (averaged && lot !== "") return t("{amount} of {lot}, at the average price", { amount: text, lot });
  if (averaged) return t("{amount}, at the average price", { amount: text });
  return lot === "" ? text : t("{amount} of {lot}", { amount: text, lot });
}
