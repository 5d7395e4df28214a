/** One recipe, resolved: what it takes for one vessel, and what to beware of. */

import { materials } from "../bench/materials.js";
import { recipeFacts } from "../bench/recipe_facts.js";
import * as store from "../records/store.js";
import { InputError } from "../words/door.js";
import { cloneTemplate, look, setText, showCautions, showFacts, slot } from "./dom.js";
import { drawOnChange, ofKinds } from "./screen.js";

/** @param {HTMLElement} place @param {string[]} path @param {import("./screen.js").Context} context */
export async function show(place, [id], { units, go }) {
  place.append(cloneTemplate("screen-recipe"));
  slot(place, "edit").href = `#/edit/recipe/${id}`;
  slot(place, "plan").href = `#/plan/${id}`;
  return drawOnChange(ofKinds("recipe", "vessel", "wax", "fragrance", "additive", "wick"), async () => {
    const [recipe, kept] = await Promise.all([store.get("recipe", id), materials()]);
    if (recipe === undefined || recipe.deleted) {
      go("recipes");
      return;
    }
    const { facts, found } = factsOrWhy(recipe, kept, units);
    setText(slot(place, "name"), recipe.name);
    slot(place, "look").replaceChildren(look(recipe));
    showFacts(slot(place, "facts"), facts);
    showCautions(slot(place, "cautions"), found, slot(place, "heed"));
    const notes = slot(place, "notes");
    notes.hidden = !recipe.notes;
    setText(notes, recipe.notes ?? "");
  });
}

/** A recipe that can't be reckoned says why. @param {Parameters<typeof recipeFacts>} given
 * @returns {ReturnType<typeof recipeFacts>} */
function factsOrWhy(...given) {
  try {
    return recipeFacts(...given);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { facts: [], found: [{ level: "warning", text: error.message }] };
  }
}
