/** A vessel seen from the side: its outline, and where its fill line lies. */

import { HEADSPACE_MM } from "../formulas/fill.js";
import { sizeVessel, USUAL_MIX } from "./sizing.js";

/** Where only the line is known, a vessel is drawn so full. */
const USUALLY_FULL = 0.85;

/**
 * @typedef {object} VesselShape
 * @property {number} base_mm inside width at the bottom
 * @property {number} brim_mm inside width at the brim
 * @property {number} height_mm inside height to the brim
 * @property {number} line_mm height of the fill line over the bottom
 * @property {boolean} isMeasured false: only what it holds is known, and it is drawn as high as it is wide
 */

/**
 * @param {import("./sizing.js").Fields} vessel its record
 * @returns {VesselShape}
 * @throws {import("../words/door.js").InputError} what is known of the vessel gives no fill
 */
export function vesselShape(vessel) {
  const { line_ml, brim_ml, hot_ml } = sizeVessel(vessel, USUAL_MIX);
  const { method, height_mm, diameter_mm, length_mm, top_diameter_mm, headspace_mm } = vessel;
  if (method === "round" || method === "box") {
    const base_mm = method === "box" ? length_mm : diameter_mm;
    return {
      base_mm,
      brim_mm: (method === "round" && top_diameter_mm) || base_mm,
      height_mm,
      line_mm: height_mm - (headspace_mm ?? HEADSPACE_MM),
      isMeasured: true,
    };
  }
  const filled_ml = line_ml ?? hot_ml;
  const whole_ml = brim_ml ?? filled_ml / USUALLY_FULL;
  // A cylinder as high as it is wide holds π/4 of the cube around it.
  const side_mm = Math.cbrt((4000 * whole_ml) / Math.PI);
  return {
    base_mm: side_mm,
    brim_mm: side_mm,
    height_mm: side_mm,
    line_mm: (side_mm * filled_ml) / whole_ml,
    isMeasured: false,
  };
}
