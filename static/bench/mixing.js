/** A recipe with what it is made of, resolved to what the formulas take, and what to beware of in it. */

import { LONGEST_DAYS } from "../formulas/cure.js";
import { blendDensity } from "../formulas/fill.js";
import * as loads from "../formulas/load.js";
import { filled } from "../records/merge.js";
import { t } from "../words/door.js";
import { percent } from "./display_units.js";
import { USUAL_MIX } from "./sizing.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {Map<string, Fields>} ById records by their ids */
/** @typedef {{vessels: ById, waxes: ById, oils: ById, additives: ById, wicks: ById}} Materials */
/** @typedef {{low_c: number, target_c: number, high_c: number}} Window */
/** @typedef {{id: string | null, name: string, share: number}} Part one wax or fragrance; `share` of all of them */
/** @typedef {{id: string | null, name: string, fraction: number}} Extra a dye or additive; `fraction` of the wax */
/**
 * @typedef {object} Mix
 * @property {number} load fraction of the wax
 * @property {number} load_of_total
 * @property {number} additives fraction of the wax, all together
 * @property {number} molten_density
 * @property {number} solid_density
 * @property {number} fragrance_density
 * @property {Part[]} waxes
 * @property {Part[]} oils the fragrances
 * @property {Extra[]} extras dye and additives
 * @property {Window} fragrance
 * @property {Window} pour
 * @property {number} highest_c
 * @property {number} highest_load
 * @property {number} trim_days
 * @property {number} label_days
 * @property {number} cure_least_days
 * @property {number} cure_best_days
 * @property {number | null} burn_days null: no test burn
 * @property {number} stir_s
 * @property {number | null} flash_c the lowest flash point of its oils, if any is known
 * @property {string} family the wax there is most of: 'vegetable' or 'paraffin'
 */
/** @typedef {{level: "warning" | "caution", text: string}} Caution */

/** What a wax is taken to be where its record is silent. */
const WAX = {
  molten_density: USUAL_MIX.molten_density,
  solid_density: USUAL_MIX.solid_density,
  highest_load: 0.1,
  fragrance_low_c: 68,
  fragrance_high_c: 72,
  pour_low_c: 64,
  pour_high_c: 72,
  highest_c: 90,
  trim_days: 1,
  label_days: 2,
  cure_least_days: 7,
  cure_best_days: 14,
  family: "vegetable",
};

/**
 * @param {Fields} recipe @param {Pick<Materials, "waxes" | "oils" | "additives">} materials
 * @returns {Mix}
 */
export function mixOf(recipe, materials) {
  const waxes = waxParts(recipe, materials.waxes);
  const oils = oilParts(recipe, materials.oils);
  const extras = additiveParts(recipe, materials.additives);
  const load = oils.length === 0 ? 0 : loadOfWax(recipe);
  const shares = waxes.map(({ share }) => share);
  const slowest = (/** @type {string} */ days) => recipe[days] ?? Math.max(...waxes.map(({ wax }) => wax[days]));
  const cure_best_days = slowest("cure_best_days");
  return {
    load,
    load_of_total: loads.ofTotal(load),
    additives: extras.reduce((sum, { fraction }) => sum + fraction, 0),
    molten_density: blendDensity(
      shares,
      waxes.map(({ wax }) => wax.molten_density),
    ),
    solid_density: blendDensity(
      shares,
      waxes.map(({ wax }) => wax.solid_density),
    ),
    fragrance_density: oils.length
      ? blendDensity(
          oils.map(({ share }) => share),
          oils.map(({ oil }) => oil.density ?? 0.98),
        )
      : USUAL_MIX.fragrance_density,
    waxes: waxes.map(({ wax, share }) => ({ id: wax.id ?? null, name: wax.name ?? t("wax"), share })),
    oils: oils.map(({ oil, share }) => ({ id: oil.id ?? null, name: oil.name ?? t("fragrance"), share })),
    extras,
    fragrance: windowOf(waxes, "fragrance", recipe.fragrance_c),
    pour: windowOf(waxes, "pour", recipe.pour_c),
    highest_c: Math.min(...waxes.map(({ wax }) => wax.highest_c)),
    highest_load: weighted(waxes, "highest_load"),
    trim_days: slowest("trim_days"),
    label_days: slowest("label_days"),
    cure_least_days: slowest("cure_least_days"),
    cure_best_days,
    burn_days: burnDays(recipe, waxes, cure_best_days),
    stir_s: recipe.stir_s ?? 120,
    flash_c: lowest(oils.map(({ oil }) => oil.flash_c)),
    family: waxes.reduce((most, each) => (each.share > most.share ? each : most)).wax.family,
  };
}

