/** One pour looked back on: targets beside readings, the temperature curve, what happened when. */

import { curve } from "../bench/chart.js";
import { now } from "../bench/clock.js";
import { waitOf } from "../bench/countdown.js";
import { nameOf } from "../bench/due.js";
import { correctableField, eventWords, valueText } from "../bench/event_words.js";
import { addEvent, isOnBench, readPour } from "../bench/pours.js";
import { loadLine } from "../bench/prompt.js";
import { ready } from "../formulas/cure.js";
import { correctionsOf, isStep, undoneEvents } from "../records/events.js";
import * as store from "../records/store.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { cloneTemplate, fact, h, replaceKeepingFocus, rich, showToast, slot } from "./dom.js";
import { keepDraft } from "./form.js";
import { askReading } from "./pad.js";
import { drawComing, keepBurns } from "./reminder_list.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../records/event_types.js").NewPourEvent} NewEvent */
/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */

/** @param {HTMLElement} place @param {string[]} path @param {any} given */
export async function show(place, [id], given) {
  const { units, go } = given;
  const found = await readPour(id);
  if (found === null) {
    go("log");
    return;
  }
  let pour = found;
  place.append(cloneTemplate("screen-entry"));

  function draw() {
    const { sheet, state } = pour;
    slot(place, "name").textContent = nameOf(sheet);
    slot(place, "again").href = `#/plan/${sheet.recipe}`;
    slot(place, "facts").replaceChildren(...facts(pour, units));
    slot(place, "jugs").replaceChildren(
      ...(isOnBench(pour) ? [h("p", {}, h("a", { class: "go", href: `#/pour/${id}/0` }, "Go on with this pour"))] : []),
      ...state.jugs.map((_, index) => jugSection(pour, index, units)),
    );
    const finish = pour.events.flatMap((each) => (each.type === "finished" && each.text ? [each] : []));
    const notes = [...state.notes, ...finish.map(({ at, text }) => ({ at, text }))];
    slot(place, "notes").replaceChildren(
      ...notes.map(({ at, text }) => h("li", {}, h("time", {}, dayText(localDate(at))), " ", text)),
    );
    const undo = (/** @type {PourEvent} */ event) => void keep({ type: "undone", event: event.id });
    drawComing(place, pour, given, keep);
    replaceKeepingFocus(slot(place, "happened"), ...happened(pour, units, correct, undo));
  }

  const keep = async (/** @type {NewEvent} */ event) => {
    try {
      await addEvent(pour, event, now());
    } catch (error) {
      if (error instanceof store.StoreError) showToast(error.message);
      else if (error instanceof store.MovedOn) showToast("This pour has moved on in another tab: look again.");
      else throw error;
      return false;
    } finally {
      pour = (await readPour(id)) ?? pour;
      draw();
    }
    return true;
  };

  /** A number was wrong: the right one counts from now on, the wrong one stays to be seen.
   * @param {PourEvent} event */
  async function correct(event) {
    if (event.type === "set") {
      const date = await askDate("Poured on", event.on);
      if (date !== null) await keep({ type: "corrected", event: event.id, field: "on", value: date });
      return;
    }
    const mass = "read_g" in event;
    const before = "read_g" in event ? event.read_g : "temp_c" in event ? event.temp_c : 0;
    const value = await askReading(
      {
        asks: "What should it have been?",
        dimension: mass ? "mass" : "temperature",
        expected: null,
        step: mass ? Math.min(pour.sheet.step_g, pour.sheet.fine_step_g) : pour.sheet.thermometer_step_c,
        doubt: (number) => doubtCorrection(number, before, mass, pour.sheet, units),
      },
      units,
    );
    if (value !== null) {
      await keep({ type: "corrected", event: event.id, field: mass ? "read_g" : "temp_c", value });
    }
  }

  const forget = keepDraft(slot(place, "add"), `draft note ${id}`, units, () => []);
  slot(place, "add").addEventListener("submit", async (/** @type {Event} */ event) => {
    event.preventDefault();
    const box = slot(place, "note");
    const text = box.value.trim();
    if (text !== "" && (await keep({ type: "noted", text }))) {
      box.value = "";
      forget();
    }
  });
  keepBurns(place, id, units, keep);
  const remove = slot(place, "remove");
  remove.addEventListener("click", async () => {
    if (remove.dataset.sure !== "yes") {
      remove.dataset.sure = "yes";
      remove.textContent = "Delete this pour: sure?";
      return;
    }
    try {
      await store.remove("pour", id);
    } catch (error) {
      if (!(error instanceof store.StoreError)) throw error;
      showToast(error.message);
      return;
    }
    go("log");
  });
  draw();
}

