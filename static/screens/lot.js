/** One lot: what is left of it, what happened to it, and what she has to say of it. */
import { now, phoneNow } from "../bench/clock.js";
import { eventWords } from "../bench/event_words.js";
import { correctionsOf, undoneEvents } from "../records/events.js";
import * as store from "../records/store.js";
import { MATERIALS } from "../shelf/lots.js";
import { readShelf } from "../shelf/stock.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { InputError, message, t, worded } from "../words/door.js";
import { askInBox } from "./ask_in_box.js";
import { showAttachments } from "./attachments.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, showCautions, showFacts, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";
import { readAmount } from "./shelf_amount.js";
import { amountText, farDay, keepsText, lotCautions } from "./shelf_words.js";

/** @typedef {import("../records/event_types.js").LotEvent} LotEvent */
/** @typedef {import("../records/event_types.js").NewLotEvent} NewLotEvent */
/** @typedef {import("../shelf/stock.js").Lot} Lot */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {"counted" | "used" | "thrown_away" | "sent_back" | "opened" | "withdrawn" | "noted"} What */

/** What she may say, what is then asked for, and what its words are for.
 * @type {[What, import("../words/door.js").Message, import("../words/door.js").Message | null, import("../words/door.js").Message][]} */
const CHOICES = [
  ["counted", message("I counted what is there"), message("There is"), message("Why it differs, if you know")],
  ["used", message("I used some, in no pour"), message("How much"), message("What for")],
  ["thrown_away", message("I threw some away"), message("How much"), message("Why")],
  ["sent_back", message("I sent some back"), message("How much"), message("Why")],
  ["opened", message("I opened it"), null, message("Note")],
  ["withdrawn", message("It must not be used"), null, message("Why")],
  ["noted", message("Something to note"), null, message("Note")],
];

/** @param {HTMLElement} place @param {string[]} path the id; then 'count' for a stocktake
 * @param {import("./screen.js").Context} context */
export async function show(place, [id, then], { units, go }) {
  place.append(cloneTemplate("screen-lot"));
  showAttachments(place, id);
  const form = slot(place, "form");
  const what = /** @type {HTMLSelectElement} */ (slot(place, "what"));
  what.replaceChildren(...CHOICES.map(([name, words]) => h("option", { value: name }, worded(words))));
  slot(place, "edit").href = `#/edit/lot/${id}`;
  slot(place, "trace").href = `#/trace/${id}`;
  slot(place, "day").value = localDate(phoneNow());
  /** @type {Lot} */
  let lot;
  let pieces = false;

  const choose = () => {
    const [name, , asks, whys] = /** @type {typeof CHOICES[number]} */ (CHOICES.find(([each]) => each === what.value));
    slot(place, "amounts").hidden = asks === null;
    slot(place, "days").hidden = name !== "opened";
    setText(slot(place, "asks"), asks ? worded(asks) : "");
    setText(slot(place, "whys"), worded(whys));
    slot(place, "error").hidden = true;
  };
  const forget = keepDraft(form, `draft lot ${id}`);
  what.addEventListener("change", choose);
  choose();

  form.addEventListener("submit", async (/** @type {Event} */ event) => {
    event.preventDefault();
    const error = slot(place, "error");
    error.hidden = true;
    try {
      const said = eventSaid(place, /** @type {What} */ (what.value), pieces, units);
      if (!(await tryToKeep(() => store.append("lot", id, { ...said, at: now() })))) return;
      forget();
      for (const name of ["amount", "why"]) slot(place, name).value = "";
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      error.textContent = problem.message;
      error.hidden = false;
      slot(place, problem.about === "why" ? "why" : "amount").focus();
    }
  });

  /** @param {NewLotEvent} event */
  const keep = (event) => tryToKeep(() => store.append("lot", id, { ...event, at: now() }));

  const leave = await drawOnChange(ofKinds("lot", "pour", "supplier", ...MATERIALS), async () => {
    const shelf = await readShelf(localDate(phoneNow()), { lots: [id] });
    const found = shelf.lots.get(id);
    if (found === undefined) {
      go("shelf");
      return;
    }
    lot = found;
    const material = shelf.materials.get(lot.material);
    pieces = material?.pieces ?? lot.record.by === "pieces";
    const back = slot(place, "back");
    back.href = material ? `#/material/${material.kind}/${material.id}` : "#/shelf";
    setText(back, material?.name ?? t("The shelf"));
    setText(slot(place, "name"), lot.name);
    const supplier = lot.record.supplier && (await store.get("supplier", lot.record.supplier));
    showFacts(slot(place, "facts"), factsOf(lot, pieces, supplier?.name, shelf.today, units));
    showCautions(slot(place, "cautions"), lotCautions(lot, shelf.today));
    const wrong =
      lot.state.counted_wrong &&
      h(
        "p",
        { class: "beware notice" },
        t("More was used than ever came. Count what is there, or correct what came or what was weighed."),
      );
    replaceKeepingFocus(slot(place, "wrong"), ...(wrong ? [wrong] : []));
    replaceKeepingFocus(slot(place, "happened"), ...lifeOf(lot, pieces, units, keep));
  });
  if (then === "count") slot(place, "amount").focus();
  return leave;
}

/** What she said happened. @param {HTMLElement} place @param {What} type @param {boolean} pieces @param {DisplayUnits} units
 * @returns {NewLotEvent} @throws {InputError} */
