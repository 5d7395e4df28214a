/** The candles of a batch: where they stand, and what she has to say of them. */

import { now } from "../bench/clock.js";
import { eventWords } from "../bench/event_words.js";
import { readPour } from "../bench/pours.js";
import { parseMoney } from "../formulas/money.js";
import { effectiveEvents } from "../records/events.js";
import * as store from "../records/store.js";
import { currencyOf } from "../shelf/candles.js";
import { withCandles } from "../shelf/read_candles.js";
import { readPrices } from "../shelf/read_cost.js";
import { blocksOf } from "../shelf/read_recall.js";
import { goneOut, wholeBatch } from "../shelf/trace.js";
import { InputError, message, t, worded } from "../words/door.js";
import { askInBox } from "./ask_in_box.js";
import { batchTitle, readNames, whoText } from "./batch_lines.js";
import { wholeUpTo } from "./boxes.js";
import { fillBuyers } from "./buyers.js";
import { blockText } from "./candle_words.js";
import { minorText } from "./cost_words.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { happened } from "./entry_happened.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";

/** @typedef {import("../records/event_types.js").NewBatchEvent} NewBatchEvent */
/** @typedef {import("../records/event_types.js").BatchEvent} BatchEvent */
/** @typedef {import("../shelf/candles.js").Candles} Candles */
/** @typedef {NewBatchEvent["type"]} What */
/** @typedef {"n" | "price" | "buyer" | "where" | "place" | "why"} Box */

/** What she may say, in words, and which boxes it takes. @type {[What, import("../words/door.js").Message, Box[]][]} */
const CHOICES = [
  ["sold", message("I sold some"), ["n", "price", "buyer", "where", "place"]],
  ["given", message("I gave some away"), ["n", "buyer", "where", "place"]],
  ["set_aside", message("I set some aside"), ["n", "why"]],
  ["put_back", message("I put some back on the shelf"), ["n", "place", "why"]],
  ["labelled", message("I labelled some"), ["n"]],
  ["broken", message("Some broke"), ["n", "place", "why"]],
  ["test_burned", message("I took some for a burn test"), ["n", "place"]],
  ["returned", message("Some came back"), ["n", "buyer", "why"]],
  ["destroyed", message("I destroyed some"), ["n", "place", "why"]],
  ["counted", message("I counted what is on the shelf"), ["n", "why"]],
  ["withdrawn", message("They must not be sold"), ["why"]],
  ["released", message("They may be sold again"), ["why"]],
  ["noted", message("Something to note"), ["why"]],
];

const MOST = 100_000;

/** @param {HTMLElement} place @param {string[]} path the pour's id @param {import("./screen.js").Context} context */
export async function show(place, [id], { go }) {
  place.append(cloneTemplate("screen-candles"));
  const form = slot(place, "form");
  const what = /** @type {HTMLSelectElement} */ (slot(place, "what"));
  what.replaceChildren(...CHOICES.map(([name, words]) => h("option", { value: name }, worded(words))));
  slot(place, "back").href = `#/entry/${id}`;
  const choose = () => {
    const boxes = CHOICES.find(([name]) => name === what.value)?.[2] ?? [];
    for (const box of form.querySelectorAll("[data-box]")) box.hidden = !boxes.includes(box.dataset.box);
    slot(place, "error").hidden = true;
  };
  await fillBuyers(slot(place, "buyer"));
  const forget = keepDraft(form, `draft candles ${id}`);
  what.addEventListener("change", choose);
  choose();
  /** @type {string | undefined} */
  let currency;

  /** @param {NewBatchEvent} event */
  const keep = (event) => tryToKeep(() => store.append("batch", id, { ...event, at: now() }));
  form.addEventListener("submit", async (/** @type {Event} */ event) => {
    event.preventDefault();
    const error = slot(place, "error");
    error.hidden = true;
    try {
      if (!(await keep(said(place, /** @type {What} */ (what.value), currency)))) return;
      forget();
      for (const name of ["n", "why"]) slot(place, name).value = "";
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      error.textContent = problem.message;
      error.hidden = false;
      slot(place, problem.about || "n").focus();
    }
  });

  return drawOnChange(ofKinds("batch", "pour", "buyer", "wanted", "recall", "lot", "prices"), async () => {
    const found = await readPour(id, true);
    if (found === null) {
      go("log");
      return;
    }
    const [pour] = await withCandles([found]);
    const batch = wholeBatch(pour);
    const [names, blocks, prices] = await Promise.all([readNames(), blocksOf([batch]), readPrices()]);
    currency = prices.currency;
    setText(slot(place, "name"), batchTitle(batch));
    slot(place, "code").href = `#/candle/${batch.code ?? id}`;
    slot(place, "curing").hidden = pour.state.finished !== null;
    await fillBuyers(slot(place, "buyer"));
    const blocked = (blocks.get(id) ?? []).map((block) => h("p", { class: "beware notice" }, blockText(block)));
    const over =
      batch.candles.isOver &&
      t("More went than there were. Count what is on the shelf, or correct what is wrong below.");
    replaceKeepingFocus(
      slot(place, "blocked"),
      ...blocked,
      ...(over ? [h("p", { class: "beware notice" }, over)] : []),
    );
    showFacts(slot(place, "facts"), factsOf(batch.candles));
    const events = pour.candles ?? [];
    const told = {
      words: (/** @type {BatchEvent} */ event) => lineOf(event, names),
      value: (/** @type {BatchEvent} */ _event, /** @type {string} */ field, /** @type {unknown} */ value) =>
        field === "n" && typeof value === "number" ? String(value) : "",
    };
    const correct = async (/** @type {BatchEvent} */ event) => {
      const shown = "n" in event ? String(event.n) : "";
      const value = await askInBox(t("What should it have been?"), shown, (text) => wholeUpTo(text, MOST));
      if (value !== null) await keep({ type: "corrected", event: event.id, field: "n", value });
    };
    const undo = (/** @type {BatchEvent} */ event) => void keep({ type: "undone", event: event.id });
    const state = { counted: effectiveEvents("batch", events) };
    replaceKeepingFocus(
      slot(place, "happened"),
      ...happened("batch", { events, state }, told, correct, undo).reverse(),
    );
  });
}

