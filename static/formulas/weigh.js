/** The pour sheet: how many jugs, and what the scale should read at every weighing. Grams. */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";
import * as fill from "./fill.js";
import * as loads from "./load.js";
import * as rounding from "./rounding.js";

/** A wax weight or a vessel's fill within 1 % is good enough whatever the load (our choice). */
export const WIDEST_BAND = 0.01;

/** A dye or additive within 2 % of its weight is good enough (our choice). */
export const ADDITIVE_BAND = 0.02;

export const MOST_VESSELS = 5000;

/** @typedef {[string, number]} Share a name, and a share or fraction */
/** @typedef {{name: string, target_g: number, low_g: number, high_g: number, reads_g: number}} Target */
/**
 * @typedef {object} Jug
 * @property {number} vessels
 * @property {number[]} sizes
 * @property {number} wax_g
 * @property {number} fragrance_g
 * @property {number} mix_g
 * @property {number} hot_ml
 * @property {Target[]} waxes
 * @property {Target[]} additives
 * @property {Target[]} fragrances
 * @property {number[]} vessel_targets_g
 * @property {number} stays_g
 */
/**
 * @typedef {object} Plan
 * @property {number} vessels
 * @property {number} wax_g
 * @property {number} fragrance_g
 * @property {number} load
 * @property {number} load_low
 * @property {number} load_high
 * @property {boolean} fine_enough
 * @property {number} count_for_scale
 * @property {Jug[]} jugs
 */

/** @typedef {{wax_to_add_g: number, load: number, growth: number, jug_holds: boolean,
 *   vessels_hold: boolean}} Restored */

/** Round parts to `step` so that they add up.
 * @param {number[]} exact @param {number} step @param {number | null} [total] */
export function largestRemainder(exact, step, total = null) {
  checks.positive(step, message("The step"), "step");
  /** @type {number[]} */
  const whole = [];
  /** @type {number[]} */
  const rest = [];
  let summed = 0;
  let placed = 0;
  for (const part of exact) {
    summed += checks.notNegative(part, message("A part"), "exact");
    const below = Math.floor(part / step + rounding.GUARD);
    whole.push(below);
    rest.push(part / step - below);
    placed += below;
  }
  const extra = rounding.steps(total === null ? summed : total, step) - placed;
  const order = whole.map((_, index) => index).sort((a, b) => rest[b] - rest[a] || a - b);
  if (!(0 <= extra && extra <= whole.length)) {
    throw new InputError("These parts can't add up to that total.", {}, "total");
  }
  for (const index of order.slice(0, extra)) whole[index] += 1;
  return whole.map((count) => rounding.times(count, step));
}

/** The wax readings that keep the load the same to a tenth of a per cent.
 * @param {number} target_g @param {number} load @param {number} step @returns {[number, number]} */
export function waxBand(target_g, load, step) {
  const target = checks.positive(target_g, message("The target"), "target_g");
  const part = checks.within(load, message("The load"), 0, 1, "load");
  let low = target * (1 - WIDEST_BAND);
  let high = target * (1 + WIDEST_BAND);
  if (part > loads.TOLERANCE) {
    low = target * Math.max(1 - WIDEST_BAND, part / (part + loads.TOLERANCE));
    high = target * Math.min(1 + WIDEST_BAND, part / (part - loads.TOLERANCE));
  }
  const middle = rounding.roundTo(target, step);
  return [
    Math.max(0, Math.min(rounding.roundUp(low, step), rounding.roundTo(middle - step, step))),
    Math.max(rounding.roundDown(high, step), rounding.roundTo(middle + step, step)),
  ];
}

/** The readings of a filled vessel that are good enough.
 * @param {number} target_g @param {number} step @returns {[number, number]} */
export function vesselBand(target_g, step) {
  const target = checks.positive(target_g, message("The target"), "target_g");
  const slack = Math.max(checks.positive(step, message("The step"), "step"), target * WIDEST_BAND);
  return [Math.max(0, rounding.roundUp(target - slack, step)), rounding.roundDown(target + slack, step)];
}

