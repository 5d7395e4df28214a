/** A label as it was made: read with no signal, printed by the desk. */

import { now } from "../bench/clock.js";
import { eventWords, valueText } from "../bench/event_words.js";
import { ofEach } from "../bench/pours.js";
import { changedSince, labelSpec } from "../labels/label_spec.js";
import { foldPrints, nextPlace } from "../labels/prints.js";
import { ask, NoSignal, ServerError } from "../records/exchange.js";
import { finding } from "../records/findings.js";
import * as store from "../records/store.js";
import { dayText, localDate } from "../words/dates.js";
import { InputError, listed, message, plural, t, worded } from "../words/door.js";
import { askInBox } from "./ask_in_box.js";
import { showAttachments } from "./attachments.js";
import { bytesOf } from "./base64.js";
import { cloneTemplate, download, h, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { goToFirstWrong } from "./edit.js";
import { happened } from "./entry_happened.js";
import { fillField, redrawChoices } from "./form.js";
import { drawRecord } from "./form_draft.js";
import { ownField } from "./form_fields.js";
import { complain, readForm } from "./form_reading.js";
import { headOf, restOf } from "./label_report.js";
import { LABELLED_BY, readSources } from "./label_sources.js";
import { takeMade } from "./made.js";
import { deleteBy } from "./page_parts.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {import("../records/event_types.js").NewMadeLabelEvent} NewMadeLabelEvent */
/** @typedef {import("../labels/prints.js").MadeLabelEvent} MadeLabelEvent */

/** What may have changed since, in words. @type {Record<import("../labels/label_spec.js").Changed, import("../words/door.js").Message>} */
const CHANGES = {
  hazard: message("the hazard class"),
  net: message("the net content"),
  burning: message("the burning time"),
  candle: message("the candle’s name"),
  maker: message("your name and address"),
  languages: message("the languages or the market"),
  words: message("your words"),
  size: message("the size"),
  look: message("how it looks"),
};

/** @param {HTMLElement} place @param {string[]} path @param {import("./screen.js").Context} context */
export async function show(place, [id], { units, go }) {
  place.append(cloneTemplate("screen-made_label"));
  showAttachments(place, id);
  /** @type {import("../records/store.js").Plain} */
  let made;
  let stocks = await store.all("label_stock");
  const form = /** @type {HTMLFormElement} */ (slot(place, "form"));
  const others = () => stocks;
  const startBox = () => /** @type {HTMLElement} */ (ownField(form, "start"));
  drawRecord(form, `typed print_label ${id}`, { kind: "print_label", stored: undefined, units, others });
  takeMade(form);

  const say = (/** @type {string} */ text) => {
    setText(slot(place, "problem"), text);
    slot(place, "problem").hidden = text === "";
  };
  const keep = (/** @type {NewMadeLabelEvent} */ event) =>
    tryToKeep(() => store.append("made_label", id, { ...event, at: now() }));

  /** @param {boolean} ruler */
  const print = async (ruler) => {
    say("");
    slot(place, "ready").replaceChildren();
    // A test print needs no count.
    const { values, wrong } = readForm(form, units, !ruler);
    if (!ruler && wrong > 0) {
      goToFirstWrong(form);
      return;
    }
    const stock = stocks.find((each) => each.id === values.stock);
    const n = ruler ? 1 : Number(values.n);
    const request = {
      // Where there is one piece, it is not asked which.
      ...{ piece: values.piece ?? "label", n, start: ruler ? 1 : (values.start ?? 1), paper: paperOf(stock) },
      ...{ bleed_mm: values.bleed_mm ?? 0, cut_marks: values.cut_marks === "yes", ruler },
    };
    const buttons = [slot(place, "go"), slot(place, "ruler")];
    for (const button of buttons) button.disabled = true;
    place.setAttribute("aria-busy", "true");
    const busy = plural(n, "The desk is setting {n} label.", "The desk is setting {n} labels.");
    setText(slot(place, "busy"), ruler ? t("The desk is drawing the test print.") : busy);
    slot(place, "busy").hidden = false;
    try {
      const { pdf } = await ask("/api/desk/label", { label: made.asked, print: request });
      const name = `${ruler ? t("Test print") : made.name}.pdf`;
      download(new File([bytesOf(pdf)], name, { type: "application/pdf" }));
      if (!ruler) askPrinted(request, stock);
    } catch (error) {
      if (error instanceof ServerError) {
        const field = fieldOf(String(error.told?.about));
        if (field) complain(form, field, error.message);
        else say(error.message);
      } else if (error instanceof NoSignal)
        say(t("{why} The desk makes the PDF: try again when it answers.", { why: error.message }));
      else throw error;
    } finally {
      slot(place, "busy").hidden = true;
      for (const button of buttons) button.disabled = false;
      place.removeAttribute("aria-busy");
    }
  };

  /** Whether they were printed only she knows. @param {Fields} request @param {Fields | undefined} stock */
  const askPrinted = ({ n, start, piece, paper }, stock) => {
    const done = (/** @type {number} */ count) => async () => {
      if (!(await keep({ type: "printed", n: count, piece, ...(stock && { stock: stock.name }) }))) return;
      slot(place, "ready").replaceChildren();
      // What was spoiled has left its place as well.
      if (paper.way === "sheet") fillField(startBox(), nextPlace(start, n, paper.rows * paper.columns), units, others);
    };
    const fewer = async () => {
      const count = await askInBox(t("How many came out well?"), "", (text) => countOf(text, n), "text");
      if (count !== null) await done(count)();
    };
    slot(place, "ready").replaceChildren(
      h("p", {}, t("The PDF is on this device. Print it at its true size, without fitting it to the page.")),
      h(
        "p",
        { class: "links" },
        h(
          "button",
          { type: "button", class: "quiet", onclick: done(n) },
          plural(n, "{n} is printed", "All {n} are printed"),
        ),
        n > 1 && h("button", { type: "button", class: "quiet", onclick: fewer }, t("Fewer")),
      ),
    );
  };

  slot(place, "go").addEventListener("click", () => print(false));
  slot(place, "ruler").addEventListener("click", () => print(true));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    void print(false);
  });
  deleteBy(slot(place, "remove"), "made_label", id, {
    isDeleted: () => Boolean(made.deleted),
    sure: t("Really delete this label?"),
    told: t("Deleted. You find it under “What was deleted”, at the end of the labels."),
    leave: () => go("labels"),
  });

  /** @param {MadeLabelEvent} event */
  const correct = async (event) => {
    const value = await askInBox(t("The right number"), "", (text) => countOf(text), "text");
    if (value !== null) await keep({ type: "corrected", event: event.id, field: "n", value });
  };

  return drawOnChange(ofKinds("made_label", "label_picture", "label_stock", ...LABELLED_BY), async () => {
    const found = await finding("made_label", id);
    if (!found?.made_at) {
      go("labels");
      return;
    }
    made = { ...found, asked: found.asked ?? {}, found: found.found ?? {} };
    stocks = await store.all("label_stock");
    redrawChoices(form, others);
    const [label, events] = await Promise.all([store.get("label", made.label), store.events("made_label", id)]);
    const prints = foldPrints(events);
    const back = slot(place, "back");
    [back.href, back.textContent] =
      label && !label.deleted ? [`#/label/${label.id}`, t("Label")] : ["#/labels", t("Labels")];
    setText(slot(place, "name"), made.name);
    const remove = slot(place, "remove");
    if (!remove.dataset.sure) setText(remove, made.deleted ? t("Bring it back") : t("Delete"));
    slot(place, "gone").replaceChildren(...(await noticesOf(made, label)));
    showFacts(slot(place, "facts"), factsOf(made, prints));
    const unread = h("p", { class: "beware notice" }, t("This version of the bench can't read how it was laid out."));
    const { pictures = [] } = (await finding("label_picture", id))?.drawn ?? {};
    const head = ofEach([made], ({ found: laid }) => headOf({ .../** @type {any} */ (laid), pictures }));
    slot(place, "look").replaceChildren(...(head.length > 0 ? head : [unread]));
    slot(place, "report").replaceChildren(...ofEach([made], ({ found: laid }) => restOf(/** @type {any} */ (laid))));
    form.querySelector('[data-field="piece"]')?.toggleAttribute("hidden", made.found.report?.pieces?.length !== 2);
    const told = {
      words: (/** @type {MadeLabelEvent} */ event) => eventWords(event, {}),
      value: (/** @type {MadeLabelEvent} */ event, /** @type {string} */ field, /** @type {unknown} */ value) =>
        valueText(event, field, value, {}, units),
    };
    const undo = (/** @type {MadeLabelEvent} */ { id: event }) => void keep({ type: "undone", event });
    const of = { events, state: prints };
    replaceKeepingFocus(slot(place, "happened"), ...happened("made_label", of, told, correct, undo));
  });
}

