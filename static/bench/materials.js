/** Reading several kinds at once, for the screens that need them together. */
import { DEFAULTS } from "../bench/display_units.js";
import { TOOLS } from "../bench/sheet.js";
import { all } from "../records/store.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {{vessels: Map<string, Fields>, waxes: Map<string, Fields>, oils: Map<string, Fields>, wicks: Map<string, Fields>}} Materials */

/** @returns {Promise<Materials>} */
export async function materials() {
  const [vessels, waxes, oils, wicks] = await Promise.all(["vessel", "wax", "fragrance", "wick"].map(byId));
  return { vessels, waxes, oils, wicks };
}

/** @param {string} kind @returns {Promise<Map<string, Fields>>} */
async function byId(kind) {
  return new Map((await all(kind)).map((record) => [record.id, record]));
}

/** Her tools, or the stated defaults. @param {import("../bench/display_units.js").DisplayUnits} units */
export async function toolbox(units) {
  const [scales, jugs, thermometers, heaters] = await Promise.all(["scale", "jug", "thermometer", "heater"].map(all));
  return {
    heaters,
    scales: scales.length ? scales : [{ id: "", ...(units.units.mass === "g" ? TOOLS.scale : TOOLS.scale_in_ounces) }],
    jugs: jugs.length ? jugs : [{ id: "", ...TOOLS.jug }],
    thermometers: thermometers.length ? thermometers : [{ id: "", ...TOOLS.thermometer }],
  };
}

/** Her workshop's room and allowance, or the stated defaults. @param {Fields} workshop */
export function roomOf(workshop) {
  return {
    room_c: workshop.room_c ?? DEFAULTS.room_c,
    allowance_g: workshop.allowance_g ?? DEFAULTS.allowance_g,
  };
}