/** @param {number} exact @param {number} slack @param {number} step @returns {[number, number]} */
function around(exact, slack, step) {
  const target = rounding.roundTo(exact, step);
  const low = rounding.roundUp(Math.max(0, exact - slack), step);
  return [Math.min(low, target), Math.max(rounding.roundDown(exact + slack, step), target)];
}

/** The weighings of one jug's waxes.
 * @param {number} wax_g @param {number} load @param {Share[]} waxes @param {number} step
 * @param {number} before_g @returns {Target[]} */
export function waxTargets(wax_g, load, waxes, step, before_g) {
  const total = rounding.roundTo(checks.positive(wax_g, message("The wax"), "wax_g"), step);
  const rounded = largestRemainder(shared(wax_g, waxes, "waxes"), step, total);
  let reads = before_g;
  return rounded.map((target, index) => {
    const [low, high] = target > 0 ? waxBand(target, load, step) : [0, rounding.times(1, step)];
    reads += target;
    return {
      name: waxes[index][0],
      target_g: target,
      low_g: low,
      high_g: high,
      reads_g: rounding.roundTo(reads, step),
    };
  });
}

/** The weighings of the oils for the wax as the scale really read it.
 * @param {number} wax_g @param {number} load @param {Share[]} oils @param {number} step
 * @param {number} before_g @param {number | null} [total_g] @returns {Target[]} */
export function fragranceTargets(wax_g, load, oils, step, before_g, total_g = null) {
  const fragrance = loads.fragranceFor(wax_g, load);
  if (fragrance === 0) return [];
  const exact = shared(fragrance, oils, "oils");
  const rounded = largestRemainder(exact, step, total_g);
  let reads = before_g;
  return rounded.map((target, index) => {
    const slack = (wax_g * loads.TOLERANCE * exact[index]) / fragrance;
    const [low, high] = around(exact[index], slack, step);
    reads += target;
    return {
      name: oils[index][0],
      target_g: target,
      low_g: Math.min(low, target),
      high_g: Math.max(high, target),
      reads_g: rounding.roundTo(reads, step),
    };
  });
}

/** The weighings of dye and additives.
 * @param {number} wax_g @param {Share[]} additives @param {number} step @param {number} before_g
 * @returns {Target[]} */
export function additiveTargets(wax_g, additives, step, before_g) {
  checks.notNegative(wax_g, message("The wax"), "wax_g");
  let reads = before_g;
  return additives.map(([name, fraction]) => {
    const exact = wax_g * checks.within(fraction, message("An additive as a fraction"), 0, 0.5, "additives");
    const target = rounding.roundTo(exact, step);
    const [low, high] = around(exact, exact * ADDITIVE_BAND, step);
    reads += target;
    return { name, target_g: target, low_g: low, high_g: high, reads_g: rounding.roundTo(reads, step) };
  });
}

/** What each vessel takes from a jug; a shortage is shared by all in proportion and not left to the last one.
 * @param {number} mix_g @param {number[]} fills_g designed, of each vessel @param {number} allowance_g
 * @param {number} step */
export function vesselTargets(mix_g, fills_g, allowance_g, step) {
  const mix = checks.positive(mix_g, message("The mix in the jug"), "mix_g");
  const wanted = wantedOf(fills_g);
  const free = Math.max(0, mix - checks.notNegative(allowance_g, message("The allowance"), "allowance_g"));
  const part = Math.min(1, free / wanted);
  let total = rounding.roundTo(part * wanted, step);
  if (total > mix) total = rounding.roundDown(part * wanted, step);
  return largestRemainder(
    fills_g.map((fill_g) => part * fill_g),
    step,
    total,
  );
}

/** The most vessels that one jug serves, whole ones.
 * @param {number} each_g @param {number} each_hot_ml
 * @param {{jug_volume_ml?: number | null, jug_empty_g?: number, scale_capacity_g?: number | null,
 *   allowance_g?: number}} [options] */
