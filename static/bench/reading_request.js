/** A reading that is asked for at a jug: what it is of, what it should be, what is odd, and the event it becomes. */
import { t } from "../words/door.js";
import { waitOf } from "./countdown.js";
import { vesselsOfJug } from "./sheet.js";
import { expectedC, nextFragrance } from "./temperature_prompt.js";

/** @typedef {import("./pours.js").Pour} Pour */
/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("./fold.js").JugState} JugState */
/** @typedef {import("./display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {NonNullable<import("./prompt_shape.js").Action["pad"]>} Pad what is read */
/**
 * @typedef {object} ReadingRequest
 * @property {string} asks the question
 * @property {"mass" | "temperature"} dimension
 * @property {number} step of the scale or thermometer, base unit
 * @property {number | null} around what it should be near, base unit; null where nothing tells. It is where a ladder of
 *   readings opens, and never a reading itself
 * @property {(value: number) => Doubt | null} doubt what can hardly be meant is questioned once
 * @property {(value: number, told?: Told) => import("./prompt_shape.js").NewEvent} event
 */
/**
 * @typedef {object} Told how a reading came
 * @property {string} [source] the instrument that told it by itself
 * @property {"mark"} [how] she filled to the scale's mark and touched it: it tells the mark, and no more
 */
/** @typedef {{question: string, answers: {label: string, value: number}[]}} Doubt */

/**
 * @param {Pour} pour @param {number} jugIndex @param {Pad} pad
 * @param {number} now_ms @param {DisplayUnits} units @returns {ReadingRequest | null} null where nothing is left to weigh
 */
export function readingRequest({ sheet, state }, jugIndex, pad, now_ms, units) {
  const jug = state.jugs[jugIndex];
  if (pad === "temperature") {
    const isCooling = (jug.step === "cool" || jug.step === "settle") && !jug.warming;
    return {
      asks: t("What does the thermometer show?"),
      dimension: "temperature",
      step: sheet.thermometer_step_c,
      around: expectedC(sheet, jug, now_ms),
      doubt: (value) => doubtTemperature(value, isCooling ? waitOf(sheet, jug, now_ms).temp_c : null, sheet, units),
      event: (temp_c, told) => ({ type: "read", jug: jugIndex, temp_c, ...told }),
    };
  }
  if (pad === "vessel") {
    const [vessel] = jug.open;
    const expected = jug.vessel_targets_g[vessel];
    return {
      asks: t("What does the scale show, with the vessel filled?"),
      dimension: "mass",
      step: sheet.step_g,
      around: expected,
      doubt: (value) =>
        doubtFill(value, expected, vesselsOfJug(sheet, jugIndex)[vessel], sheet.step_g, units) ??
        doubtMass(value, expected, null, sheet.step_g, units),
      event: (read_g, told) => ({ type: "poured", jug: jugIndex, read_g, ...told }),
    };
  }
  if (pad === "left") return leftRequest(sheet, jug, jugIndex, units);
  if (pad === "other") return otherRequest(sheet, jug, jugIndex, units);
  const weighing = jug.current ?? nextFragrance(jug);
  if (weighing === null) return null;
  const { part, index, target_g } = weighing;
  const step = part === "wax" || part === "restore" ? sheet.step_g : sheet.fine_step_g;
  const before_g = weighing.in_cup ? null : weighing.reads_g - target_g;
  return {
    asks: t("What does the scale show?"),
    dimension: "mass",
    step,
    around: target_g,
    doubt: (value) => doubtMass(value, target_g, before_g, step, units),
    event: (read_g, told) => ({ type: "weighed", jug: jugIndex, part, index, read_g, ...told }),
  };
}

/** What is left in a jug that spilled: weighed with it, where its empty weight is known.
 * @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {DisplayUnits} units @returns {ReadingRequest} */
