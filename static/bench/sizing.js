/** What one vessel takes: its record and a mix, to wax and fragrance, with both levels. */

import * as fill from "../formulas/fill.js";
import { InputError, message, t } from "../words/door.js";

/** @typedef {Record<string, any>} Fields */
/**
 * @typedef {object} Densities what the fill depends on
 * @property {number} load fraction of the wax
 * @property {number} additives fraction of the wax
 * @property {number} molten_density
 * @property {number} solid_density
 * @property {number} fragrance_density
 */
/**
 * @typedef {object} Fill
 * @property {number} wax_g
 * @property {number} fragrance_g
 * @property {number} mix_g wax, fragrance and additives
 * @property {number | null} line_ml volume to the fill line; null where only a weight is known
 * @property {number | null} brim_ml
 * @property {number} hot_ml what it takes up when poured
 * @property {number} set_ml what it takes up when set
 * @property {number | null} hot_below_mm how far under the brim it stands when poured
 * @property {number | null} set_below_mm
 * @property {number | null} most_g the most hot mix it holds, to the brim
 * @property {string[]} warnings
 */

/** For a vessel that is looked at before any recipe. @type {Densities} */
export const USUAL_MIX = {
  load: 0.08,
  additives: 0,
  molten_density: 0.86,
  solid_density: 0.9,
  fragrance_density: 0.98,
};

/** Usual pouring jugs hold no more, ml (common practice, no source). */
export const USUAL_JUG_ML = 2000;

/** What is said of a vessel that can't take its fill. */
export const runsOver = () =>
  t("Poured hot, this runs over the brim. Leave more free at the top, or fill to the line when poured.");

/**
 * @param {Fields} vessel @param {Densities} mix @returns {Fill}
 * @throws {InputError} what is known of the vessel gives no fill; a sentence says what is missing
 */
export function sizeVessel(vessel, mix) {
  const { line_ml, brim_ml, below } = measured(vessel);
  const { load, additives, molten_density, solid_density, fragrance_density } = mix;
  const [wax_g, fragrance_g] =
    line_ml === null
      ? [needed(vessel, "wax_g", message("Give the weight of wax for one.")), vessel.wax_g * load]
      : fill.fillMasses(
          line_ml,
          load,
          vessel.line === "set" ? solid_density : molten_density,
          fragrance_density,
          additives,
        );
  const extra_g = wax_g * additives;
  const hot_ml = fill.mixVolumeMl(wax_g, fragrance_g, molten_density, fragrance_density, extra_g);
  const set_ml = fill.mixVolumeMl(wax_g, fragrance_g, solid_density, fragrance_density, extra_g);
  const mix_g = wax_g + fragrance_g + extra_g;
  const over = brim_ml !== null && hot_ml > brim_ml * (1 + 1e-9);
  const hot_below_mm = over || below === null ? null : below(hot_ml);
  const set_below_mm = below === null || (brim_ml !== null && set_ml > brim_ml) ? null : below(set_ml);
  const warnings = [];
  if (vessel.method === "round" && vessel.top_diameter_mm && vessel.top_diameter_mm < vessel.diameter_mm) {
    warnings.push(t("It is narrower at the brim than at the base: was it measured upside down?"));
  }
  if (over) {
    warnings.push(runsOver());
  } else if (hot_below_mm !== null && hot_below_mm < (vessel.headspace_mm ?? fill.HEADSPACE_MM) - 0.05) {
    warnings.push(
      t("Poured hot, it stands higher than the space you leave at the top; it sinks to the line as it sets."),
    );
  }
  return {
    wax_g,
    fragrance_g,
    mix_g,
    line_ml,
    brim_ml,
    hot_ml,
    set_ml,
    hot_below_mm,
    set_below_mm,
    most_g: brim_ml === null ? null : (mix_g * brim_ml) / hot_ml,
    warnings,
  };
}

/**
 * Volumes to the line and to the brim, and the way from a volume to a level, as far as known.
 * @param {Fields} vessel
 * @returns {{line_ml: number | null, brim_ml: number | null, below: ((ml: number) => number) | null}}
 */
function measured(vessel) {
  const method = vessel.method ?? "water";
  if (method === "weight") return { line_ml: null, brim_ml: null, below: null };
  if (method === "water") {
    const temp_c = vessel.water_c ?? 20;
    const water_g = needed(vessel, "water_g", message("Weigh the water that fills it to the line."));
    const line_ml = fill.waterVolumeMl(water_g, temp_c);
    const brim_ml = vessel.brim_g ? fill.waterVolumeMl(vessel.brim_g, temp_c) : null;
    if (brim_ml !== null && brim_ml < line_ml) {
      throw new InputError("The water to the brim weighs less than the water to the line: check both.", {}, "brim_g");
    }
    return { line_ml, brim_ml, below: null };
  }
  if (method === "label") {
    const label_ml = needed(vessel, "label_ml", message("Give the volume on its label."));
    return { line_ml: fill.labelVolumeMl(label_ml, vessel.fill_fraction ?? 0.85), brim_ml: label_ml, below: null };
  }
  const height_mm = needed(vessel, "height_mm", message("Measure the inside height to the brim."));
  const line_mm = height_mm - (vessel.headspace_mm ?? fill.HEADSPACE_MM);
  if (line_mm <= 0) {
    throw new InputError("The space left at the top is as high as the vessel: leave less.", {}, "headspace_mm");
  }
  if (method === "round") {
    const base = needed(vessel, "diameter_mm", message("Measure the inside width at the base."));
    const top = vessel.top_diameter_mm ?? base;
    return {
      line_ml: fill.roundVolumeMl(base, line_mm, fill.diameterAt(line_mm, height_mm, base, top)),
      brim_ml: fill.roundVolumeMl(base, height_mm, top),
      below: (ml) => height_mm - fill.roundHeightMm(ml, base, height_mm, top),
    };
  }
  const length = needed(vessel, "length_mm", message("Measure the inside length."));
  const width = needed(vessel, "width_mm", message("Measure the inside width."));
  return {
    line_ml: fill.boxVolumeMl(length, width, line_mm),
    brim_ml: fill.boxVolumeMl(length, width, height_mm),
    below: (ml) => height_mm - fill.boxHeightMm(ml, length, width, height_mm),
  };
}

/** @param {Fields} vessel @param {string} field @param {import("../words/door.js").Message} said where it is missing
 * @returns {number} */
function needed(vessel, field, said) {
  if (typeof vessel[field] !== "number") throw new InputError(said, {}, field);
  return vessel[field];
}
