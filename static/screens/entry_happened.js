/** Every event of a pour in order; what was undone or corrected stays to be seen. */

import { scaleStep } from "../bench/corrections.js";
import { AFTERWARDS } from "../bench/fold.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { t } from "../words/door.js";
import { h } from "./dom.js";
import { CORRECTABLE, inWords } from "./entry_events.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../records/store.js").AnyEvent} AnyEvent */

/**
 * The lines of the list.
 * @param {Pour} pour @param {DisplayUnits} units @param {(event: AnyEvent, field: string) => void} correct
 * @param {(event: AnyEvent) => void} undo
 */
export function happened({ sheet, events, state }, units, correct, undo) {
  const undone = new Set(events.filter(({ type }) => type === "undone").map(({ event }) => event));
  const corrections = new Map(events.filter(({ type }) => type === "corrected").map((each) => [each.event, each]));
  const button = (/** @type {string} */ key, /** @type {string} */ label, /** @type {() => void} */ onclick) =>
    h("button", { type: "button", class: "quiet small", "data-key": key, onclick }, label);
  let day = "";
  const isNewDay = (/** @type {AnyEvent} */ event, /** @type {number} */ index) => {
    const before = day;
    day = localDate(event.at);
    return index > 0 && day !== before;
  };

  /** @param {AnyEvent} event */
  function lineOf(event) {
    const field = CORRECTABLE[event.type] ?? null;
    const value = field === null ? undefined : event[field];
    const correction = corrections.get(event.id);
    const text = (/** @type {unknown} */ each) => valueText(each, field, event, sheet, units);
    const what = inWords(event, sheet);
    const jug = Number(event.jug) + 1;
    return h(
      "span",
      {},
      state.jugs.length > 1 && event.jug !== undefined ? t("{what}, jug {jug}", { what, jug }) : what,
      value !== undefined && ": ",
      value !== undefined && (correction ? h("s", {}, text(value)) : h("b", {}, text(value))),
      event.source && `, ${t("from {source}", { source: event.source })}`,
      correction && h("b", {}, ` ${text(correction.value)}`),
      correction && ` ${t("corrected {day}", { day: dayText(localDate(correction.at)) })}`,
      undone.has(event.id) && ` ${t("(undone)")}`,
    );
  }

  return events
    .filter(({ type }) => type !== "undone" && type !== "corrected")
    .map((event, index) => {
      const field = CORRECTABLE[event.type] ?? null;
      const isUndone = undone.has(event.id);
      const canUndo = event.id === state.counted.at(-1)?.id || (AFTERWARDS.has(event.type) && !isUndone);
      return h(
        "li",
        { class: isUndone ? "undone" : "" },
        isNewDay(event, index) && h("span", { class: "day" }, dayText(day)),
        h("time", {}, timeText(event.at)),
        lineOf(event),
        h(
          "span",
          { class: "mend" },
          field !== null && !isUndone && button(`correct ${event.id}`, t("Correct"), () => correct(event, field)),
          canUndo && button(`undo ${event.id}`, t("Undo"), () => undo(event)),
        ),
      );
    });
}

/** A reading as its instrument tells it; whatever else was kept as it is.
 * @param {unknown} value @param {string | null} field @param {AnyEvent} event
 * @param {import("../bench/sheet.js").Sheet} sheet @param {DisplayUnits} units */
function valueText(value, field, event, sheet, units) {
  if (field === "on" && typeof value === "string") return dayText(value);
  if (typeof value !== "number") return String(value ?? "");
  return field === "temp_c"
    ? units.text(value, "temperature", sheet.thermometer_step_c)
    : units.text(value, "mass", scaleStep(sheet, event.part));
}
