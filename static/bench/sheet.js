/** A recipe planned for the bench: the pour sheet that a pour keeps, whatever changes later. */

import { EFFICIENCIES, meltEnergyJ } from "../formulas/heat.js";
import { write } from "../formulas/rounding.js";
import { countFromWax, plan, vesselsPerJug } from "../formulas/weigh.js";
import { InputError } from "../words/door.js";
import { fractionsOf, mixOf, sharesOf } from "./mixing.js";
import { sizeVessel } from "./sizing.js";

/** @typedef {import("./mixing.js").Fields} Fields */
/** @typedef {import("./mixing.js").Materials} Materials */
/**
 * @typedef {object} Tools what she weighs, heats and reads with; records or their defaults
 * @property {Fields} scale
 * @property {Fields} fine scale for fragrance and additives
 * @property {Fields} jug
 * @property {Fields} thermometer
 * @property {Fields | null} [heater] with the efficiency learned of it
 * @property {number} room_c
 * @property {number[][]} [history] what past pours have told of how this jug cools
 * @property {number} allowance_g
 */

/** The shape of a sheet; `openSheet` brings older ones to it. */
export const SHEET_VERSION = 3;

/** @typedef {ReturnType<typeof makeSheet>} Sheet */

/**
 * What is used stands in it by id and by the name it had, so that a pour can be traced to its materials
 * however they are called later; the id is null where no record of it was kept.
 * @param {Fields} recipe @param {Materials} materials @param {Tools} tools @param {number} count of the recipe's vessel
 * @param {{vessel: Fields, count: number}[]} [also] further sizes, from the same melt
 * @throws {InputError} a sentence that says what is missing or does not fit
 */
export function makeSheet(recipe, materials, tools, count, also = []) {
  const wick = materials.wicks.get(recipe.wick);
  const mix = mixOf(recipe, materials);
  const sizes = [{ vessel: vesselOf(recipe, materials), count }, ...also].map(({ vessel, count: number }) => {
    const { wax_g, mix_g, most_g } = sizeVessel(vessel, mix);
    return { ...named(vessel), most_g, count: number, each_g: mix_g, wax_each_g: wax_g };
  });
  const [first, ...others] = sizes;
  const planned = plan(count, first.wax_each_g, mix.load, {
    ...options(mix, tools),
    also: others.map((size) => /** @type {[number, number]} */ ([size.count, size.wax_each_g])),
  });
  fitsFineScale(planned, tools.fine);
  return {
    version: SHEET_VERSION,
    title: recipe.name,
    recipe: recipe.id,
    count: planned.vessels,
    sizes,
    // What the server and older phones read of the first size.
    vessel: { id: first.id, name: first.name, most_g: first.most_g },
    wick: wick === undefined ? null : named(wick),
    load: mix.load,
    load_of: recipe.load_of ?? "wax",
    highest_load: mix.highest_load,
    waxes: mix.waxes,
    oils: mix.oils,
    extras: mix.extras,
    each_g: first.each_g,
    wax_each_g: first.wax_each_g,
    step_g: tools.scale.step_g,
    fine_step_g: tools.fine.step_g,
    scale: named(tools.scale),
    fine: { ...named(tools.fine), capacity_g: tools.fine.capacity_g ?? null },
    capacity_g: tools.scale.capacity_g,
    thermometer: named(tools.thermometer),
    thermometer_step_c: tools.thermometer.step_c,
    heater: tools.heater
      ? {
          id: tools.heater.id,
          name: tools.heater.name,
          way: tools.heater.way,
          power_w: tools.heater.power_w,
          burst_s: tools.heater.burst_s ?? 60,
          efficiency: tools.heater.efficiency ?? defaultEfficiency(tools.heater.way),
        }
      : null,
    family: mix.family,
    flash_c: mix.flash_c,
    jug: {
      ...named(tools.jug),
      empty_g: tools.jug.empty_g ?? 0,
      volume_ml: tools.jug.volume_ml ?? null,
    },
    allowance_g: tools.allowance_g,
    room_c: tools.room_c,
    molten_density: mix.molten_density,
    fragrance_density: mix.fragrance_density,
    fragrance: mix.fragrance,
    pour: mix.pour,
    highest_c: mix.highest_c,
    stir_s: mix.stir_s,
    trim_days: mix.trim_days,
    label_days: mix.label_days,
    cure_least_days: mix.cure_least_days,
    cure_best_days: mix.cure_best_days,
    burn_days: mix.burn_days,
    /** what past pours have told of how this jug cools */
    history: tools.history ?? [],
    wax_g: planned.wax_g,
    fragrance_g: planned.fragrance_g,
    load_low: planned.load_low,
    load_high: planned.load_high,
    fine_enough: planned.fine_enough,
    count_for_scale: planned.count_for_scale,
    jugs: planned.jugs,
  };
}