export function vesselsPerJug(each_g, each_hot_ml, options = {}) {
  const { jug_volume_ml = null, jug_empty_g = 0, scale_capacity_g = null, allowance_g = 0 } = options;
  const each = checks.positive(each_g, message("The fill of a vessel"), "each_g");
  const hot = checks.positive(each_hot_ml, message("The hot volume of a vessel's fill"), "each_hot_ml");
  const stays = checks.notNegative(allowance_g, message("The allowance"), "allowance_g");
  const empty = checks.notNegative(jug_empty_g, message("The empty jug"), "jug_empty_g");
  let most = MOST_VESSELS;
  if (jug_volume_ml !== null) {
    const room = checks.positive(jug_volume_ml, message("The jug's volume"), "jug_volume_ml") - (stays * hot) / each;
    most = Math.min(most, Math.floor(room / hot + rounding.GUARD));
    if (most < 1) {
      throw new InputError(
        "One vessel takes {hot} ml hot, and the jug holds {jug} ml: use a larger jug.",
        { hot: rounding.write(hot, 1), jug: rounding.write(jug_volume_ml, 1) },
        "jug_volume_ml",
      );
    }
  }
  if (scale_capacity_g !== null) {
    const room = checks.positive(scale_capacity_g, message("The scale's capacity"), "scale_capacity_g") - empty - stays;
    most = Math.min(most, Math.floor(room / each + rounding.GUARD));
    if (most < 1) {
      throw new InputError(
        "The jug with the mix for one vessel weighs {jug} g, and the scale carries " +
          "{scale} g: use a lighter jug or a larger scale.",
        { jug: rounding.write(empty + stays + each, 1), scale: rounding.write(scale_capacity_g, 1) },
        "scale_capacity_g",
      );
    }
  }
  return most;
}

/** How many vessels `wax_g` of wax will fill; 0 if none.
 * @param {number} wax_g @param {number} wax_per_vessel_g
 * @param {{load?: number, additives?: number, allowance_g?: number, per_jug?: number}} [options] */
export function countFromWax(wax_g, wax_per_vessel_g, options = {}) {
  const { load = 0, additives = 0, allowance_g = 0, per_jug = MOST_VESSELS } = options;
  const each = checks.positive(wax_per_vessel_g, message("The wax for a vessel"), "wax_per_vessel_g");
  const toHand = checks.notNegative(wax_g, message("The wax you have"), "wax_g");
  const whole = checks.whole(per_jug, message("Vessels for a jug"), 1, MOST_VESSELS, "per_jug");
  const stays = waxThatStays(allowance_g, load, additives);
  let count = Math.min(MOST_VESSELS, Math.floor(toHand / each + rounding.GUARD));
  while (count > 0 && count * each + Math.ceil(count / whole) * stays > toHand + 1e-6) count -= 1;
  return count;
}

/** The pour sheet for `count` vessels, and for those of further sizes from the same mix, each a count and the wax for one.
 * @param {number} count @param {number} wax_per_vessel_g @param {number} load
 * @param {{scale_step_g?: number, fragrance_step_g?: number | null, scale_capacity_g?: number | null,
 *   jug_volume_ml?: number | null, jug_empty_g?: number, allowance_g?: number,
 *   molten_density?: number, fragrance_density?: number, waxes?: Share[], oils?: Share[],
 *   additives?: Share[], also?: [number, number][]}} [options] @returns {Plan} */
