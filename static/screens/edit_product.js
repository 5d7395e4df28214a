/** What the form of a product fills in by itself. */
import { boxOf } from "./boxes.js";
import { ownField } from "./form_fields.js";

/** @typedef {import("./form_fields.js").Fields} Fields */

/**
 * Begin a new product: of the recipe from which it was opened, named like it, with its label where it has one alone.
 * @param {HTMLFormElement} form @param {string | undefined} given the recipe's id
 * @param {import("./form_fields.js").DisplayUnits} _units @param {(kind: string) => Fields[]} others
 */
export function beginProduct(form, given, _units, others) {
  const box = (/** @type {string} */ name) => boxOf(/** @type {HTMLElement} */ (ownField(form, name)));
  const offer = () => {
    const { value } = box("recipe");
    const recipe = others("recipe").find(({ id }) => id === value);
    /** @type {HTMLInputElement} */ (box("name")).placeholder = recipe?.name ?? "";
    const labels = others("label").filter((each) => each.recipe === value);
    if (labels.length === 1 && box("label").value === "") box("label").value = labels[0].id;
  };
  if (given && box("recipe").value === "") box("recipe").value = given;
  box("recipe").addEventListener("change", offer);
  offer();
}
