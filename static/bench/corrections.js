/** A reading that was wrong, and the right one: how finely it is told, and when it is asked about. */

import { t } from "../words/door.js";

/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("./display_units.js").DisplayUnits} DisplayUnits */

/** The finer of her scales' steps, grams. @param {Sheet} sheet */
export const finestStep = (sheet) => Math.min(sheet.step_g, sheet.fine_step_g);

/**
 * A correction that is far from what was read is asked about once.
 * @param {number} value @param {number} before base units @param {"mass" | "temperature"} dimension
 * @param {Sheet} sheet @param {DisplayUnits} units
 */
export function doubtCorrection(value, before, dimension, sheet, units) {
  const isMass = dimension === "mass";
  const far = isMass ? value > 2 * before || value < before / 2 : value > sheet.highest_c || value <= sheet.room_c;
  if (!far) return null;
  const text = units.text(value, dimension, isMass ? finestStep(sheet) : sheet.thermometer_step_c);
  return {
    question: t("{reading} is far from what you read then. Is it right?", { reading: text }),
    answers: [{ label: t("Yes, {reading}", { reading: text }), value }],
  };
}