/** What she said happened. @param {HTMLElement} place @param {What} type @param {string | undefined} currency
 * @returns {NewBatchEvent} @throws {InputError} */
function said(place, type, currency) {
  const text = (/** @type {Box} */ name) =>
    slot(place, name).closest("[data-box]").hidden ? "" : slot(place, name).value.trim();
  const why = text("why");
  if (type === "withdrawn" || type === "released") {
    if (why === "") throw new InputError("Say why.", {}, "why");
    return { type, why };
  }
  if (type === "noted") {
    if (why === "") throw new InputError("Write the note.", {}, "why");
    return { type, text: why };
  }
  const n = type === "counted" && text("n") === "0" ? 0 : wholeUpTo(text("n"), MOST);
  const price = text("price") === "" ? null : parseMoney(text("price"), currency);
  const chosen = /** @type {"shelf" | "aside" | "returned" | ""} */ (text("place"));
  if (type === "put_back" && (chosen === "" || chosen === "shelf"))
    throw new InputError("Say where they stood before: set aside, or come back.", {}, "place");
  return /** @type {NewBatchEvent} */ ({
    ...{ type, n },
    ...(price !== null && { price, ...(currency && { currency }) }),
    ...(text("buyer") && { buyer: text("buyer") }),
    ...(text("where") && { where: text("where") }),
    ...(chosen && chosen !== "shelf" && { place: chosen }),
    ...(why && { why }),
  });
}

/** @param {BatchEvent} event @param {Map<string, string>} names */
function lineOf(event, names) {
  const parts = [eventWords(event, {})];
  if ("buyer" in event && event.buyer)
    parts.push(whoText({ buyer: event.buyer, wanted: null, where: null, why: null }, names));
  if (event.type === "sold" && typeof event.price === "number") parts.push(minorText(event.price, currencyOf(event)));
  return parts.join(", ");
}

/** @param {Candles} candles @returns {[string, string][]} */
export function factsOf(candles) {
  /** @type {[string, number][]} */
  const counts = [
    [t("Set aside"), candles.aside],
    [t("Came back, and stand apart"), candles.returned],
    [t("Labelled"), candles.labelled],
    [t("Sold"), candles.sold],
    [t("Given away"), candles.given],
    [t("Went out otherwise"), candles.outOtherwise],
    [t("Broken"), candles.broken],
    [t("Taken for burn tests"), candles.test_burned],
    [t("Destroyed"), candles.destroyed],
    [t("Nobody said where"), candles.untold],
  ];
  return [
    [t("Made"), `**${candles.made}**`],
    [t("On the shelf"), `**${candles.shelf}**`],
    [t("Out with others"), `**${goneOut(candles)}**`],
    ...counts.flatMap(([name, n]) => (n > 0 ? [/** @type {[string, string]} */ ([name, String(n)])] : [])),
  ];
}