/** The box beside which an error of the desk is said; undefined: it is about no box. @param {string} about a dotted path */
function fieldOf(about) {
  if (about.startsWith("print.paper")) return "stock";
  return { "print.n": "n", "print.start": "start", "print.bleed_mm": "bleed_mm" }[about];
}

/** @param {Fields | undefined} stock */
function paperOf(stock) {
  if (stock === undefined || stock.way === "one") return { way: "one" };
  const { width_mm, height_mm, rows, columns, left_mm, top_mm, pitch_x_mm, pitch_y_mm } = stock;
  const { nudge_x_mm = 0, nudge_y_mm = 0 } = stock;
  return {
    ...{ way: "sheet", width_mm, height_mm, rows, columns, left_mm, top_mm, pitch_x_mm, pitch_y_mm },
    ...{ nudge_x_mm, nudge_y_mm },
  };
}

/** @param {string} text @param {number} [most] @returns {number} @throws {InputError} */
function countOf(text, most = 2000) {
  const n = Number(text);
  if (!/^\d+$/.test(text) || n < 1 || n > most)
    throw new InputError("Type a whole number from 1 to {most}.", { most }, "text");
  return n;
}

/** @param {Fields} made @param {import("../labels/prints.js").Prints} prints @returns {[string, string][]} */
function factsOf({ asked, made_at }, prints) {
  /** @type {[string, string][]} */
  const facts = [
    [t("Made on"), dayText(localDate(made_at))],
    [t("Batch code"), asked.batch ? `**${asked.batch}**` : t("none")],
  ];
  if (prints.label > 0) facts.push([t("Printed"), String(prints.label)]);
  if (prints.second > 0) facts.push([t("Second pieces printed"), String(prints.second)]);
  return facts;
}

/** @param {Fields} made @param {Fields | undefined} label */
async function noticesOf(made, label) {
  const notice = (/** @type {string} */ text) => h("p", { class: "beware notice" }, text);
  if (made.deleted) return [notice(t("This label was deleted."))];
  if (label === undefined || label.deleted) return [];
  const sources = await readSources(label, made.pour ?? "");
  const changed = changedSince(made.asked, labelSpec(sources));
  if (changed.length === 0) return [];
  const what = listed(changed.map((each) => worded(CHANGES[each])));
  return [
    notice(
      t(
        "Since it was made, this has changed: {what}. What was printed stays as it is; make a new one for what comes.",
        { what },
      ),
    ),
  ];
}