export function plan(count, wax_per_vessel_g, load, options = {}) {
  const {
    scale_step_g = 1,
    fragrance_step_g = null,
    scale_capacity_g = null,
    jug_volume_ml = null,
    jug_empty_g = 0,
    allowance_g = 0,
    molten_density = 0.86,
    fragrance_density = 0.98,
    waxes = [["wax", 1]],
    oils = [["fragrance", 1]],
    additives = [],
    also = [],
  } = options;
  let vessels = 0;
  let whole_g = 0;
  /** @type {[number, number][]} */
  const sizes = [];
  for (const [numberOf, waxOf] of [/** @type {[number, number]} */ ([count, wax_per_vessel_g]), ...also]) {
    vessels += checks.whole(numberOf, message("The number of vessels"), 1, MOST_VESSELS, "count");
    const waxEach = checks.positive(waxOf, message("The wax for a vessel"), "wax_per_vessel_g");
    whole_g += numberOf * waxEach;
    sizes.push([numberOf, waxEach]);
  }
  checks.whole(vessels, message("The number of vessels"), 1, MOST_VESSELS, "count");
  const part = checks.within(load, message("The load as a fraction"), 0, 0.5, "load");
  const step = checks.positive(scale_step_g, message("The scale's step"), "scale_step_g");
  const fine =
    fragrance_step_g === null ? step : checks.positive(fragrance_step_g, message("The fine step"), "fragrance_step_g");
  let added = 0;
  for (const [, fraction] of additives) {
    added += checks.within(fraction, message("An additive as a fraction"), 0, 0.5, "additives");
  }
  const most = sizes.map(([, waxEach]) => {
    const hot = fill.mixVolumeMl(waxEach, waxEach * part, molten_density, fragrance_density, waxEach * added);
    const limits = { jug_volume_ml, jug_empty_g, scale_capacity_g, allowance_g };
    return vesselsPerJug(waxEach * (1 + part + added), hot, limits);
  });
  const counts = sharedOut(
    sizes.map(([numberOf]) => numberOf),
    most,
  );
  const stays = waxThatStays(allowance_g, part, added);
  const exact = counts.map((inJug) => {
    let wax_g = stays;
    for (const [size, numberOf] of inJug.entries()) wax_g += numberOf * sizes[size][1];
    return wax_g;
  });
  const waxesG = largestRemainder(exact, step);
  // Each by itself, though their sum be a step off: a jug's load is what its candles get.
  const oilsG = waxesG.map((wax_g) => rounding.roundTo(wax_g * part, fine));
  const jugs = counts.map((inJug, index) => {
    const wax_g = waxesG[index];
    const oil_g = oilsG[index];
    if (wax_g <= 0) throw new InputError("The scale is too coarse to weigh this little wax.", {}, "scale_step_g");
    const waxParts = waxTargets(wax_g, part, waxes, step, jug_empty_g);
    const extraParts = additiveTargets(wax_g, additives, fine, jug_empty_g + wax_g);
    const extra_g = totalOf(extraParts);
    const oilParts = fragranceTargets(wax_g, part, oils, fine, jug_empty_g + wax_g + extra_g, oil_g);
    const mix_g = wax_g + extra_g + oil_g;
    const wanted = inJug.flatMap((numberOf, size) => new Array(numberOf).fill(sizes[size][1] * (1 + part + added)));
    const fills = vesselTargets(mix_g, wanted, allowance_g, step);
    let poured = 0;
    for (const grams of fills) poured += grams;
    return {
      vessels: wanted.length,
      sizes: inJug,
      wax_g,
      fragrance_g: oil_g,
      mix_g: rounding.roundTo(mix_g, Math.min(step, fine)),
      hot_ml: fill.mixVolumeMl(wax_g, oil_g, molten_density, fragrance_density, extra_g),
      waxes: waxParts,
      additives: extraParts,
      fragrances: oilParts,
      vessel_targets_g: fills,
      stays_g: rounding.roundTo(mix_g - poured, Math.min(step, fine)),
    };
  });
  let waxTotal = 0;
  let oilTotal = 0;
  let least = jugs[0];
  for (const jug of jugs) {
    waxTotal += jug.wax_g;
    oilTotal += jug.fragrance_g;
    if (jug.wax_g < least.wax_g) least = jug;
  }
  const bounds = jugs.map(({ wax_g, fragrance_g }) => loads.bounds(wax_g, fragrance_g, step, fine));
  return {
    vessels,
    wax_g: rounding.roundTo(waxTotal, step),
    fragrance_g: rounding.roundTo(oilTotal, fine),
    load: part,
    load_low: Math.min(...bounds.map(([low]) => low)),
    load_high: Math.max(...bounds.map(([, high]) => high)),
    fine_enough: part === 0 || loads.isFineEnough(least.wax_g, part, fine),
    count_for_scale: part === 0 ? 1 : loads.countForScale(whole_g / vessels, part, fine),
    jugs,
  };
}

