/** One complaint or accident: what happened, which other candles it may be of, and what was done. */

import { now, phoneNow } from "../bench/clock.js";
import { eventWords, valueText } from "../bench/event_words.js";
import { allPours, ofEach } from "../bench/pours.js";
import { readCode } from "../formulas/batch_code.js";
import { foldComplaint, isUnreported } from "../products/complaints.js";
import { isDay, yearsAfter } from "../products/kept_for.js";
import { PERSONAL_YEARS } from "../products/rules.js";
import * as store from "../records/store.js";
import { codeOf } from "../shelf/batches.js";
import { lotsIn } from "../shelf/trace.js";
import { dayText, localDate } from "../words/dates.js";
import { InputError, t } from "../words/door.js";
import { askInBox } from "./ask_in_box.js";
import { showAttachments } from "./attachments.js";
import { batchTitle } from "./batch_lines.js";
import { card, cloneTemplate, h, replaceKeepingFocus, setText, showCautions, showFacts, slot } from "./dom.js";
import { goToFirstWrong } from "./edit.js";
import { happened } from "./entry_happened.js";
import { drawRecord } from "./form_draft.js";
import { readForm } from "./form_reading.js";
import { dayOf } from "./product_sources.js";
import { complaintFacts, told } from "./product_words.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../records/event_types.js").ComplaintEvent} ComplaintEvent */
/** @typedef {import("../records/event_types.js").NewComplaintEvent} NewComplaintEvent */

/** @param {HTMLElement} place @param {string[]} path @param {import("./screen.js").Context} context */
export async function show(place, [id], { units, go }) {
  place.append(cloneTemplate("screen-complaint"));
  slot(place, "edit").href = `#/edit/complaint/${id}`;
  showAttachments(place, id);
  const form = /** @type {HTMLFormElement} */ (slot(place, "form"));
  const begin = () =>
    drawRecord(form, `typed tell_complaint ${id}`, {
      kind: "tell_complaint",
      stored: undefined,
      units,
      others: () => [],
    });
  let draft = begin();

  const keep = (/** @type {NewComplaintEvent} */ event) =>
    tryToKeep(() => store.append("complaint", id, { ...event, at: now() }));

  const tell = async () => {
    const { values, wrong } = readForm(form, units, true);
    if (wrong > 0) {
      goToFirstWrong(form);
      return;
    }
    if (!(await keep(eventOf(values)))) return;
    draft.forget();
    draft = begin();
  };
  slot(place, "tell").addEventListener("click", tell);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    void tell();
  });

  /** @param {ComplaintEvent} event */
  const correct = async (event) => {
    const shown = event.type === "reported" ? event.on : "";
    const value = await askInBox(t("The right day"), shown, (text) => text, "date");
    if (value !== null) await keep({ type: "corrected", event: event.id, field: "on", value });
  };

  return drawOnChange(ofKinds("complaint", "pour", "product", "lot", "buyer"), async () => {
    const record = await store.get("complaint", id);
    if (record === undefined) {
      go("complaints");
      return;
    }
    const events = await store.events("complaint", id);
    const state = foldComplaint(events);
    const product = record.product && (await store.get("product", record.product));
    setText(slot(place, "name"), record.name ?? "");
    setText(slot(place, "what"), record.what ?? "");
    const gone = record.deleted && h("p", { class: "beware notice" }, t("This complaint was deleted."));
    slot(place, "gone").replaceChildren(...(gone ? [gone] : []));
    showCautions(slot(place, "cautions"), cautionsOf(record, isUnreported(record, state)));
    const buyer = record.buyer && (await store.get("buyer", record.buyer));
    showFacts(slot(place, "facts"), factsOf(record, product, buyer));
    await drawBatch(place, record);
    const lines = {
      words: (/** @type {ComplaintEvent} */ event) => eventWords(event, {}),
      value: (/** @type {ComplaintEvent} */ event, /** @type {string} */ field, /** @type {unknown} */ value) =>
        field === "on" ? "" : valueText(event, field, value, {}, units),
    };
    const undo = (/** @type {ComplaintEvent} */ { id: event }) => void keep({ type: "undone", event });
    replaceKeepingFocus(slot(place, "happened"), ...happened("complaint", { events, state }, lines, correct, undo));
  });
}

