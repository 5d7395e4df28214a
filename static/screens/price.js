/** A price for what a pour cost: by margin or markup, with tax, and what a discount or a marketplace leaves of it. */
import { phoneNow } from "../bench/clock.js";
import { readPour } from "../bench/pours.js";
import { compare, fraction, fractionOf, isZero, roundHalfUp, subtract, ZERO } from "../formulas/fraction.js";
import { byMargin, byMarkup, leftOf, priceThatLeaves, withTax } from "../formulas/price.js";
import { isPriced } from "../shelf/cost.js";
import { MATERIALS } from "../shelf/lots.js";
import { readCost, readPrices, readShelfOf } from "../shelf/read_cost.js";
import { localDate } from "../words/dates.js";
import { InputError, t } from "../words/door.js";
import { costText, rateText, standText, unpricedNotice } from "./cost_words.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { fillForm, showWhen } from "./form.js";
import { readForm } from "./form_reading.js";
import { drawOnChange, ofKinds } from "./screen.js";

/** @typedef {import("../formulas/fraction.js").Fraction} Fraction */
/** @typedef {import("../formulas/price.js").Sale} Sale */
/** @typedef {import("../shelf/cost.js").Cost} Cost */
/** @typedef {{way: "margin" | "markup" | "price", margin: number, markup: number, price: number}} Way what the price
 *   follows from, and that it is */
/** @typedef {[name: string, value: string][]} Facts */

/** @param {HTMLElement} place @param {string[]} path the pour's id @param {import("./screen.js").Context} context */
export async function show(place, [id], { units: given, go }) {
  place.append(cloneTemplate("screen-price"));
  slot(place, "back").href = `#/entry/${id}`;
  let prices = await readPrices();
  const units = () => ({ ...given, currency: prices.currency });
  const form = slot(place, "form");
  fillForm(form, { margin: prices.wanted_margin, tax_rate: prices.tax_rate }, units(), () => []);
  keepDraft(form, `draft price ${id}`);
  /** @type {Cost} */
  let cost;

  const reckon = () => {
    showWhen(form);
    const { values, wrong } = readForm(form, units(), true);
    const each = wrong > 0 ? null : costToCover(cost);
    slot(place, "result").hidden = each === null;
    if (each === null) return;
    const { tax_rate, discount, share, fee } = values;
    const sale = { tax_rate: tax_rate ?? 0, discount: discount ?? 0, share: share ?? 0, fee: fee ?? 0 };
    drawResult(place, each, /** @type {Way & Sale} */ (values), sale, prices.currency);
  };
  form.addEventListener("input", reckon);
  form.addEventListener("change", reckon);
  form.addEventListener("submit", (/** @type {Event} */ event) => event.preventDefault());

  return drawOnChange(ofKinds("pour", "lot", "prices", ...MATERIALS), async () => {
    const pour = await readPour(id);
    if (pour === null) {
      go("log");
      return;
    }
    const shelf = await readShelfOf(pour, localDate(phoneNow()));
    prices = await readPrices();
    ({ cost } = await readCost(pour, shelf, prices));
    setText(slot(place, "back"), pour.sheet.title);
    replaceKeepingFocus(slot(place, "unpriced"), ...unpricedNotice(cost.unpriced));
    showFacts(slot(place, "cost"), [[t("One candle cost you"), costOfOne(cost, prices.currency)]]);
    form.hidden = costToCover(cost) === null;
    reckon();
  });
}

/** What a price has to cover; null: nothing that is known. @param {Cost} cost @returns {Fraction | null} */
const costToCover = (cost) => (cost.each !== null && !isZero(cost.each) && isPriced(cost) ? cost.each : null);

/** @param {Cost} cost @param {string | undefined} currency */
function costOfOne(cost, currency) {
  const { each, candles } = cost;
  if (each === null) return t("no candle stands, so there is none to sell");
  if (costToCover(cost) === null) return t("it is not known: nothing that was used has a price yet");
  return t("**{money}**, as {stand}", { money: costText(each, currency), stand: standText(candles) });
}

/** @param {HTMLElement} place @param {Fraction} cost of one @param {Way} way @param {Sale} sale @param {string | undefined} currency */
function drawResult(place, cost, way, sale, currency) {
  const money = (/** @type {Fraction} */ amount) => costText(amount, currency);
  // What stands on the tag is real money: all that follows is reckoned from it.
  const tag = fraction(roundHalfUp(tagOf(cost, way, sale)));
  const full = leftOf(tag, cost, { tax_rate: sale.tax_rate });
  const sold = leftOf(tag, cost, sale);
  const net = fraction(roundHalfUp(full.net));
  showFacts(slot(place, "price"), [
    [t("Price with tax"), `**${money(tag)}**`],
    [t("Tax in it"), money(subtract(tag, net))],
    [t("Price before tax"), money(net)],
  ]);
  const isTagged = compare(sold.paid, tag) === 0 && isZero(sold.kept);
  /** @type {Facts} */
  const left = [];
  if (compare(sold.paid, tag) !== 0) left.push([t("The buyer pays"), money(sold.paid)]);
  if (!isZero(sold.kept)) left.push([t("The marketplace keeps"), money(sold.kept)]);
  left.push([t("Left after its cost"), `**${money(sold.left)}**`]);
  if (sold.margin !== null) left.push([t("Margin"), rateText(sold.margin)]);
  if (sold.markup !== null) left.push([t("Markup"), rateText(sold.markup)]);
  if (!isTagged && way.way !== "price")
    left.push([
      way.way === "margin" ? t("To keep your margin") : t("To keep your markup"),
      wantedPrice(cost, way, sale, money),
    ]);
  showFacts(slot(place, "left"), left);
  const loses = compare(sold.left, ZERO) < 0;
  const text = t("You would lose money on each: it costs more than it brings.");
  slot(place, "loss").replaceChildren(...(loses ? [h("p", { class: "beware notice" }, text)] : []));
}

/** The price on the tag, with tax. @param {Fraction} cost of one @param {Way} way @param {Sale} sale @returns {Fraction} */
function tagOf(cost, { way, margin, markup, price }, { tax_rate = 0 }) {
  switch (way) {
    case "margin":
      return withTax(byMargin(cost, margin), tax_rate);
    case "markup":
      return withTax(byMarkup(cost, markup), tax_rate);
    case "price":
      return fractionOf(price);
  }
}

/** At what price discount and marketplace leave what she wants. @param {Fraction} cost of one @param {Way} way
 * @param {Sale} sale @param {(amount: Fraction) => string} money */
function wantedPrice(cost, { way, margin, markup }, sale, money) {
  try {
    const price = priceThatLeaves(cost, way === "margin" ? { margin } : { markup }, sale);
    return t("the price would have to be {price}", { price: money(price) });
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return error.message;
  }
}
