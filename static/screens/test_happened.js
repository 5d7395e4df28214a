/** An event of a burn test in words, and how a number of it is set right. */
import { capital } from "../bench/cues.js";
import { correctableField, eventWords } from "../bench/event_words.js";
import { GRADES } from "../burns/burn_words.js";
import { parseNumber } from "../formulas/units.js";
import { eventType, holds } from "../records/events.js";
import { InputError, message, t, worded } from "../words/door.js";
import { askInBox } from "./ask_in_box.js";
import { candleWithWick } from "./test_words.js";

/** @typedef {import("../burns/tests.js").BurnTest} BurnTest */
/** @typedef {import("../records/event_types.js").BurnTestEvent} BurnTestEvent */
/** @typedef {import("../records/event_types.js").NewBurnTestEvent} NewBurnTestEvent */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** How the events of a test are told. @param {BurnTest} test @param {DisplayUnits} units
 * @returns {import("./entry_happened.js").Told<BurnTestEvent>} */
export function toldOf({ sheet, state }, units) {
  return {
    words(event) {
      // What is rated blind does not say which it is.
      if (event.type === "rated" && event.letter && state.blind !== null)
        return t("Letter {letter}: {what}", { letter: event.letter, what: eventWords(event, {}) });
      const where = placeOf(sheet, event);
      return where === "" ? eventWords(event, {}) : t("{where}: {what}", { where, what: eventWords(event, {}) });
    },
    canCorrect: (event) => event.type !== "saw" || isGraded(event),
    value(event, field, value) {
      const kept = eventType("burn_test", event.type)?.fields[field];
      if (kept === undefined || value === undefined || value === "" || !holds(kept, value)) return "";
      switch (field) {
        case "read_g":
          return units.text(Number(value), "mass", sheet.step_g);
        case "mm":
          return units.text(Number(value), "length");
        case "temp_c":
          return units.text(Number(value), "temperature");
        case "grade":
          // That the pool is full, or the flame low, is no matter of degree.
          return event.type === "saw" && isGraded(event)
            ? worded(GRADES[/** @type {keyof typeof GRADES} */ (event.what)][Number(value)])
            : "";
        default:
          // The line says it already.
          return "";
      }
    },
  };
}

/** @param {Extract<BurnTestEvent, {type: "saw"}>} event */
const isGraded = ({ what }) => Object.hasOwn(GRADES, what);

/** Where in the test it was: such as 'Candle 2, flat cotton 4, sitting 1, after 2 h'. @param {BurnTest["sheet"]} sheet
 * @param {BurnTestEvent} event */
function placeOf(sheet, event) {
  if (!("candle" in event) || event.candle === undefined) return "";
  const parts = [candleWithWick(sheet, event.candle)];
  if ("burn" in event) parts.push(t("sitting {n}", { n: event.burn + 1 }));
  if ("mark" in event && sheet.marks_h[event.mark] !== undefined)
    parts.push(t("after {hours} h", { hours: sheet.marks_h[event.mark] }));
  return capital(parts.join(", "));
}

/** The event that sets another right; null if she went back. @param {BurnTestEvent} event @param {BurnTest} test
 * @param {DisplayUnits} units @returns {Promise<NewBurnTestEvent | null>} */
export async function askTestCorrection(event, { sheet }, units) {
  const field = correctableField(event) ?? "";
  const kept = eventType("burn_test", event.type)?.fields[field];
  if (kept === undefined) return null;
  const before = Number(/** @type {Record<string, any>} */ (event)[field]);
  const read = (/** @type {string} */ text) => {
    const value = kept.dimension ? units.read(text, kept.dimension) : parseNumber(text);
    if (!holds(kept, value)) throw new InputError(RANGES[field]);
    const isPool = event.type === "measured" && (event.what === "pool" || event.what === "across");
    if (isPool && value > sheet.width_mm) {
      const width = units.text(sheet.width_mm, "length");
      throw new InputError("The pool can't be wider than the vessel, which is {width} inside: check it.", { width });
    }
    return value;
  };
  const shown = kept.dimension ? units.editable(before, kept.dimension) : String(before);
  const value = await askInBox(worded(QUESTIONS[field]), shown, read);
  return value === null ? null : { type: "corrected", event: event.id, field: /** @type {any} */ (field), value };
}

const ASKS = message("What should it have been?");

/** What is asked for. @type {Record<string, import("../words/door.js").Message>} */
const QUESTIONS = {
  read_g: ASKS,
  mm: ASKS,
  temp_c: ASKS,
  grade: message("How much was it, from 0, none, to 3, bad?"),
  rating: message("What should the rating be, from 1 to 5?"),
  seconds: message("How many seconds did it smoke?"),
};

const CHECK = message("That is no number that can be right here: check it.");

/** What is said of a number that can't be. @type {Record<string, import("../words/door.js").Message>} */
const RANGES = {
  read_g: CHECK,
  mm: CHECK,
  temp_c: CHECK,
  grade: message("Write a whole number from 0 to 3."),
  rating: message("Write a whole number from 1 to 5."),
  seconds: message("Write whole seconds, an hour at most."),
};
