/** All products, or those of a recipe; of each how much is missing in its file. */
import { partsOf } from "../products/parts.js";
import * as store from "../records/store.js";
import { plural, t } from "../words/door.js";
import { card, chip, cloneTemplate, replaceKeepingFocus, slot } from "./dom.js";
import { FILED_BY, holdsOf, readProduct } from "./product_sources.js";
import { drawOnChange, ofKinds } from "./screen.js";

/** @param {HTMLElement} place @param {string[]} path 'for' and a recipe, or nothing */
export async function show(place, [which, recipe]) {
  place.append(cloneTemplate("screen-products"));
  const isOfRecipe = which === "for" && Boolean(recipe);
  if (isOfRecipe) {
    const back = slot(place, "back");
    [back.href, back.textContent] = [`#/recipe/${recipe}`, t("The recipe")];
    slot(place, "new").href = `#/edit/product/new/products/for/${recipe}`;
  }
  return drawOnChange(ofKinds(...FILED_BY), async () => {
    const [all, gone, recipes] = await Promise.all([
      store.all("product"),
      store.deleted("product"),
      store.living("recipe"),
    ]);
    const products = isOfRecipe ? all.filter((each) => each.recipe === recipe) : all;
    slot(place, "empty").hidden = products.length > 0;
    slot(place, "deleted").hidden = gone.length === 0;
    const pours = store.living("pour");
    const cards = await Promise.all(
      products.map(async ({ id, name, recipe: of, stopped_on }) => {
        const lacking = await lackingIn(id, pours);
        const missing = plural(lacking, "{n} thing is missing", "{n} things are missing");
        return card({
          ...{ href: `#/product/${id}`, name: name ?? "", of: recipes.find((each) => each.id === of) },
          line: stopped_on ? t("no longer sold") : "",
          chip: lacking > 0 && chip(missing, "past"),
        });
      }),
    );
    replaceKeepingFocus(slot(place, "cards"), ...cards);
  });
}

/** How many things are missing. @param {string} id @param {Promise<store.Plain[]>} pours their records */
async function lackingIn(id, pours) {
  const sources = await readProduct(id, pours);
  return sources === null ? 0 : partsOf(holdsOf(sources)).reduce((sum, { lacks }) => sum + lacks.length, 0);
}
