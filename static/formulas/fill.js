/** How much a vessel holds, and what goes into it: ml, mm, g, g/ml. The Python twin tells more of each. */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";

/** About 1 cm is left at the top (common practice, no source). */
export const HEADSPACE_MM = 10;

/** Density of water in g/ml, 0 to 60 °C (Kell 1975). @param {number} temp_c */
export function waterDensity(temp_c) {
  const t = checks.within(temp_c, message("The water's temperature in °C"), 0, 60, "temp_c");
  const above =
    999.83952 + t * (16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 + t * -280.54253e-12))));
  return above / (1 + 16.87985e-3 * t) / 1000;
}

/** The volume in ml of so much water; the lift of the air is left out on purpose, as wax is weighed in the same air.
 * @param {number} water_g above zero @param {number} temp_c 0 to 60 °C */
export function waterVolumeMl(water_g, temp_c) {
  return checks.positive(water_g, message("The weight of the water"), "water_g") / waterDensity(temp_c);
}

/** Inside volume in ml of a round vessel, straight or tapered (a frustum of a cone).
 * @param {number} diameter_mm at the base @param {number} height_mm up to which it is filled
 * @param {number | null} [top_diameter_mm] at that height; the base's if not given */
export function roundVolumeMl(diameter_mm, height_mm, top_diameter_mm = null) {
  const base = checks.positive(diameter_mm, message("The diameter"), "diameter_mm");
  const height = checks.positive(height_mm, message("The height"), "height_mm");
  const top =
    top_diameter_mm === null ? base : checks.positive(top_diameter_mm, message("The top diameter"), "top_diameter_mm");
  return (Math.PI * height * (base * base + base * top + top * top)) / 12 / 1000;
}

/** Inside volume in ml of a rectangular vessel filled to `height_mm`.
 * @param {number} length_mm @param {number} width_mm @param {number} height_mm */
export function boxVolumeMl(length_mm, width_mm, height_mm) {
  const length = checks.positive(length_mm, message("The length"), "length_mm");
  const width = checks.positive(width_mm, message("The width"), "width_mm");
  return (length * width * checks.positive(height_mm, message("The height"), "height_mm")) / 1000;
}

/** Inside diameter in mm, `height_mm` above the base of a tapered vessel `brim_mm` high.
 * @param {number} height_mm @param {number} brim_mm @param {number} diameter_mm @param {number} top_mm */
export function diameterAt(height_mm, brim_mm, diameter_mm, top_mm) {
  checks.notNegative(height_mm, message("The height"), "height_mm");
  const brim = checks.positive(brim_mm, message("The inside height"), "brim_mm");
  const base = checks.positive(diameter_mm, message("The diameter"), "diameter_mm");
  const top = checks.positive(top_mm, message("The top diameter"), "top_mm");
  return base + ((top - base) * height_mm) / brim;
}

/** How high `volume_ml` stands above the base of a round vessel, in mm.
 * @param {number} volume_ml @param {number} diameter_mm @param {number} brim_mm
 * @param {number | null} [top_diameter_mm] */
export function roundHeightMm(volume_ml, diameter_mm, brim_mm, top_diameter_mm = null) {
  const volume = checks.notNegative(volume_ml, message("The volume"), "volume_ml");
  const top = top_diameter_mm === null ? diameter_mm : top_diameter_mm;
  if (volume > roundVolumeMl(diameter_mm, brim_mm, top) * (1 + 1e-12)) {
    throw new InputError("That is more than the vessel holds: it would run over the brim.", {}, "volume_ml");
  }
  let low = 0;
  let high = brim_mm;
  for (let turn = 0; turn < 60; turn += 1) {
    const middle = (low + high) / 2;
    const across = diameterAt(middle, brim_mm, diameter_mm, top);
    if (middle === 0 || roundVolumeMl(diameter_mm, middle, across) < volume) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** How high `volume_ml` stands in a rectangular vessel, in mm.
 * @param {number} volume_ml @param {number} length_mm @param {number} width_mm @param {number} brim_mm */
export function boxHeightMm(volume_ml, length_mm, width_mm, brim_mm) {
  const volume = checks.notNegative(volume_ml, message("The volume"), "volume_ml");
  if (volume > boxVolumeMl(length_mm, width_mm, brim_mm) * (1 + 1e-12)) {
    throw new InputError("That is more than the vessel holds: it would run over the brim.", {}, "volume_ml");
  }
  return (volume * 1000) / (length_mm * width_mm);
}

/** The part of a vessel's stated volume that is filled, in ml.
 * @param {number} label_ml @param {number} fill_fraction above 0 to 1 */
export function labelVolumeMl(label_ml, fill_fraction) {
  const label = checks.positive(label_ml, message("The volume on the label"), "label_ml");
  const part = checks.positive(fill_fraction, message("The part that is filled"), "fill_fraction");
  return label * checks.within(part, message("The part that is filled"), 0, 1, "fill_fraction");
}

/** Density of a blend by mass shares, volumes adding up. @param {number[]} shares @param {number[]} densities */
export function blendDensity(shares, densities) {
  if (shares.length !== densities.length || shares.length === 0) {
    throw new InputError("Give one density for each part of the blend.", {}, "densities");
  }
  let total = 0;
  for (const share of shares) total += checks.notNegative(share, message("A share"), "shares");
  if (total <= 0) throw new InputError("The shares of a blend must add up to more than zero.", {}, "shares");
  let volume = 0;
  shares.forEach((share, index) => {
    volume += share / total / checks.density(densities[index], message("A density in g/ml"), "densities");
  });
  return 1 / volume;
}

/** Wax and fragrance in grams that fill `volume_ml` together.
 * @param {number} volume_ml @param {number} load @param {number} wax_density
 * @param {number} fragrance_density @param {number} [additives] @returns {[number, number]} */
export function fillMasses(volume_ml, load, wax_density, fragrance_density, additives = 0) {
  const volume = checks.positive(volume_ml, message("The volume"), "volume_ml");
  const part = checks.within(load, message("The load as a fraction"), 0, 0.5, "load");
  const extra = checks.within(additives, message("The additives as a fraction"), 0, 0.5, "additives");
  const ofWax = checks.density(wax_density, message("The wax density in g/ml"), "wax_density");
  const ofOil = checks.density(fragrance_density, message("The fragrance density in g/ml"), "fragrance_density");
  const wax = volume / ((1 + extra) / ofWax + part / ofOil);
  return [wax, wax * part];
}

/** Volume in ml of wax, fragrance and additives together.
 * @param {number} wax_g @param {number} fragrance_g @param {number} wax_density
 * @param {number} fragrance_density @param {number} [additives_g] */
export function mixVolumeMl(wax_g, fragrance_g, wax_density, fragrance_density, additives_g = 0) {
  const wax =
    checks.notNegative(wax_g, message("The wax"), "wax_g") +
    checks.notNegative(additives_g, message("The additives"), "additives_g");
  const oil = checks.notNegative(fragrance_g, message("The fragrance"), "fragrance_g");
  const ofWax = checks.density(wax_density, message("The wax density in g/ml"), "wax_density");
  return (
    wax / ofWax + oil / checks.density(fragrance_density, message("The fragrance density in g/ml"), "fragrance_density")
  );
}
