/** Selling: one touch a candle, and the day's list; with no signal. */

import { now, phoneNow } from "../bench/clock.js";
import { parseMoney, plainMoney } from "../formulas/money.js";
import * as store from "../records/store.js";
import { currencyOf } from "../shelf/candles.js";
import { earned, KINDS_FOR_SALE, readForSale } from "../shelf/for_sale.js";
import { readPrices } from "../shelf/read_cost.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { InputError, plural, t } from "../words/door.js";
import { batchTitle, readNames, whoText } from "./batch_lines.js";
import { fillBuyers } from "./buyers.js";
import { blockText } from "./candle_words.js";
import { minorText } from "./cost_words.js";
import { cloneTemplate, h, look, replaceKeepingFocus, setText, showToast, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";

/** @typedef {import("../shelf/for_sale.js").Product} Product */
/** @typedef {import("../shelf/for_sale.js").Offer} Offer */
/** @typedef {import("../shelf/for_sale.js").Sale} Sale */
/** @typedef {import("../shelf/trace.js").Batch} Batch */

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-sell"));
  const form = slot(place, "form");
  form.addEventListener("submit", (/** @type {Event} */ event) => event.preventDefault());
  /** @type {string | undefined} */
  let currency;
  /** The boxes of prices, by recipe: they stay as they are while the list is drawn anew. @type {Map<string, PriceBox>} */
  const boxes = new Map();
  await fillBuyers(slot(place, "buyer"));
  keepDraft(form, "draft sell");

  /** @param {Product} product @param {Batch} batch @param {HTMLElement} button */
  async function sell({ recipe }, batch, button) {
    const price = priceIn(/** @type {PriceBox} */ (boxes.get(recipe)), currency);
    if (price === undefined) return;
    const [where, buyer] = [slot(place, "where").value.trim(), slot(place, "buyer").value];
    button.setAttribute("aria-busy", "true");
    const isKept = await tryToKeep(() =>
      store.append("batch", batch.pour.id, {
        ...{ type: "sold", n: 1, at: now() },
        ...(price !== null && { price, ...(currency && { currency }) }),
        ...(buyer && { buyer }),
        ...(where && { where }),
      }),
    );
    button.removeAttribute("aria-busy");
    if (isKept) showToast(t("Sold: {what}", { what: batchTitle(batch) }));
  }

  const takeBack = (/** @type {Sale} */ { event, batch }) =>
    void tryToKeep(() => store.append("batch", batch.pour.id, { type: "undone", event: event.id, at: now() }));

  return drawOnChange(ofKinds(...KINDS_FOR_SALE), async () => {
    const [{ products, sales }, prices, names, made] = await Promise.all([
      readForSale(localDate(phoneNow())),
      readPrices(),
      readNames(),
      store.living("product"),
    ]);
    currency = prices.currency;
    await fillBuyers(slot(place, "buyer"));
    slot(place, "empty").hidden = products.length > 0;
    const sections = products.map((product) => {
      if (!boxes.has(product.recipe)) {
        const known = made.find(({ recipe }) => recipe === product.recipe)?.price ?? lastPrice(product);
        boxes.set(product.recipe, priceBox(product.recipe, known, currency));
      }
      const lines = product.offers.map((offer) =>
        offerLine(offer, (button) => void sell(product, offer.batch, button)),
      );
      const box = /** @type {PriceBox} */ (boxes.get(product.recipe));
      return h("section", { class: "offer" }, h("h2", {}, product.title), box.field, ...lines);
    });
    replaceKeepingFocus(slot(place, "products"), ...sections);
    slot(place, "none").hidden = sales.length > 0;
    const n = sales.reduce((sum, { event }) => sum + event.n, 0);
    const sums = [...earned(sales)].map(([of, minor]) => minorText(minor, of));
    setText(slot(place, "sum"), sales.length > 0 ? [plural(n, "{n} candle", "{n} candles"), ...sums].join(", ") : "");
    replaceKeepingFocus(slot(place, "sales"), ...sales.map((sale) => saleLine(sale, names, takeBack)));
  });
}