function eventSaid(place, type, pieces, units) {
  const why = slot(place, "why").value.trim();
  switch (type) {
    case "withdrawn":
      if (why === "") throw new InputError("Say why it must not be used.", {}, "why");
      return { type, why };
    case "noted":
      if (why === "") throw new InputError("Write the note.", {}, "why");
      return { type, text: why };
    case "opened":
      if (slot(place, "day").value === "") throw new InputError("Say on which day.", {}, "day");
      return { type, on: slot(place, "day").value };
    default: {
      const amount = readAmount(slot(place, "amount").value, pieces, units);
      if (amount === 0 && type !== "counted")
        throw new InputError("Say how much it was, more than nothing.", {}, "amount");
      return { type, amount, ...(why && { why }) };
    }
  }
}

/** @param {Lot} lot @param {boolean} pieces @param {string | undefined} supplier @param {string} today @param {DisplayUnits} units
 * @returns {[string, string][]} */
function factsOf(lot, pieces, supplier, today, units) {
  const { state, record } = lot;
  const text = (/** @type {number} */ amount) => amountText(amount, pieces, units);
  /** @type {[string, string][]} */
  const facts = [
    [t("There is"), `**${text(state.here)}**`],
    [t("Came"), t("{amount}, {day}", { amount: text(state.came), day: farDay(record.received_on, today) })],
  ];
  if (state.out > 0) facts.push([t("Went out"), text(state.out)]);
  if (state.differences !== 0) facts.push([t("Counted otherwise"), signed(state.differences, text)]);
  const keeps = keepsText(lot, today);
  if (keeps !== "") facts.push([t("Shelf life"), keeps]);
  if (state.opened_on) facts.push([t("Opened"), farDay(state.opened_on, today)]);
  if (supplier) facts.push([t("Supplier"), supplier]);
  const papers = [
    record.certificate,
    record.certificate_revision,
    record.certificate_on && farDay(record.certificate_on, today),
  ];
  if (papers.some(Boolean)) facts.push([t("Certificate or sheet"), papers.filter(Boolean).join(", ")]);
  if (record.notes) facts.push([t("Notes"), record.notes]);
  return facts;
}

/** A difference with its sign. @param {number} amount @param {(amount: number) => string} text */
function signed(amount, text) {
  return amount < 0 ? t("{amount} less", { amount: text(-amount) }) : t("{amount} more", { amount: text(amount) });
}

/** All that changed it, the newest first: what pours took, and what she said. @param {Lot} lot @param {boolean} pieces
 * @param {DisplayUnits} units @param {(event: NewLotEvent) => void} keep */
function lifeOf({ events, state, record }, pieces, units, keep) {
  const undone = undoneEvents("lot", events);
  const corrections = correctionsOf("lot", events);
  /** @param {LotEvent & {amount: number}} event */
  const correct = async (event) => {
    const shown = pieces ? String(event.amount) : units.editable(event.amount, "mass");
    const read = (/** @type {string} */ typed) => readAmount(typed, pieces, units);
    const value = await askInBox(t("What should it have been?"), shown, read);
    if (value !== null) keep({ type: "corrected", event: event.id, field: "amount", value });
  };
  const moves = new Map(state.moves.map((move) => [move.event ?? "", move]));
  const text = (/** @type {number} */ amount) => amountText(amount, pieces, units);
  const said = events
    .filter(({ type }) => type !== "undone" && type !== "corrected")
    .map((event) => {
      const move = moves.get(event.id);
      const isUndone = undone.has(event.id);
      const correction = corrections.get(event.id);
      const amount = "amount" in event ? text(event.amount) : "";
      const difference = move?.difference ? `, ${signed(move.difference, text)}` : "";
      const button = (/** @type {string} */ key, /** @type {string} */ label, /** @type {() => void} */ onclick) =>
        h("button", { type: "button", class: "quiet small", "data-key": `${key} ${event.id}`, onclick }, label);
      const mend = [
        "amount" in event && button("correct", t("Correct"), () => void correct(event)),
        button("undo", t("Undo"), () => keep({ type: "undone", event: event.id })),
      ];
      return {
        at: event.at,
        line: [
          eventWords(event, record),
          amount && ": ",
          amount && (correction ? h("s", {}, amount) : h("b", {}, amount)),
          correction && h("b", {}, ` ${text(Number(correction.value))}`),
          difference,
          isUndone && ` ${t("(undone)")}`,
        ],
        mend: isUndone ? [] : mend,
        isUndone,
      };
    });
  const poured = state.moves.flatMap(({ what, at_ms, amount, pour, title }) =>
    what === "poured"
      ? [
          {
            at: at_ms,
            line: [h("a", { href: `#/entry/${pour}` }, String(title)), ": ", h("b", {}, text(amount))],
            mend: [],
            isUndone: false,
          },
        ]
      : [],
  );
  return [...said, ...poured]
    .sort((a, b) => b.at - a.at)
    .map(({ at, line, mend, isUndone }) =>
      h(
        "li",
        { class: isUndone ? "undone" : "" },
        h("span", { class: "day" }, `${dayText(localDate(at))}, ${timeText(at)}`),
        h("span", { class: "told" }, ...line),
        mend.length > 0 && h("span", { class: "mend" }, ...mend),
      ),
    );
}
