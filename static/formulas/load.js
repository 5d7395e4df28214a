/** Fragrance load as a fraction of the wax, and what a scale can know of it. */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";

/** A load that reads the same to a tenth of a per cent is the same load: ± 0.05 points. */
export const TOLERANCE = 0.0005;

/** A scale is fine enough while its steps move the load by no more than ± 0.1 points. */
export const FINE_ENOUGH = 0.001;

/** A load of the wax as a fraction of wax and fragrance together. @param {number} load_of_wax 0 to 1 */
export function ofTotal(load_of_wax) {
  const load = checks.within(load_of_wax, message("The load as a fraction"), 0, 1, "load_of_wax");
  return load / (1 + load);
}

/** A load of the total as a fraction of the wax. @param {number} load_of_total 0 to 0.5 */
export function ofWax(load_of_total) {
  const share = checks.within(load_of_total, message("The load as a fraction of the total"), 0, 0.5, "load_of_total");
  return share / (1 - share);
}

/** Grams of fragrance for `wax_g` of wax. @param {number} wax_g @param {number} load fraction of the wax */
export function fragranceFor(wax_g, load) {
  return (
    checks.notNegative(wax_g, message("The wax"), "wax_g") * checks.within(load, message("The load"), 0, 1, "load")
  );
}

/** The load that these weights make, as a fraction of the wax. @param {number} wax_g @param {number} fragrance_g */
export function reached(wax_g, fragrance_g) {
  const oil = checks.notNegative(fragrance_g, message("The fragrance"), "fragrance_g");
  return oil / checks.positive(wax_g, message("The wax"), "wax_g");
}

/** Grams of wax to add so that too much fragrance is right again; 0 if it is not too much.
 * @param {number} wax_g @param {number} fragrance_g @param {number} load fraction of the wax, above zero */
export function waxToRestore(wax_g, fragrance_g, load) {
  const wax = checks.notNegative(wax_g, message("The wax"), "wax_g");
  const oil = checks.notNegative(fragrance_g, message("The fragrance"), "fragrance_g");
  checks.positive(load, message("The load"), "load");
  const wanted = checks.within(load, message("The load"), 0, 1, "load");
  return Math.max(0, oil / wanted - wax);
}

/** The least and the greatest load that two readings on a scale can mean.
 * @param {number} wax_g @param {number} fragrance_g @param {number} scale_step
 * @param {number | null} [fragrance_step] @returns {[number, number]} */
export function bounds(wax_g, fragrance_g, scale_step, fragrance_step = null) {
  const half = checks.positive(scale_step, message("The scale's step"), "scale_step") / 2;
  const fine =
    fragrance_step === null ? half : checks.positive(fragrance_step, message("The fine step"), "fragrance_step") / 2;
  const wax = checks.positive(wax_g, message("The wax"), "wax_g");
  const oil = checks.notNegative(fragrance_g, message("The fragrance"), "fragrance_g");
  if (wax <= half) throw new InputError("The wax must be more than half a step of the scale.", {}, "wax_g");
  return [Math.max(0, oil - fine) / (wax + half), (oil + fine) / (wax - half)];
}

/** Whether the scale can hold `load` to ± 0.1 points for this much wax.
 * @param {number} wax_g @param {number} load @param {number} scale_step g */
export function isFineEnough(wax_g, load, scale_step) {
  return checks.notNegative(wax_g, message("The wax"), "wax_g") >= leastWax(load, scale_step);
}

/** The wax from which a scale holds `load` to ± 0.1 points. @param {number} load @param {number} scale_step */
export function leastWax(load, scale_step) {
  const part = checks.within(load, message("The load"), 0, 1, "load");
  const half = checks.positive(scale_step, message("The scale's step"), "scale_step") / 2;
  return (half * (1 + part)) / FINE_ENOUGH + half;
}

/** The fewest vessels to pour at once for that. @param {number} wax_per_vessel_g @param {number} load
 * @param {number} scale_step */
export function countForScale(wax_per_vessel_g, load, scale_step) {
  const each = checks.positive(wax_per_vessel_g, message("The wax for a vessel"), "wax_per_vessel_g");
  return Math.max(1, Math.ceil(leastWax(load, scale_step) / each - 1e-9));
}
