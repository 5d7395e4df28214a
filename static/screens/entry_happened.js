/** Every event of a pour or a burn test in order; what was undone or corrected stays to be seen. */

import { correctableField } from "../bench/event_words.js";
import { correctionsOf, isStep, undoneEvents } from "../records/events.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { t } from "../words/door.js";
import { h } from "./dom.js";

/** @typedef {import("../records/event_types.js").PourEvent | import("../records/event_types.js").BurnTestEvent | import("../records/event_types.js").MadeLabelEvent | import("../records/event_types.js").ComplaintEvent | import("../records/event_types.js").BatchEvent} Event */
/**
 * @template {Event} E
 * @typedef {object} Told how its events are told
 * @property {(event: E) => string} words what happened, in a line
 * @property {(event: E, field: string, value: unknown) => string} value of a field, in her units; "" where it is none
 * @property {(event: E) => boolean} [canCorrect] without, each that has a field which can be corrected
 */

/**
 * The lines of the list.
 * @template {Event} E
 * @param {"pour" | "burn_test" | "made_label" | "complaint" | "batch"} kind @param {{events: E[], state: {counted: E[]}}} of it @param {Told<E>} told
 * @param {(event: E) => void} correct @param {(event: E) => void} undo
 */
export function happened(kind, { events, state }, told, correct, undo) {
  const undone = undoneEvents(kind, events);
  const corrections = correctionsOf(kind, events);
  const button = (/** @type {string} */ key, /** @type {string} */ label, /** @type {() => void} */ onclick) =>
    h("button", { type: "button", class: "quiet small", "data-key": key, onclick }, label);
  const hands = new Set(events.map(({ by }) => by));
  let day = "";
  const isNewDay = (/** @type {E} */ event, /** @type {number} */ index) => {
    const before = day;
    day = localDate(event.at);
    return index > 0 && day !== before;
  };

  /** @param {E} event */
  function lineOf(event) {
    const field = correctableField(event) ?? "";
    const text = (/** @type {unknown} */ each) => told.value(event, field, each);
    const value = text(/** @type {Record<string, unknown>} */ (event)[field]);
    const correction = corrections.get(event.id);
    const source = "source" in event && event.source;
    const how = told.value(event, "how", "how" in event && event.how);
    return h(
      "span",
      {},
      told.words(event),
      value !== "" && ": ",
      value !== "" && (correction ? h("s", {}, value) : h("b", {}, value)),
      source && `, ${t("from {source}", { source })}`,
      how && `, ${how}`,
      hands.size > 1 && event.by && `, ${t("by {who}", { who: event.by })}`,
      correction && h("b", {}, ` ${text(correction.value)}`),
      correction && ` ${t("corrected {day}", { day: dayText(localDate(correction.at)) })}`,
      undone.has(event.id) && ` ${t("(undone)")}`,
    );
  }

  return events
    .filter(({ type }) => type !== "undone" && type !== "corrected")
    .map((event, index) => {
      const isUndone = undone.has(event.id);
      const canCorrect = correctableField(event) !== null && !isUndone && (told.canCorrect?.(event) ?? true);
      const canUndo = event.id === state.counted.at(-1)?.id || (!isStep(kind, event.type) && !isUndone);
      return h(
        "li",
        { class: isUndone ? "undone" : "" },
        isNewDay(event, index) && h("span", { class: "day" }, dayText(day)),
        h("time", {}, timeText(event.at)),
        lineOf(event),
        h(
          "span",
          { class: "mend" },
          canCorrect && button(`correct ${event.id}`, t("Correct"), () => correct(event)),
          canUndo && button(`undo ${event.id}`, t("Undo"), () => undo(event)),
        ),
      );
    });
}