function leftRequest({ jug: { empty_g }, step_g }, jug, jugIndex, units) {
  const text = (/** @type {number} */ grams) => units.text(grams, "mass", step_g);
  const most_g = empty_g + jug.left_g;
  return {
    asks:
      empty_g > 0
        ? t("Put the jug on the zeroed scale, with what is left in it. What does it show?")
        : t("About how much is left in the jug?"),
    dimension: "mass",
    step: step_g,
    around: null,
    doubt(value) {
      if (value < empty_g) {
        const question = t("The empty jug alone weighs {weight}. Weigh it again.", { weight: text(empty_g) });
        return { question, answers: [] };
      }
      if (value <= most_g + step_g) return null;
      const question = t("There was no more than {weight} on it. Weigh it again.", { weight: text(most_g) });
      return { question, answers: [] };
    },
    event: (read_g) => ({ type: "spilled", jug: jugIndex, read_g: Math.max(0, read_g - empty_g) }),
  };
}

/** A vessel that was not planned, and takes what is left.
 * @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {DisplayUnits} units @returns {ReadingRequest} */
function otherRequest({ step_g }, { left_g }, jugIndex, units) {
  return {
    asks: t("Zero the scale with the empty vessel on it, and fill it. What does it show?"),
    dimension: "mass",
    step: step_g,
    around: null,
    doubt(value) {
      const shown = { reading: units.text(value, "mass", step_g), left: units.text(left_g, "mass", step_g) };
      if (value <= 0) return { question: t("Type what it shows, more than nothing."), answers: [] };
      if (value <= left_g + step_g) return null;
      return {
        question: t("Only about {left} was left. Is it {reading}?", shown),
        answers: [{ label: t("Yes, {reading}", shown), value }],
      };
    },
    event: (read_g, told) => ({ type: "filled_other", jug: jugIndex, read_g, ...told }),
  };
}

/** No wax is ever colder or hotter than this, °C (common practice, no source). */
export const COLDEST_C = -10;
export const HOTTEST_C = 150;

/** A dip so far under the curve, or over it, can hardly be one of this wax, °C (our choice). */
const FAR_UNDER_C = 20;
const FAR_OVER_C = 10;

/** @param {number} value @param {number | null} around_c where the curve has it; null where none tells
 * @param {Sheet} sheet @param {DisplayUnits} units @returns {Doubt | null} */
function doubtTemperature(value, around_c, sheet, units) {
  const reading = units.text(value, "temperature", sheet.thermometer_step_c);
  if (value < COLDEST_C || value > HOTTEST_C)
    return {
      question: t("Wax is never at {reading}. Read it again, and type what it shows.", { reading }),
      answers: [],
    };
  const answers = [{ label: t("Yes, {reading}", { reading }), value }];
  if (value > sheet.highest_c) {
    return {
      question: t("{reading} is hotter than this wax may get. Heat off. Is that what it shows?", { reading }),
      answers,
    };
  }
  if (value <= sheet.room_c) {
    return { question: t("{reading} is no warmer than the room. Is that what it shows?", { reading }), answers };
  }
  if (around_c !== null && (value < around_c - FAR_UNDER_C || value > around_c + FAR_OVER_C)) {
    return {
      question: t("{reading} is far from what the dips before say. Is that what it shows?", { reading }),
      answers,
    };
  }
  return null;
}

/** Where a vessel's brim is not known, so much over its fill is more than most have room for (our choice: a
 * vessel is usually filled to 85 % of what it holds, common practice, no source). */
const ROOM = 1.2;

/** A fill of more than the vessel holds. @param {number} value @param {number} target_g @param {Sheet["sizes"][number]} vessel
 * @param {number} step_g @param {DisplayUnits} units @returns {Doubt | null} */
function doubtFill(value, target_g, vessel, step_g, units) {
  if (value <= Math.max(vessel.most_g ?? target_g * ROOM, target_g) + step_g) return null;
  const reading = units.text(value, "mass", step_g);
  return {
    question: t("{reading} is more than one {vessel} holds. Is that what it shows?", { reading, vessel: vessel.name }),
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
    question: t("{reading} is far from {target}. Is that what it shows?", { reading, target: text(target_g) }),
    answers: [{ label: t("Yes, {reading}", { reading }), value }],
  };
}
