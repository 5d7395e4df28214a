/** What follows from a recipe, in words: what it takes for one vessel, when and how warm, and what to beware of. */

import { InputError, listed, t } from "../words/door.js";
import { percent } from "./display_units.js";
import { cautionsFor, mixOf } from "./mixing.js";
import { sizeVessel, USUAL_MIX } from "./sizing.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {import("./display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {[name: string, value: string]} Fact `**` around what stands out */
/** @typedef {import("./mixing.js").Caution} Caution */
/** @typedef {import("./mixing.js").Materials} Materials */

/**
 * The facts of a recipe and what to beware of.
 * @param {Fields} recipe @param {Materials} kept @param {DisplayUnits} units
 * @returns {{facts: Fact[], found: Caution[]}}
 * @throws {InputError} it can't be reckoned
 */
export function recipeFacts(recipe, kept, units) {
  const mix = mixOf(recipe, kept);
  const temperature = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const range = (/** @type {{low_c: number, high_c: number}} */ { low_c, high_c }) =>
    t("{low} to {high}", { low: temperature(low_c), high: temperature(high_c) });
  const list = (/** @type {import("./mixing.js").Part[]} */ parts) =>
    listed(parts.map(({ name, share }) => (parts.length > 1 ? `${name} ${percent(share, 1)}` : name)));
  const found = cautionsFor(mix, recipe, kept, temperature);
  found.push(
    ...sharesOff(
      (recipe.waxes ?? []).filter((/** @type {Fields} */ { wax }) => kept.waxes.has(wax)),
      mix.waxes,
      list,
    ),
    ...sharesOff(
      (recipe.oils ?? []).filter((/** @type {Fields} */ { fragrance }) => kept.oils.has(fragrance)),
      mix.oils,
      list,
    ),
  );
  const loads = { load: percent(mix.load), total: percent(mix.load_of_total) };
  /** @type {Fact[]} */
  const facts = [[t("Load"), t("**{load}** of the wax = **{total}** of wax and fragrance", loads)]];
  const vessel = kept.vessels.get(recipe.vessel);
  if (vessel !== undefined) {
    const one = vesselFacts(vessel, mix, units);
    facts.push(...one.facts);
    found.push(...one.found);
  }
  facts.push([t("Wax"), list(mix.waxes)]);
  if (mix.oils.length) facts.push([t("Fragrance"), list(mix.oils)]);
  if (mix.extras.length) {
    const extras = mix.extras.map(({ name, fraction }) => `${name} ${percent(fraction, 0.01)}`);
    facts.push([t("Dye and additives"), listed(extras)]);
  }
  const wick = kept.wicks.get(recipe.wick);
  if (wick) {
    // Many are called by their series and size.
    const more = [wick.series, wick.size].filter((each) => each && !wick.name.includes(each));
    facts.push([t("Wick"), [wick.name, ...more].join(", ")]);
  }
  if (mix.load > 0) facts.push([t("Fragrance goes in"), range(mix.fragrance)]);
  const cure = { least: mix.cure_least_days, best: mix.cure_best_days };
  facts.push([t("Pour"), range(mix.pour)], [t("Cure"), t("at least {least} days, fully cured after {best}", cure)]);
  return { facts, found };
}

/** Shares further than this from a whole are no thirds that were rounded. */
const ROUNDED = 0.0101;

/** What shares come to that do not make a whole, and what is made of them.
 * @param {Fields[]} rows @param {import("./mixing.js").Part[]} parts
 * @param {(parts: import("./mixing.js").Part[]) => string} list @returns {Caution[]} */
function sharesOff(rows, parts, list) {
  const total = rows.reduce((sum, { share }) => sum + (share ?? 1), 0);
  if (parts.length === 0 || Math.abs(total - 1) <= ROUNDED) return [];
  const whole = percent(1, 1);
  const values = { total: percent(total), whole, parts: parts.length > 1 ? list(parts) : `${parts[0].name} ${whole}` };
  return [
    {
      level: "caution",
      text: t("The shares add up to {total}, not {whole}. The bench takes them as {parts}.", values),
    },
  ];
}

/** What one vessel takes of a mix. @param {Fields} vessel @param {import("./mixing.js").Mix} mix @param {DisplayUnits} units
 * @returns {{facts: Fact[], found: Caution[]}} */
function vesselFacts(vessel, mix, units) {
  try {
    const filled = sizeVessel(vessel, mix);
    const takes = {
      wax: units.text(filled.wax_g, "mass", "fine"),
      fragrance: units.text(filled.fragrance_g, "mass", "fine"),
    };
    return {
      facts: [
        [t("One {vessel}", { vessel: vessel.name }), t("**{wax}** wax + **{fragrance}** fragrance", takes)],
        ...levels(filled, units),
      ],
      found: filled.warnings.map(warning),
    };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { facts: [], found: [warning([vessel.name ?? [], error.message].flat().join(": "))] };
  }
}

/**
 * What a vessel takes of a usual mix.
 * @param {Fields} vessel @param {DisplayUnits} units @returns {{facts: Fact[], found: Caution[]}}
 * @throws {InputError} its measures do not go together
 */
export function vesselTakes(vessel, units) {
  const filled = sizeVessel(vessel, USUAL_MIX);
  const load = percent(USUAL_MIX.load, 1);
  return {
    facts: [
      [t("Wax"), `**${units.text(filled.wax_g, "mass")}**`],
      [t("Fragrance at {load}", { load }), `**${units.text(filled.fragrance_g, "mass", "fine")}**`],
      ...levels(filled, units),
    ],
    found: filled.warnings.map(warning),
  };
}

/** Where the mix stands, poured and set. @param {import("./sizing.js").Fill} filled @param {DisplayUnits} units
 * @returns {Fact[]} */
function levels({ hot_ml, hot_below_mm, set_ml, set_below_mm }, units) {
  const under = (/** @type {number} */ mm) => units.text(mm, "length");
  const volumes = { hot: units.text(hot_ml, "volume"), set: units.text(set_ml, "volume") };
  return [
    [
      t("Poured"),
      hot_below_mm === null
        ? t("{hot} hot", volumes)
        : t("{hot} hot, {under} under the brim", { ...volumes, under: under(hot_below_mm) }),
    ],
    [
      t("Set"),
      set_below_mm === null
        ? volumes.set
        : t("{set}, {under} under the brim", { ...volumes, under: under(set_below_mm) }),
    ],
  ];
}

/** @param {string} text @returns {Caution} */
const warning = (text) => ({ level: "warning", text });

/** What a recipe is called that is given no name; empty as long as it has too little in it.
 * @param {Fields} recipe @param {Materials} kept */
export function usualName({ vessel, waxes, oils }, kept) {
  const what = kept.oils.get(oils?.[0]?.fragrance) ?? kept.waxes.get(waxes?.[0]?.wax);
  const where = kept.vessels.get(vessel);
  return what && where ? t("{what} in {vessel}", { what: what.name, vessel: where.name }).slice(0, 80) : "";
}