/** Names and shares, as the formulas of weighing take them. @param {Part[]} parts @returns {[string, number][]} */
export const sharesOf = (parts) => parts.map(({ name, share }) => [name, share]);

/** The same of dye and additives. @param {Extra[]} extras @returns {[string, number][]} */
export const fractionsOf = (extras) => extras.map(({ name, fraction }) => [name, fraction]);

/** When a test burn is due; null for none. @param {Fields} recipe @param {{wax: Fields}[]} parts @param {number} best_days */
function burnDays(recipe, parts, best_days) {
  if (recipe.burn_test === "no") return null;
  const said = parts.map(({ wax }) => wax.burn_days ?? null).filter((days) => days !== null);
  return recipe.burn_days ?? (said.length > 0 ? Math.max(...said) : Math.min(best_days + 1, LONGEST_DAYS));
}

/** The recipe's load as a fraction of the wax, whichever way she wrote it. @param {Fields} recipe */
function loadOfWax(recipe) {
  const load = recipe.load ?? 0;
  return recipe.load_of === "total" ? loads.ofWax(load) : load;
}

/**
 * What to beware of in this mix, each with its numbers.
 * @param {Mix} mix @param {Fields} recipe @param {Pick<Materials, "oils" | "waxes">} materials
 * @param {(celsius: number) => string} temperature writes one in her unit
 * @returns {Caution[]}
 */
export function cautionsFor(mix, recipe, { oils, waxes }, temperature) {
  /** @type {Caution[]} */
  const found = [];
  if (mix.load > mix.highest_load + 1e-9) {
    found.push({
      level: "warning",
      text: t(
        "{load} of the wax is more than the {highest} that this wax holds: oil can sweat out and burn badly. " +
          "Use less, or another wax.",
        { load: percent(mix.load), highest: percent(mix.highest_load) },
      ),
    });
  }
  for (const { oil, share } of oilParts(recipe, oils)) {
    const ofCandle = mix.load_of_total * share;
    if (typeof oil.highest_use === "number" && ofCandle > oil.highest_use + 1e-9) {
      found.push({
        level: "warning",
        text: t("{fragrance} would be {share} of the candle; its highest use level is {highest}. Use less.", {
          fragrance: oil.name,
          share: percent(ofCandle),
          highest: percent(oil.highest_use),
        }),
      });
    }
    if (typeof oil.flash_c === "number" && oil.flash_c < mix.fragrance.high_c) {
      found.push({
        level: "caution",
        text: t(
          "{fragrance} has a flash point of {flash}, below the {high} it may go in at: its vapour can catch fire. " +
            "Follow the supplier's safety data sheet, keep flames and sparks away, and air the room.",
          { fragrance: oil.name, flash: temperature(oil.flash_c), high: temperature(mix.fragrance.high_c) },
        ),
      });
    }
  }
  const lost = (/** @type {Fields[]} */ rows, /** @type {string} */ kind, /** @type {ById} */ kept) =>
    (rows ?? []).some((row) => row[kind] && !kept.has(row[kind]));
  if (lost(recipe.waxes, "wax", waxes)) {
    const text = t("A wax of this recipe was deleted: it is reckoned without. Bring it back, or choose another.");
    found.push({ level: "warning", text });
  }
  if (lost(recipe.oils, "fragrance", oils)) {
    const text = t("A fragrance of this recipe was deleted: it is reckoned without. Bring it back, or choose another.");
    found.push({ level: "warning", text });
  }
  const parts = waxParts(recipe, waxes);
  if (mix.load > 0) found.push(...windowCautions(t("Fragrance in"), parts, "fragrance", recipe, mix, temperature));
  return [...found, ...windowCautions(t("Pour"), parts, "pour", recipe, mix, temperature)];
}

/**
 * Where it is hotter than the wax may get, where the waxes leave no temperature, or hardly one, and where the recipe
 * has one that they don't.
 * @param {string} name @param {{wax: Fields}[]} parts @param {"fragrance" | "pour"} what @param {Fields} recipe
 * @param {Mix} mix @param {(celsius: number) => string} temperature @returns {Caution[]}
 */
