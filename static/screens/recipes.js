/** All recipes; with a first step of 'pour', to plan one of them at once. */

import { percent } from "../bench/display_units.js";
import * as store from "../records/store.js";
import { t } from "../words/door.js";
import { card, cloneTemplate, replaceKeepingFocus, setText, slot } from "./dom.js";
import { leadOn } from "./onboarding.js";
import { drawOnChange, ofKinds } from "./screen.js";

/** @param {HTMLElement} place @param {string[]} path */
export async function show(place, [why]) {
  place.append(cloneTemplate("screen-recipes"));
  if (why === "pour") setText(slot(place, "title"), t("Choose a recipe"));
  return drawOnChange(ofKinds("recipe", "vessel", "wax", "fragrance"), async () => {
    const [recipes, gone, vessels] = await Promise.all([
      store.all("recipe"),
      store.deleted("recipe"),
      store.living("vessel"),
    ]);
    const names = new Map(vessels.map(({ id, name }) => [id, name]));
    slot(place, "deleted").hidden = gone.length === 0;
    slot(place, "empty").hidden = recipes.length > 0;
    slot(place, "new").hidden = recipes.length === 0;
    await leadOn(place, recipes.length === 0, "", "");
    const cards = recipes.map((recipe) =>
      card({
        href: `#/${why === "pour" ? "plan" : "recipe"}/${recipe.id}`,
        of: recipe,
        name: recipe.name,
        line: names.get(recipe.vessel),
        ...loadOf(recipe),
      }),
    );
    replaceKeepingFocus(slot(place, "cards"), ...cards);
  });
}

/** A recipe without fragrance has a load in its form all the same. @param {import("../records/store.js").Plain} recipe */
function loadOf({ load, load_of, oils = [] }) {
  if (oils.length === 0) return { right: t("unscented") };
  return { right: percent(load ?? 0), under: load_of === "total" ? t("of the total") : "" };
}