/** @param {Pour} pour @param {DisplayUnits} units */
function facts({ sheet, state, record }, units) {
  const coarse = (/** @type {number} */ grams) => units.text(grams, "mass", sheet.step_g);
  const list = [
    fact("Begun", `${dayText(localDate(record.started_at))}, ${timeText(record.started_at)}`),
    fact(
      "Planned",
      `${coarse(sheet.wax_g)} wax, ${units.text(sheet.fragrance_g, "mass", sheet.fine_step_g)} fragrance`,
    ),
  ];
  if (state.set_on) {
    list.push(
      fact("Poured", dayText(state.set_on)),
      fact("Cured from", `**${dayText(ready(state.set_on, sheet.cure_least_days))}**`),
      fact("Best from", `**${dayText(ready(state.set_on, sheet.cure_best_days))}**`),
    );
  }
  if (sheet.wick) list.push(fact("Wick", sheet.wick.name));
  if (state.tops) list.push(fact("Tops", state.tops));
  return list;
}

/** @param {Pour} pour @param {number} index @param {DisplayUnits} units */
function jugSection({ sheet, state }, index, units) {
  const jug = state.jugs[index];
  const coarse = (/** @type {number} */ grams) => units.text(grams, "mass", sheet.step_g);
  const rows = jug.weighings
    .filter(({ read_g }) => read_g !== null)
    .map((each) => {
      const text = (/** @type {number} */ grams) => units.text(grams, "mass", stepOf(sheet, each.part));
      return row(
        each.part === "restore" ? `${each.name}, added to restore the load` : each.name,
        text(each.target_g),
        text(each.read_g ?? 0),
      );
    });
  const vessels = jug.poured.map((each, number) =>
    row(`vessel ${number + 1}`, coarse(each.target_g), coarse(each.read_g)),
  );
  const parts = [h("h2", {}, state.jugs.length > 1 ? `Jug ${index + 1}` : "In the jug")];
  if (rows.length + vessels.length > 0) {
    parts.push(
      h(
        "table",
        {},
        h(
          "thead",
          {},
          h(
            "tr",
            {},
            h("th", { scope: "col" }, "What"),
            h("th", { scope: "col" }, "Target"),
            h("th", { scope: "col" }, "Read"),
          ),
        ),
        h("tbody", {}, ...rows, ...vessels),
      ),
    );
  }
  if (jug.fragrance_g > 0 && jug.wax_g > 0) parts.push(h("p", { class: "load" }, ...rich(loadLine(sheet, jug))));
  if (jug.all_dips.length > 0) {
    const holder = h("div", { class: "chart" });
    const text = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
    const window = sheet.load > 0 ? sheet.fragrance : sheet.pour;
    // The dips that the countdown rested on, with its curve; all of them where there was none.
    const cooled = jug.cooled.length > 0 ? jug.cooled : jug.dips;
    const end_ms = (cooled.at(-1) ?? jug.all_dips[jug.all_dips.length - 1]).at;
    const wait = waitOf(sheet, { ...jug, step: "cool", warming: false, dips: cooled }, end_ms);
    holder.append(
      wait.forecast ? curve(cooled, window, wait, end_ms, text) : curve(jug.all_dips, window, null, end_ms, text),
    );
    parts.push(holder);
  }
  return h("section", { class: "jug" }, ...parts);
}

