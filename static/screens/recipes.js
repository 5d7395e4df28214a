/** All recipes; with a first step of 'pour', to plan one of them at once. */
import { percent } from "../bench/display_units.js";
import { materials } from "../bench/materials.js";
import * as store from "../records/store.js";
import { card, cloneTemplate, slot } from "./dom.js";
import { leadOn } from "./onboarding.js";

/** @param {HTMLElement} place @param {string[]} path */
export async function show(place, [why]) {
  place.append(cloneTemplate("screen-recipes"));
  const [recipes, gone, { vessels }] = await Promise.all([store.all("recipe"), store.deleted("recipe"), materials()]);
  slot(place, "deleted").hidden = gone.length === 0;
  if (why === "pour") slot(place, "title").textContent = "Pour which?";
  slot(place, "empty").hidden = recipes.length > 0;
  if (recipes.length === 0) await leadOn(place, "", "");
  slot(place, "cards").replaceChildren(
    ...recipes.map((recipe) =>
      card({
        href: `#/${why === "pour" ? "plan" : "recipe"}/${recipe.id}`,
        name: recipe.name,
        over: vessels.get(recipe.vessel)?.name,
        right: percent(recipe.load ?? 0),
        under: recipe.load_of === "total" ? "of the total" : "of the wax",
      }),
    ),
  );
}
