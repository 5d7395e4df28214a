/** Every event of a pour in order; what was undone or corrected stays to be seen. */

import { correctableField, eventWords, valueText } from "../bench/event_words.js";
import { correctionsOf, isStep, undoneEvents } from "../records/events.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { t } from "../words/door.js";
import { h } from "./dom.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */

/**
 * The lines of the list.
 * @param {Pour} pour @param {DisplayUnits} units @param {(event: PourEvent) => void} correct
 * @param {(event: PourEvent) => void} undo
 */
export function happened({ record, events, state }, units, correct, undo) {
  const undone = undoneEvents("pour", events);
  const corrections = correctionsOf("pour", events);
  const button = (/** @type {string} */ key, /** @type {string} */ label, /** @type {() => void} */ onclick) =>
    h("button", { type: "button", class: "quiet small", "data-key": key, onclick }, label);
  const hands = new Set(events.map(({ by }) => by));
  let day = "";
  const isNewDay = (/** @type {PourEvent} */ event, /** @type {number} */ index) => {
    const before = day;
    day = localDate(event.at);
    return index > 0 && day !== before;
  };

  /** @param {PourEvent} event */
  function lineOf(event) {
    const field = correctableField(event) ?? "";
    const text = (/** @type {unknown} */ each) => valueText(event, field, each, record, units);
    const value = text(/** @type {Record<string, unknown>} */ (event)[field]);
    const correction = corrections.get(event.id);
    const source = "source" in event && event.source;
    const how = valueText(event, "how", "how" in event && event.how, record, units);
    return h(
      "span",
      {},
      eventWords(event, record),
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
      const canCorrect = correctableField(event) !== null && !isUndone;
      const canUndo = event.id === state.counted.at(-1)?.id || (!isStep("pour", event.type) && !isUndone);
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
