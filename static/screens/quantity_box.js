/** A quantity as it is typed in a box, within the limits that the server drew its field with. */
import { InputError, t } from "../words/door.js";
import { cloneTemplate } from "./dom.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** What a field is called. @param {Element | undefined} field */
export const labelOf = (field) => field?.querySelector(".name, legend")?.textContent ?? "";

/** Refuse an empty box. @param {HTMLElement} field @returns {never} @throws {InputError} always */
export function refuseEmpty(field) {
  throw new InputError("{name} is needed.", { name: labelOf(field) || t("This") }, field.dataset.field);
}

/** A value within its field's limits. @param {HTMLElement} field @param {number} value base unit
 * @param {(limit: number) => string} write @throws {InputError} it is not */
export function limited(field, value, write) {
  const [least, most] = [Number(field.dataset.least), Number(field.dataset.most)];
  if (value >= least - 1e-9 && value <= most + 1e-9) return value;
  const values = { name: labelOf(field) || t("This"), least: write(least), most: write(most) };
  throw new InputError("{name} must be from {least} to {most}: check it.", values, field.dataset.field);
}

/** @param {HTMLElement} field @param {string} text @param {DisplayUnits} units @returns {number} base unit @throws {InputError} */
export function readQuantity(field, text, units) {
  const dimension = /** @type {string} */ (field.dataset.dimension);
  return limited(field, units.read(text, dimension), (limit) => units.text(limit, dimension));
}

/** Read a text as a quantity's box of a form would, where it must not be empty.
 * @param {string} kind @param {string} which @param {string} text @param {DisplayUnits} units @throws {InputError} */
export function readLike(kind, which, text, units) {
  const field = /** @type {HTMLElement} */ (cloneTemplate(`form-${kind}`).querySelector(`[data-field="${which}"]`));
  if (text.trim() === "") refuseEmpty(field);
  return readQuantity(field, text.trim(), units);
}
