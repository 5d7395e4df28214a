/** A reading that is asked for at a jug: what it is of, what it should be, what is odd, and the event it becomes. */
import { t } from "../words/door.js";
import { waitOf } from "./countdown.js";
import { nextFragrance } from "./temperature_prompt.js";

/** @typedef {import("./pours.js").Pour} Pour */
/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("./display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {NonNullable<import("./prompt_shape.js").Action["pad"]>} Pad what is read */
/**
 * @typedef {object} ReadingRequest
 * @property {string} asks the question
 * @property {"mass" | "temperature"} dimension
 * @property {number} step of the scale or thermometer, base unit
 * @property {number | null} expected base unit
 * @property {(value: number) => Doubt | null} doubt what can hardly be meant is questioned once
 * @property {(value: number, source?: string) => import("./prompt_shape.js").NewEvent} event `source` names the
 *   instrument that told it by itself
 */
/** @typedef {{question: string, answers: {label: string, value: number}[]}} Doubt */

/**
 * @param {Pour} pour @param {number} jugIndex @param {Pad} pad
 * @param {number} now_ms @param {DisplayUnits} units @returns {ReadingRequest | null} null where nothing is left to weigh
 */
export function readingRequest({ sheet, state }, jugIndex, pad, now_ms, units) {
  const jug = state.jugs[jugIndex];
  const from = (/** @type {string | undefined} */ source) => (source ? { source } : {});
  if (pad === "temperature") {
    return {
      asks: t("What does the thermometer read?"),
      dimension: "temperature",
      step: sheet.thermometer_step_c,
      // On the heat no curve of cooling says what it should read.
      expected: jug.step === "melt" ? null : waitOf(sheet, jug, now_ms).temp_c,
      doubt: (value) => doubtTemperature(value, sheet, units),
      event: (temp_c, source) => ({ type: "read", jug: jugIndex, temp_c, ...from(source) }),
    };
  }
  if (pad === "vessel") {
    const expected = jug.vessel_targets_g[jug.poured.length];
    return {
      asks: t("What does the filled vessel read?"),
      dimension: "mass",
      step: sheet.step_g,
      expected,
      doubt: (value) =>
        doubtFill(value, expected, sheet, units) ?? doubtMass(value, expected, null, sheet.step_g, units),
      event: (read_g, source) => ({ type: "poured", jug: jugIndex, read_g, ...from(source) }),
    };
  }
  const weighing = jug.current ?? nextFragrance(jug);
  if (weighing === null) return null;
  const { part, index, target_g } = weighing;
  const step = part === "wax" || part === "restore" ? sheet.step_g : sheet.fine_step_g;
  const before_g = weighing.in_cup ? null : weighing.reads_g - target_g;
  return {
    asks: t("What does the scale read?"),
    dimension: "mass",
    step,
    expected: target_g,
    doubt: (value) => doubtMass(value, target_g, before_g, step, units),
    event: (read_g, source) => ({ type: "weighed", jug: jugIndex, part, index, read_g, ...from(source) }),
  };
}

/** No wax is ever colder or hotter than this, °C (common practice, no source). */
const COLDEST_C = -10;
const HOTTEST_C = 150;

/** @param {number} value @param {Sheet} sheet @param {DisplayUnits} units @returns {Doubt | null} */
function doubtTemperature(value, sheet, units) {
  const reading = units.text(value, "temperature", sheet.thermometer_step_c);
  if (value < COLDEST_C || value > HOTTEST_C)
    return {
      question: t("Wax is never at {reading}. Read it again, and type what it reads.", { reading }),
      answers: [],
    };
  const answers = [{ label: t("Yes, {reading}", { reading }), value }];
  if (value > sheet.highest_c) {
    return {
      question: t("{reading} is hotter than this wax may get. Heat off. Is that what it reads?", { reading }),
      answers,
    };
  }
  if (value <= sheet.room_c) {
    return { question: t("{reading} is no warmer than the room. Is that what it reads?", { reading }), answers };
  }
  return null;
}

/** Where a vessel's brim is not known, so much over its fill is more than most have room for (our choice: a
 * vessel is usually filled to 85 % of what it holds, common practice, no source). */
const ROOM = 1.2;

/** A fill of more than the vessel holds. @param {number} value @param {number} target_g @param {Sheet} sheet
 * @param {DisplayUnits} units @returns {Doubt | null} */
function doubtFill(value, target_g, { vessel, step_g }, units) {
  if (value <= Math.max(vessel.most_g ?? target_g * ROOM, target_g) + step_g) return null;
  const reading = units.text(value, "mass", step_g);
  return {
    question: t("{reading} is more than one {vessel} holds. Is that what it reads?", { reading, vessel: vessel.name }),
    answers: [{ label: t("Yes, {reading}", { reading }), value }],
  };
}

/**
 * @param {number} value @param {number} target_g
 * @param {number | null} before_g what the scale shows of jug and all if it was not zeroed
 * @param {number} step_g @param {DisplayUnits} units @returns {Doubt | null}
 */
function doubtMass(value, target_g, before_g, step_g, units) {
  const text = (/** @type {number} */ grams) => units.text(grams, "mass", step_g);
  const far = (/** @type {number} */ grams) => grams <= 0 || grams > 2 * target_g || grams < target_g / 2;
  const reading = text(value);
  if (
    before_g !== null &&
    before_g > 0 &&
    !far(value - before_g) &&
    Math.abs(value - before_g - target_g) < Math.abs(value - target_g)
  ) {
    return {
      question: t("Is {reading} with the jug and what was in it, nothing zeroed?", { reading }),
      answers: [
        { label: t("Yes: that makes {amount}", { amount: text(value - before_g) }), value: value - before_g },
        { label: t("No: {reading} alone", { reading }), value },
      ],
    };
  }
  if (!far(value)) return null;
  return {
    question: t("{reading} is far from {target}. Is that what it reads?", { reading, target: text(target_g) }),
    answers: [{ label: t("Yes, {reading}", { reading }), value }],
  };
}