/** @param {Fields} recipe @param {Materials} materials @returns {Fields} */
function vesselOf(recipe, { vessels }) {
  const vessel = vessels.get(recipe.vessel);
  if (vessel === undefined) throw new InputError("This recipe has no vessel: give it one first.");
  return vessel;
}

/** A record as the sheet names it. @param {Fields} record @returns {{id: string | null, name: string}} */
function named({ id, name }) {
  return { id: id || null, name };
}

/**
 * How many of the recipe's vessels the wax will fill, beside those of further sizes.
 * @param {Fields} recipe @param {Materials} materials @param {Tools} tools @param {number} wax_g
 * @param {{vessel: Fields, count: number}[]} [also]
 */
export function vesselsFrom(recipe, materials, tools, wax_g, also = []) {
  const mix = mixOf(recipe, materials);
  const filled = sizeVessel(vesselOf(recipe, materials), mix);
  let free_g = wax_g;
  for (const { vessel, count: number } of also) free_g -= number * sizeVessel(vessel, mix).wax_g;
  const { jug_volume_ml, jug_empty_g, scale_capacity_g, allowance_g } = options(mix, tools);
  const per_jug = vesselsPerJug(filled.mix_g, filled.hot_ml, {
    jug_volume_ml,
    jug_empty_g,
    scale_capacity_g,
    allowance_g,
  });
  const count = countFromWax(Math.max(0, free_g), filled.wax_g, {
    load: mix.load,
    additives: mix.additives,
    allowance_g,
    per_jug,
  });
  if (count < 1) throw new InputError("That is not enough wax for one vessel.");
  return count;
}

/** Whether the room is as warm as the wax should get: then it never cools to it.
 * @param {Pick<Sheet, "load" | "fragrance" | "pour" | "room_c">} sheet */
export function isTooWarm({ load, fragrance, pour, room_c }) {
  return Math.min(pour.target_c, load > 0 ? fragrance.target_c : Infinity) <= room_c;
}

/** What reaches the wax, before any melt of her own. @param {string} way */
export function defaultEfficiency(way) {
  return /** @type {Record<string, number>} */ (EFFICIENCIES)[way] ?? EFFICIENCIES.bain_marie;
}

/** Wax is brought this far above where the fragrance goes in (our choice). */
const ABOVE_C = 5;

/** What molten wax is brought to, a little above where it is wanted (°C).
 * @param {Pick<Sheet, "load" | "fragrance" | "pour" | "highest_c" | "room_c">} sheet */
function meltedTo(sheet) {
  const wanted_c = (sheet.load > 0 ? sheet.fragrance : sheet.pour).high_c + ABOVE_C;
  return Math.max(sheet.room_c, Math.min(wanted_c, sheet.highest_c));
}

/** Joules to melt `wax_g` and bring it there.
 * @param {Pick<Sheet, "load" | "fragrance" | "pour" | "highest_c" | "room_c" | "family">} sheet @param {number} wax_g */
export function meltEnergyOf(sheet, wax_g) {
  return meltEnergyJ(wax_g, sheet.room_c, meltedTo(sheet), { wax: sheet.family ?? "vegetable" });
}

/** @param {import("../formulas/weigh.js").Plan} planned @param {Fields} fine */
function fitsFineScale({ jugs }, fine) {
  const capacity_g = fine.capacity_g ?? Infinity;
  for (const { target_g } of jugs.flatMap(({ fragrances, additives }) => [...fragrances, ...additives])) {
    if (target_g <= capacity_g) continue;
    throw new InputError(
      "A jug takes {grams} g of fragrance and {scale} carries {capacity} g: choose another scale for the fragrance, " +
        "or pour fewer.",
      { grams: write(target_g, fine.step_g), scale: fine.name, capacity: write(capacity_g, 1) },
    );
  }
}

/** @param {import("./mixing.js").Mix} mix @param {Tools} tools */
function options(mix, tools) {
  return {
    scale_step_g: tools.scale.step_g,
    fragrance_step_g: tools.fine.step_g,
    scale_capacity_g: tools.scale.capacity_g ?? null,
    jug_volume_ml: tools.jug.volume_ml ?? null,
    jug_empty_g: tools.jug.empty_g ?? 0,
    allowance_g: tools.allowance_g,
    molten_density: mix.molten_density,
    fragrance_density: mix.fragrance_density,
    waxes: sharesOf(mix.waxes),
    oils: mix.oils.length ? sharesOf(mix.oils) : undefined,
    additives: fractionsOf(mix.extras),
  };
}

/** Each vessel of a jug by its size, in the order in which they are filled. @param {Pick<Sheet, "sizes" | "jugs">} sheet
 * @param {number} jugIndex */
export function vesselsOfJug({ sizes, jugs }, jugIndex) {
  return jugs[jugIndex].sizes.flatMap((count, at) => /** @type {typeof sizes} */ (new Array(count).fill(sizes[at])));
}
