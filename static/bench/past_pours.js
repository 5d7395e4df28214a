/** What past pours have told: how a jug cools, and how much of a heater's power reaches the wax. */
import { learn } from "../formulas/cooling/learn.js";
import { learnEfficiency } from "../formulas/heat.js";
import { settledOf, unsettled } from "../records/store.js";
import { InputError } from "../words/door.js";
import { ofEach, poursOf } from "./pours.js";
import { defaultEfficiency, meltEnergyOf } from "./sheet.js";

/** @typedef {import("./pours.js").Pour} Pour */

/** Past pours that a jug's forecast, or a heater's, learns from, at most. */
const LEARN_FROM = 12;

/** A melt shorter or longer than this was not timed: the button was touched early, or late. */
const LEAST_MELT_S = 120;
const MOST_MELT_S = 3 * 3600;

/** Of a tool's settled pours, so many are looked at: not each of them tells something. */
const LOOK_AT = 2 * LEARN_FROM;

/** The pours that may tell something of these tools, the newest first. @param {Record<string, any>[]} tools */
export async function pastPours(tools) {
  const rows = await Promise.all([unsettled("pour"), ...tools.map(({ id }) => settledOf(`tool ${id}`, LOOK_AT))]);
  return poursOf([...new Set(rows.flat().map(({ id }) => id))]);
}

/**
 * What past pours have told of how a jug cools, oldest first.
 * @param {Pour[]} pours @param {string | null} jug the jug's id; null: one that is not kept
 * @returns {number[][]}
 */
export function jugHistory(pours, jug) {
  /** @type {number[][]} */
  let history = [];
  const cooled = pours
    .filter(({ sheet }) => sheet.jug.id === jug)
    .sort((a, b) => a.record.started_at - b.record.started_at)
    .flatMap(({ sheet, state }) => state.jugs.map(({ cooled: dips, wax_g }) => ({ sheet, dips, wax_g })))
    .filter(({ dips, wax_g }) => dips.length >= 2 && wax_g > 0);
  for (const { sheet, dips, wax_g } of cooled.slice(-LEARN_FROM)) {
    try {
      const readings = dips.map(
        ({ at, temp_c }) => /** @type {[number, number]} */ ([(at - dips[0].at) / 1000, temp_c]),
      );
      const { thermometer_step_c, room_c } = sheet;
      history = [...history, learn(readings, room_c, { thermometer_step_c, mass_g: wax_g, history })];
    } catch (error) {
      // Readings that make no curve teach nothing.
      if (!(error instanceof InputError)) throw error;
    }
  }
  return history;
}

/**
 * How much of a heater's power reaches the wax, from past melts with it. The wax counts as on the heat
 * from when it was weighed; a melt left for hours says nothing.
 * @param {Pour[]} pours @param {string} heater the heater's id @param {string} way
 */
export function learnedEfficiency(pours, heater, way) {
  const melts = ofEach(pours, ({ sheet, state }) => {
    if (sheet.heater?.id !== heater) return [];
    const { power_w } = sheet.heater;
    return state.jugs.flatMap(({ wax_g, weighed_at, melted_at }) => {
      if (weighed_at === null || melted_at === null || wax_g <= 0) return [];
      const took_s = (melted_at - weighed_at) / 1000;
      if (took_s < LEAST_MELT_S || took_s > MOST_MELT_S) return [];
      const melt = /** @type {[number, number, number]} */ ([meltEnergyOf(sheet, wax_g), power_w, took_s]);
      // One that teaches nothing must not keep the others from it.
      learnEfficiency([melt], defaultEfficiency(way));
      return [melt];
    });
  });
  return learnEfficiency(melts.slice(0, LEARN_FROM), defaultEfficiency(way));
}