/** What she said became of it. @param {Fields} values as the form was read @returns {NewComplaintEvent} */
function eventOf({ what, to, on, text, also }) {
  switch (what) {
    case "reported":
      return { type: "reported", to, on, ...(also && { text: also }) };
    case "closed":
    case "reopened":
      return { type: what, ...(also && { text: also }) };
    default:
      return { type: what, text };
  }
}

/** @param {Fields} record @param {boolean} unreported @returns {{level: string, text: string}[]} */
function cautionsOf(record, unreported) {
  const found = [];
  if (unreported)
    found.push({
      level: "caution",
      text: t(
        "Somebody was hurt. The authority may have to hear of it without undue delay (GPSR Art. 20, from memory: look it up). Sell no more of this batch until you know why, and look for the other candles of its lots.",
      ),
    });
  const day = dayOf(record);
  if (isDay(day) && yearsAfter(day, PERSONAL_YEARS) < localDate(phoneNow()))
    found.push({
      level: "warning",
      text: t(
        "It is older than {n} years. Whether anything in it still tells who it was: take that out (for five years at most, from memory: look it up).",
        { n: PERSONAL_YEARS },
      ),
    });
  return found;
}

/** @param {Fields} record @param {Fields | undefined} product @param {Fields | undefined} buyer who said so */
function factsOf(record, product, buyer) {
  const who = buyer && (buyer.erased ? t("erased") : buyer.name);
  return told([
    ...complaintFacts(record),
    [t("Product"), product?.name],
    [t("Who said so"), who],
    [t("Notes"), record.notes],
  ]);
}

/** The batch that has its code, the lots in it, and what may have to be called back. @param {HTMLElement} place
 * @param {Fields} record */
async function drawBatch(place, { code, pour: of }) {
  slot(place, "candle").hidden = !code && !of;
  const { problem, printed } = readOrWhy(code);
  const pours = (await allPours()).filter((pour) => pour.id === of || (printed !== "" && codeOf(pour) === printed));
  const none =
    printed !== "" && pours.length === 0 ? t("No pour that is kept here has the code {code}.", { code: printed }) : "";
  setText(slot(place, "code"), problem || none);
  slot(place, "code").hidden = !problem && !none;
  const lots = new Map((await store.living("lot")).map((lot) => [lot.id, lot]));
  replaceKeepingFocus(slot(place, "batches"), ...pours.flatMap((pour) => batchParts(pour, lots)));
}

/** @param {unknown} code @returns {{printed: string, problem: string}} */
function readOrWhy(code) {
  if (typeof code !== "string" || code === "") return { printed: "", problem: "" };
  try {
    return { printed: readCode(code).code, problem: "" };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { printed: "", problem: error.message };
  }
}

/** @param {Pour} pour @param {Map<string, store.Plain>} lots */
function batchParts(pour, lots) {
  const code = codeOf(pour);
  const [used = new Set()] = ofEach([pour], (each) => [lotsIn(each)]);
  const links = [...used].flatMap((lot) => {
    const name = lots.get(lot)?.name;
    return name
      ? [h("a", { class: "quiet small", href: `#/trace/${lot}` }, t("What else was made of {lot}", { lot: name }))]
      : [];
  });
  return [
    card({
      ...{ href: `#/entry/${pour.id}`, of: pour.sheet, name: batchTitle({ pour, code }) },
      under: dayText(localDate(pour.record.started_at)),
    }),
    h(
      "p",
      { class: "links" },
      code && h("a", { class: "quiet", href: `#/candle/${code}` }, t("The other candles of this batch")),
      h("a", { class: "quiet", href: `#/recall/new/pour/${pour.id}` }, t("Recall this batch")),
      ...links,
    ),
  ];
}