/** The wax to add after too much fragrance, and whether jug and vessels still hold it all.
 * @param {number} wax_g @param {number} fragrance_g @param {number} load @param {number} step
 * @param {{fills_g: number[], most_g: (number | null)[], additives_g?: number, allowance_g?: number,
 *   jug_volume_ml?: number | null, molten_density?: number, fragrance_density?: number}} options
 * `fills_g` and `most_g` are of each vessel @returns {Restored} */
export function restore(wax_g, fragrance_g, load, step, options) {
  const {
    fills_g,
    most_g,
    additives_g = 0,
    allowance_g = 0,
    jug_volume_ml = null,
    molten_density = 0.86,
    fragrance_density = 0.98,
  } = options;
  const wanted = wantedOf(fills_g);
  const add = rounding.roundTo(loads.waxToRestore(wax_g, fragrance_g, load), step);
  const wax = wax_g + add;
  const mix = wax + fragrance_g + checks.notNegative(additives_g, message("The additives"), "additives_g");
  const stays = checks.notNegative(allowance_g, message("The allowance"), "allowance_g");
  const hot = fill.mixVolumeMl(wax, fragrance_g, molten_density, fragrance_density, additives_g);
  const growth = Math.max(1, (mix - stays) / wanted);
  let vessels_hold = true;
  for (const [vessel, fill_g] of fills_g.entries()) {
    const most = most_g[vessel] ?? null;
    if (most !== null) {
      const holds = checks.positive(most, message("The most that a vessel holds"), "most_g");
      vessels_hold &&= fill_g * growth <= holds + 1e-9;
    }
  }
  return {
    wax_to_add_g: add,
    load: loads.reached(wax, fragrance_g),
    growth,
    jug_holds:
      jug_volume_ml === null ||
      hot <= checks.positive(jug_volume_ml, message("The jug's volume"), "jug_volume_ml") + 1e-9,
    vessels_hold,
  };
}

/** How many vessels of each size each jug fills: the fewest jugs that hold them, as evenly as may be.
 * @param {number[]} counts @param {number[]} most of each size alone in a jug @returns {number[][]} */
function sharedOut(counts, most) {
  const full = 1 + 1e-9;
  let parts = 0;
  for (const [size, count] of counts.entries()) parts += count / most[size];
  for (let number = Math.max(1, Math.ceil(parts - 1e-9)); ; number += 1) {
    const jugs = Array.from({ length: number }, () => new Array(counts.length).fill(0));
    const filled = new Array(number).fill(0);
    for (const [size, count] of counts.entries()) {
      const fewer = Math.floor(count / number);
      const order = [...filled.keys()].sort((a, b) => filled[a] - filled[b] || a - b);
      const emptiest = new Set(order.slice(0, count % number));
      for (const jug of filled.keys()) {
        jugs[jug][size] = fewer + (emptiest.has(jug) ? 1 : 0);
        filled[jug] += jugs[jug][size] / most[size];
      }
    }
    if (filled.every((part) => part <= full)) return jugs;
  }
}

/** All designed fills together, g. @param {number[]} fills_g */
function wantedOf(fills_g) {
  checks.whole(fills_g.length, message("The number of vessels"), 1, MOST_VESSELS, "fills_g");
  let wanted = 0;
  for (const fill_g of fills_g) wanted += checks.positive(fill_g, message("The fill of a vessel"), "fills_g");
  return wanted;
}

/** @param {number} allowance_g @param {number} load @param {number} additives */
function waxThatStays(allowance_g, load, additives) {
  const stays = checks.notNegative(allowance_g, message("The allowance"), "allowance_g");
  const part = checks.within(load, message("The load as a fraction"), 0, 0.5, "load");
  return stays / (1 + part + checks.notNegative(additives, message("The additives"), "additives"));
}

/** @param {number} total @param {Share[]} parts @param {string} about */
function shared(total, parts, about) {
  let whole = 0;
  for (const [, share] of parts) whole += checks.notNegative(share, message("A share"), about);
  if (whole <= 0) throw new InputError("The shares must add up to more than zero.", {}, about);
  return parts.map(([, share]) => (total * share) / whole);
}

/** @param {Target[]} targets */
function totalOf(targets) {
  let total = 0;
  for (const target of targets) total += target.target_g;
  return total;
}
