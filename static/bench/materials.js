/** What a recipe is planned with: the materials that are kept, and the room. */
import { all } from "../records/store.js";
import { DEFAULTS } from "./display_units.js";

/** @typedef {import("./mixing.js").Fields} Fields */
/** @typedef {import("./mixing.js").Materials} Materials */

/** @returns {Promise<Materials>} */
export async function materials() {
  const [vessels, waxes, oils, additives, wicks] = await Promise.all(
    ["vessel", "wax", "fragrance", "additive", "wick"].map(byId),
  );
  return { vessels, waxes, oils, additives, wicks };
}

/** @param {string} kind @returns {Promise<Map<string, Fields>>} */
async function byId(kind) {
  return new Map((await all(kind)).map((record) => [record.id, record]));
}

/** Her workshop's room and allowance, or the stated defaults. @param {Fields} workshop */
export function roomOf(workshop) {
  return {
    room_c: workshop.room_c ?? DEFAULTS.room_c,
    allowance_g: workshop.allowance_g ?? DEFAULTS.allowance_g,
  };
}