/** @param {string} name @param {string} target @param {string} read */
function row(name, target, read) {
  return h("tr", {}, h("th", { scope: "row" }, name), h("td", {}, target), h("td", {}, read));
}

/** What the scale reads to on which a part is weighed; a vessel's has no name.
 * @param {import("../bench/sheet.js").Sheet} sheet @param {string} [part] */
const stepOf = (sheet, part = "wax") => (part === "wax" || part === "restore" ? sheet.step_g : sheet.fine_step_g);

/** Every event in order; what was undone or corrected stays to be seen.
 * @param {Pour} pour @param {DisplayUnits} units @param {(event: PourEvent) => void} correct
 * @param {(event: PourEvent) => void} undo */
function happened({ record, events, state }, units, correct, undo) {
  const undone = undoneEvents("pour", events);
  const corrections = correctionsOf("pour", events);
  const button = (/** @type {string} */ label, /** @type {() => void} */ onclick) =>
    h("button", { type: "button", class: "quiet small", onclick }, label);
  let day = "";
  const isNewDay = (/** @type {PourEvent} */ event, /** @type {number} */ index) => {
    const before = day;
    day = localDate(event.at);
    return index > 0 && day !== before;
  };
  return events
    .filter(({ type }) => type !== "undone" && type !== "corrected")
    .map((event, index) => {
      const field = correctableField(event);
      const text = (/** @type {unknown} */ value) => valueText(event, field ?? "", value, record, units);
      const correction = corrections.get(event.id);
      const value = field === null ? "" : text(/** @type {Record<string, unknown>} */ (event)[field]);
      return h(
        "li",
        { class: undone.has(event.id) ? "undone" : "" },
        isNewDay(event, index) && h("span", { class: "day" }, dayText(day)),
        h("time", {}, timeText(event.at)),
        h(
          "span",
          {},
          eventWords(event, record),
          value === "" ? "" : ": ",
          value === "" ? "" : correction ? h("s", {}, value) : h("b", {}, value),
          "source" in event && event.source ? `, from ${event.source}` : "",
          correction ? h("b", {}, ` ${text(correction.value)}`) : "",
          correction ? ` corrected ${dayText(localDate(correction.at))}` : "",
          undone.has(event.id) ? " (undone)" : "",
        ),
        h(
          "span",
          { class: "mend" },
          field !== null && !undone.has(event.id) && button("Correct", () => correct(event)),
          (event.id === state.counted.at(-1)?.id || (!isStep("pour", event.type) && !undone.has(event.id))) &&
            button("Undo", () => undo(event)),
        ),
      );
    });
}

/** A correction that is far from what was read is asked about once.
 * @param {number} value @param {number} before @param {boolean} mass
 * @param {import("../bench/sheet.js").Sheet} sheet @param {DisplayUnits} units */
function doubtCorrection(value, before, mass, sheet, units) {
  const far = mass ? value > 2 * before || value < before / 2 : value > sheet.highest_c || value <= sheet.room_c;
  if (!far) return null;
  const text = mass
    ? units.text(value, "mass", Math.min(sheet.step_g, sheet.fine_step_g))
    : units.text(value, "temperature", sheet.thermometer_step_c);
  return { question: `${text} is far from what was read. Is it right?`, answers: [{ label: `Yes, ${text}`, value }] };
}

/** Ask for a day. @param {string} asks @param {string} shown ISO 8601 @returns {Promise<string | null>} */
function askDate(asks, shown) {
  const box = /** @type {HTMLInputElement} */ (h("input", { type: "date", value: shown, required: true }));
  const form = h(
    "form",
    { method: "dialog" },
    h("label", {}, h("span", { class: "name" }, asks), box),
    h("button", { value: "keep", class: "go" }, "Keep"),
    h("button", { value: "back", class: "quiet", formnovalidate: true }, "Back"),
  );
  const dialog = /** @type {HTMLDialogElement} */ (h("dialog", { class: "ask" }, form));
  document.body.append(dialog);
  dialog.showModal();
  return new Promise((resolve) => {
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(dialog.returnValue === "keep" && box.value !== "" ? box.value : null);
    });
  });
}
