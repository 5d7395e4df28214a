/** All recipes. */
import { percent } from "../bench/hers.js";
import * as store from "../records/store.js";
import { card, copy, slot } from "./dom.js";
import { materials } from "./kept.js";

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(copy("screen-recipes"));
  const [recipes, { vessels }] = await Promise.all([store.all("recipe"), materials()]);
  slot(place, "empty").hidden = recipes.length > 0;
  slot(place, "cards").replaceChildren(
    ...recipes.map((recipe) =>
      card({
        href: `#/recipe/${recipe.id}`,
        name: recipe.name,
        over: vessels.get(recipe.vessel)?.name,
        right: percent(recipe.load ?? 0),
        under: recipe.load_of === "total" ? "of the total" : "of the wax",
      }),
    ),
  );
}
