/** What follows from a vessel or a recipe, as it is written. */

import { recipeFacts, usualName, vesselTakes } from "../bench/recipe_facts.js";
import { InputError, t } from "../words/door.js";
import { h, showCautions, showFacts } from "./dom.js";
import { lotPreview } from "./edit_lot.js";
import { picture } from "./pictures.js";

/** @typedef {import("./form_fields.js").Fields} Fields */
/** @typedef {import("./form_fields.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../bench/mixing.js").Materials} Materials */

/** Any will do to show a colour in. */
const SOME_VESSEL = { method: "round", diameter_mm: 70, height_mm: 80 };

/** Draw it for the kinds that have one.
 * @param {HTMLElement} place @param {HTMLFormElement} form @param {string} kind @param {Fields} values what the form says
 * @param {Materials} kept @param {DisplayUnits} units */
export function drawPreview(place, form, kind, values, kept, units) {
  try {
    if (kind === "vessel") place.replaceChildren(...ofVessel(values, units));
    if (kind === "fragrance") place.replaceChildren(picture(SOME_VESSEL, values.colour));
    if (kind === "lot") place.replaceChildren(...lotPreview(form, values, units));
    if (kind === "recipe") {
      /** @type {HTMLInputElement} */ (form.elements.namedItem("name")).placeholder = usualName(values, kept);
      place.replaceChildren(...ofRecipe(values, kept, units));
    }
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    place.replaceChildren(h("p", { class: "help" }, error.message));
  }
}

/** @param {Fields} vessel @param {DisplayUnits} units */
function ofVessel(vessel, units) {
  const { facts, found } = vesselTakes(vessel, units);
  return [
    picture(vessel),
    showCautions(h("div"), found),
    h("h2", {}, t("It takes about")),
    showFacts(h("dl", { class: "facts" }), facts),
    h("p", { class: "help" }, t("This is for a usual wax. A recipe uses its own wax.")),
  ];
}

/** @param {Fields} recipe @param {Materials} kept @param {DisplayUnits} units */
function ofRecipe(recipe, kept, units) {
  const waxes = /** @type {{wax: string}[]} */ (recipe.waxes ?? []);
  if (typeof recipe.load !== "number" || !waxes.some(({ wax }) => kept.waxes.has(wax))) return [];
  const { facts, found } = recipeFacts(recipe, kept, units);
  return [showCautions(h("div"), found), showFacts(h("dl", { class: "facts" }), facts)];
}
