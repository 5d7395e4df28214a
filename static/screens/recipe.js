/** One recipe, resolved: what it takes for one vessel, and what to beware of. */
import { percent } from "../bench/display_units.js";
import { cautionsFor, mixOf } from "../bench/mixing.js";
import { sizeVessel } from "../bench/sizing.js";
import * as store from "../records/store.js";
import { InputError } from "../words/door.js";
import { cloneTemplate, fact, showCautions, slot } from "./dom.js";
import { materials } from "./materials.js";

/** @param {HTMLElement} place @param {string[]} path @param {any} context */
export async function show(place, [id], { units, go }) {
  const recipe = await store.get("recipe", id);
  if (recipe === undefined || recipe.deleted) {
    go("recipes");
    return;
  }
  place.append(cloneTemplate("screen-recipe"));
  const kept = await materials();
  slot(place, "name").textContent = recipe.name;
  slot(place, "edit").href = `#/edit/recipe/${id}`;
  slot(place, "plan").href = `#/plan/${id}`;
  const { facts, found } = aboutRecipe(recipe, kept, units);
  slot(place, "facts").replaceChildren(...facts);
  showCautions(slot(place, "cautions"), found);
  const notes = slot(place, "notes");
  notes.hidden = !recipe.notes;
  notes.textContent = recipe.notes ?? "";
}

/**
 * The facts of a recipe and what to beware of; used here and while it is being written.
 * @param {Record<string, any>} recipe @param {import("./materials.js").Materials} kept @param {import("../bench/display_units.js").DisplayUnits} units
 */
export function aboutRecipe(recipe, { vessels, waxes, oils, wicks }, units) {
  const mix = mixOf(recipe, waxes, oils);
  const temperature = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const facts = [
    fact("Load", `**${percent(mix.load)}** of the wax = **${percent(mix.load_of_total)}** of wax and fragrance`),
  ];
  const found = cautionsFor(mix, recipe, oils, temperature);
  const vessel = vessels.get(recipe.vessel);
  if (vessel !== undefined) {
    try {
      const filled = sizeVessel(vessel, mix);
      facts.push(
        fact(
          `One ${vessel.name}`,
          `**${units.text(filled.wax_g, "mass", "fine")}** wax + **${units.text(filled.fragrance_g, "mass", "fine")}** fragrance`,
        ),
        ...levels(filled, units),
      );
      for (const text of filled.warnings) found.push({ level: "warning", text });
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      found.push({ level: "warning", text: `${vessel.name}: ${error.message}` });
    }
  }
  const list = (/** @type {[string, number][]} */ parts) =>
    parts.map(([name, share]) => (parts.length > 1 ? `${name} ${percent(share, 1)}` : name)).join(", ");
  facts.push(fact("Wax", list(mix.waxes)));
  if (mix.oils.length) facts.push(fact("Fragrance", list(mix.oils)));
  if (mix.extras.length) {
    facts.push(
      fact("Dye and additives", mix.extras.map(([name, fraction]) => `${name} ${percent(fraction, 0.01)}`).join(", ")),
    );
  }
  const wick = wicks.get(recipe.wick);
  // Many are called by their series and size.
  if (wick)
    facts.push(
      fact(
        "Wick",
        [wick.name, ...[wick.series, wick.size].filter((each) => each && !wick.name.includes(each))].join(", "),
      ),
    );
  if (mix.load > 0)
    facts.push(fact("Fragrance in", `${temperature(mix.fragrance.low_c)} to ${temperature(mix.fragrance.high_c)}`));
  facts.push(
    fact("Pour", `${temperature(mix.pour.low_c)} to ${temperature(mix.pour.high_c)}`),
    fact("Cure", `${mix.cure_least_days} days at least, best after ${mix.cure_best_days}`),
  );
  return { facts, found };
}

/** Where the mix stands, poured and set. @param {import("../bench/sizing.js").Fill} filled @param {import("../bench/display_units.js").DisplayUnits} units */
export function levels(filled, units) {
  const volume = (/** @type {number} */ ml) => units.text(ml, "volume");
  const where = (/** @type {number | null} */ mm) =>
    mm === null ? "" : `, ${units.text(mm, "length")} under the brim`;
  return [
    fact("Poured", `${volume(filled.hot_ml)} hot${where(filled.hot_below_mm)}`),
    fact("Set", `${volume(filled.set_ml)}${where(filled.set_below_mm)}`),
  ];
}