/** @typedef {{field: HTMLElement, input: HTMLInputElement, error: HTMLElement}} PriceBox */

/** @param {string} recipe @param {unknown} known what it was sold for, in minor units @param {string | undefined} currency
 * @returns {PriceBox} */
function priceBox(recipe, known, currency) {
  const error = h("p", { class: "error", role: "alert", id: `price-${recipe}`, hidden: true });
  const value = typeof known === "number" ? plainMoney(known, currency) : "";
  const attributes = { type: "text", inputmode: "decimal", autocomplete: "off", maxlength: 20, value };
  const input = /** @type {HTMLInputElement} */ (
    h("input", { ...attributes, "aria-describedby": error.id, "data-key": `price ${recipe}` })
  );
  const name = currency ? t("Price of one, {currency}", { currency }) : t("Price of one");
  return {
    field: h("div", { class: "field" }, h("label", {}, h("span", { class: "name" }, name), input), error),
    input,
    error,
  };
}

/** @param {PriceBox} box @param {string | undefined} currency @returns {number | null | undefined} null: none was typed;
 *   undefined: it can't be read, which is said beside it */
function priceIn({ input, error }, currency) {
  error.hidden = true;
  if (input.value.trim() === "") return null;
  try {
    return parseMoney(input.value.trim(), currency);
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    error.textContent = problem.message;
    error.hidden = false;
    input.focus();
    return undefined;
  }
}

/** What one of them was sold for last. @param {Product} product */
function lastPrice({ offers }) {
  const sold = offers.flatMap(({ batch }) => batch.candles.out).filter(({ price }) => price !== null);
  return sold.sort((a, b) => b.at_ms - a.at_ms)[0]?.price;
}

/** A batch, with the touch that sells one of it. @param {Offer} offer @param {(button: HTMLElement) => void} sell */
function offerLine({ batch, blocks, cured_from, isClassed, isLabelled }, sell) {
  const { pour, code, candles } = batch;
  const cautions = [
    ...blocks.map(blockText),
    cured_from !== null && t("It is not cured yet: that is from {day} on.", { day: dayText(cured_from) }),
    !isClassed && t("No hazard class was worked out for it: what its label has to warn of is not known."),
    !isLabelled && t("No label was made for this batch."),
  ].filter((each) => each !== false);
  const button = h(
    "button",
    {
      ...{ type: "button", class: "go sell", "data-key": `sell ${pour.id}` },
      ...{ disabled: blocks.length > 0, onclick: () => sell(button) },
    },
    t("Sell one of {code}", { code: code ?? dayText(localDate(pour.record.started_at)) }),
  );
  return h(
    "div",
    { class: "batch" },
    look(pour.sheet),
    h("a", { href: `#/candles/${pour.id}` }, plural(candles.shelf, "{n} on the shelf", "{n} on the shelf")),
    button,
    cautions.length > 0 && h("ul", { class: "cautions" }, ...cautions.map((text) => h("li", {}, text))),
  );
}

/** @param {Sale} sale @param {Map<string, string>} names @param {(sale: Sale) => void} takeBack */
function saleLine(sale, names, takeBack) {
  const { event, batch } = sale;
  const price = typeof event.price === "number" && minorText(event.price, currencyOf(event));
  const who = whoText({ buyer: event.buyer ?? null, wanted: null, where: event.where ?? null, why: null }, names);
  const what = [event.n > 1 && t("{n} of", { n: event.n }), batch.pour.sheet.title, batch.code]
    .filter(Boolean)
    .join(" ");
  return h(
    "li",
    {},
    h("time", {}, timeText(event.at)),
    h("span", {}, [what, price, (event.buyer || event.where) && who].filter(Boolean).join(", ")),
    h(
      "span",
      { class: "mend" },
      h(
        "button",
        { type: "button", class: "quiet small", "data-key": `undo ${event.id}`, onclick: () => takeBack(sale) },
        t("Undo"),
      ),
    ),
  );
}
