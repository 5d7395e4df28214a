/** What the form of a label fills in by itself. */
import { sizeVessel, USUAL_MIX } from "../bench/sizing.js";
import { InputError } from "../words/door.js";
import { boxOf } from "./boxes.js";
import { fillField } from "./form.js";
import { ownField } from "./form_fields.js";

/** @typedef {import("./form_fields.js").DisplayUnits} DisplayUnits */
/** @typedef {import("./form_fields.js").Fields} Fields */

/**
 * Begin a new label: for the recipe from which it was opened, named like it, and with what its vessel holds.
 * @param {HTMLFormElement} form @param {string | undefined} given the recipe's id
 * @param {DisplayUnits} units @param {(kind: string) => Fields[]} others
 */
export function beginLabel(form, given, units, others) {
  const field = (/** @type {string} */ name) => /** @type {HTMLElement} */ (ownField(form, name));
  const box = (/** @type {string} */ name) => boxOf(field(name));
  const offer = () => {
    const recipe = others("recipe").find(({ id }) => id === box("recipe").value);
    /** @type {HTMLInputElement} */ (box("name")).placeholder = recipe?.name ?? "";
    const holds_ml = holdsOf(others("vessel").find(({ id }) => id === recipe?.vessel));
    if (holds_ml !== null && box("holds_ml").value === "") fillField(field("holds_ml"), holds_ml, units, others);
  };
  if (given && box("recipe").value === "") box("recipe").value = given;
  box("recipe").addEventListener("change", offer);
  offer();
}

/** What a vessel holds to its brim, in whole millilitres; null: that was not measured. @param {Fields | undefined} vessel */
function holdsOf(vessel) {
  if (vessel === undefined) return null;
  try {
    const { brim_ml } = sizeVessel(vessel, USUAL_MIX);
    return brim_ml === null ? null : Math.round(brim_ml);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return null;
  }
}
