/** The fields of a form as the server drew them: a holder with its name, kind and limits, and its box. */

import { plainMoney } from "../formulas/money.js";
import { timeOfDay } from "../words/dates.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits & {currency?: string}} DisplayUnits with the workshop's
 *   currency, where a form asks for money */
/** @typedef {Record<string, any>} Fields values by field, in base units */

/** @param {ParentNode} root its own fields, not those of the rows within. @returns {HTMLElement[]} */
export function ownFields(root) {
  const all = /** @type {HTMLElement[]} */ ([...root.querySelectorAll("[data-field]")]);
  return all.filter((field) => {
    const outer = field.parentElement?.closest("[data-row], form");
    return outer === null || outer === undefined || outer === root || !root.contains(outer);
  });
}

/** @param {HTMLElement} field */
export const fieldName = (field) => /** @type {string} */ (field.dataset.field);

/** @param {ParentNode} root @param {string} name */
export function ownField(root, name) {
  return ownFields(root).find((each) => fieldName(each) === name);
}

/** The rows of a field that is a list of small forms. @param {HTMLElement} field @returns {HTMLElement[]} */
export function rowsOf(field) {
  return /** @type {HTMLElement[]} */ ([...field.querySelectorAll(":scope > [data-rows] > [data-row]")]);
}

/** What one row of such a field is drawn from. @param {HTMLElement} field */
export function rowTemplate(field) {
  return /** @type {HTMLTemplateElement} */ (field.querySelector("template")).content;
}

/** A kept value as it stands in its box. @param {HTMLElement} field @param {any} value @param {DisplayUnits} units */
export function boxText(field, value, units) {
  if (typeof value !== "number") return String(value ?? "");
  switch (field.dataset.as) {
    case "quantity":
      return units.editable(value, /** @type {string} */ (field.dataset.dimension));
    case "percent":
      return String(Number((value * 100).toPrecision(10)));
    case "minutes":
      return String(Number((value / 60).toPrecision(10)));
    case "time":
      return timeOfDay(value);
    case "money":
      return plainMoney(value, units.currency);
    default:
      return String(value);
  }
}