function windowCautions(name, parts, what, recipe, mix, temperature) {
  const all = sharedWindow(parts, what);
  const { low_c, target_c, high_c } = mix[what];
  const said = { name, low: temperature(low_c), high: temperature(high_c) };
  /** @type {Caution[]} */
  const found = [];
  if (high_c > mix.highest_c) {
    const text = t("{name}: up to {high} is more than {highest}, the highest this wax may reach.", {
      ...said,
      highest: temperature(mix.highest_c),
    });
    found.push({ level: "warning", text });
  }
  const agree = all.low_c <= all.high_c;
  if ((recipe[`${what}_c`] ?? null) !== null) {
    // Where the waxes don't agree, its own is what it was told to have.
    if (!agree || (high_c >= all.low_c && low_c <= all.high_c)) return found;
    const wax = { own: temperature(target_c), low: temperature(all.low_c), high: temperature(all.high_c) };
    const text = t("{name}: the recipe's {own} is not within {low} to {high}, as its wax says.", { ...said, ...wax });
    found.push({ level: "caution", text });
  } else if (!agree) {
    const text = t(
      "{name}: no temperature suits all of these waxes. {low} to {high} is halfway: give the recipe its own.",
      said,
    );
    found.push({ level: "warning", text });
  } else if (parts.length > 1 && all.high_c - all.low_c < NARROWEST_C) {
    const text = t("{name}: these waxes leave less than you can hit, so it is {low} to {high}.", said);
    found.push({ level: "caution", text });
  }
  return found;
}

/** The waxes that are kept; one that is taken as usual where there is none.
 * @param {Fields} recipe @param {ById} waxes @returns {{wax: Fields, share: number}[]} */
function waxParts(recipe, waxes) {
  const rows = (recipe.waxes ?? []).filter((/** @type {Fields} */ row) => waxes.has(row.wax));
  if (rows.length === 0) return [{ wax: WAX, share: 1 }];
  return withShares(rows).map(({ row, share }) => ({ wax: { ...WAX, ...filled(waxes.get(row.wax)) }, share }));
}

/** The fragrances that are kept. @param {Fields} recipe @param {ById} oils */
function oilParts(recipe, oils) {
  const rows = (recipe.oils ?? []).filter((/** @type {Fields} */ row) => oils.has(row.fragrance));
  return withShares(rows).map(({ row, share }) => ({ oil: /** @type {Fields} */ (oils.get(row.fragrance)), share }));
}

/** Rows with shares that add up to one. @param {Fields[]} rows */
function withShares(rows) {
  const total = rows.reduce((sum, row) => sum + (row.share ?? 1), 0);
  return rows.map((row) => ({ row, share: (row.share ?? 1) / total }));
}

/**
 * Dye and additives by what they are called now; by the recipe's own words where that is not known: in an
 * older recipe, which has no more, or where the record is no longer kept.
 * @param {Fields} recipe @param {ById} additives @returns {Extra[]}
 */
function additiveParts(recipe, additives) {
  return (recipe.additives ?? []).flatMap((/** @type {Fields} */ row) => {
    const fraction = row.per === "kilo" ? row.rate / 1000 : row.rate / 100;
    const name = additives.get(row.additive)?.name ?? row.name;
    return name && row.rate > 0 ? [{ id: row.additive ?? null, name, fraction }] : [];
  });
}

/** @param {unknown[]} values @returns {number | null} */
function lowest(values) {
  const known = values.filter((value) => typeof value === "number");
  return known.length ? Math.min(...known) : null;
}

/** @param {{wax: Fields, share: number}[]} parts @param {string} field */
function weighted(parts, field) {
  return parts.reduce((sum, { wax, share }) => sum + share * wax[field], 0);
}

/** A narrower window is over before a thermometer in a cooling jug has told of it, °C (our choice). */
const NARROWEST_C = 2;

/** The temperatures that suit every wax in the blend; the lowest above the highest where none does.
 * @param {{wax: Fields}[]} parts @param {"fragrance" | "pour"} what */
function sharedWindow(parts, what) {
  return {
    low_c: Math.max(...parts.map(({ wax }) => wax[`${what}_low_c`])),
    high_c: Math.min(...parts.map(({ wax }) => wax[`${what}_high_c`])),
  };
}

/**
 * What it is brought to: what suits every wax, halfway where nothing does, never narrower than she can hit;
 * a single temperature, two degrees either way.
 * @param {{wax: Fields}[]} parts @param {"fragrance" | "pour"} what @param {number | null | undefined} own_c
 * @returns {Window}
 */
function windowOf(parts, what, own_c) {
  const { low_c, high_c } = sharedWindow(parts, what);
  // A sheet that gives one temperature gives no window that a thermometer could meet.
  const one_c = own_c ?? (parts.length === 1 && low_c === high_c ? low_c : null);
  if (one_c !== null) return { low_c: one_c - 2, target_c: one_c, high_c: one_c + 2 };
  const target_c = (low_c + high_c) / 2;
  if (high_c - low_c >= NARROWEST_C) return { low_c, target_c, high_c };
  return { low_c: target_c - NARROWEST_C / 2, target_c, high_c: target_c + NARROWEST_C / 2 };
}
