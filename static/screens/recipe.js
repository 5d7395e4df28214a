/** One recipe, resolved: what it takes for one vessel, and what to beware of. */

import { materials } from "../bench/materials.js";
import { recipeFacts } from "../bench/recipe_facts.js";
import { findingsOf } from "../hazards/request.js";
import * as store from "../records/store.js";
import { InputError } from "../words/door.js";
import { showAttachments } from "./attachments.js";
import { cloneTemplate, look, rich, setText, showCautions, showFacts, slot } from "./dom.js";
import { RESTS_ON, standing } from "./hazard.js";
import { readAim } from "./net_words.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { readTested, TESTED_BY } from "./tested_words.js";

/** @param {HTMLElement} place @param {string[]} path @param {import("./screen.js").Context} context */
export async function show(place, [id], { units, go }) {
  place.append(cloneTemplate("screen-recipe"));
  showAttachments(place, id);
  slot(place, "edit").href = `#/edit/recipe/${id}`;
  slot(place, "plan").href = `#/plan/${id}`;
  slot(place, "labels").href = `#/labels/for/${id}`;
  slot(place, "products").href = `#/products/for/${id}`;
  slot(place, "hazard").href = `#/hazard/${id}`;
  slot(place, "past").href = `#/back/${id}`;
  return drawOnChange(ofKinds("net_finding", ...RESTS_ON, ...TESTED_BY), async () => {
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
    await drawTested(place, recipe, kept);
    const [hazard] = await findingsOf(id);
    setText(slot(place, "hazard_told"), await standing(recipe, hazard));
    const aim = await readAim(recipe, units);
    slot(place, "aim").hidden = aim === null;
    slot(place, "aim").replaceChildren(...rich(aim ?? ""));
  });
}

/** What its burn tests say of it. @param {HTMLElement} place @param {store.Plain} recipe
 * @param {import("../bench/materials.js").Materials} kept */
async function drawTested(place, recipe, kept) {
  const told = await readTested(recipe, kept).catch((error) => {
    // It is said already why it can't be reckoned.
    if (!(error instanceof InputError)) throw error;
    return null;
  });
  slot(place, "tested").hidden = told === null;
  if (told === null) return;
  const text = slot(place, "told");
  text.className = told.stands === "changed" || told.stands === "wrong" ? "beware notice" : "";
  text.replaceChildren(...rich(told.text));
  const test = slot(place, "test");
  test.hidden = told.test === null;
  test.href = `#/test/${told.test}`;
  slot(place, "plan_test").href = `#/new_test/${recipe.id}`;
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
