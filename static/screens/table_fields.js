/** The fields of a kind as the columns of a table, and a record as a row of it. */

import { plainMoney } from "../formulas/money.js";
import { t } from "../words/door.js";
import { cloneTemplate } from "./dom.js";
import { fieldName, ownFields } from "./form_fields.js";
import { aboutKind } from "./kinds.js";
import { labelOf } from "./quantity_box.js";

/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {(kind: string, id: string) => string | undefined} Named another record's name */
/**
 * @typedef {object} Column
 * @property {string} name of the field
 * @property {string} as how its form keeps it
 * @property {string} label no other column has it
 * @property {string[]} labels what a column of it may be called
 * @property {string} unit what its numbers are in; empty where they have none
 * @property {HTMLElement | null} field as the form draws it; null for what the form asks for in another way
 */

/** The column that says of which kind a delivery's material is: in the form it is chosen together with the material. */
export const MATERIAL_KIND = "material_kind";

/** @type {Record<string, string>} */
const BASE = { mass: "g", volume: "ml", temperature: "°C", length: "mm" };

/** @param {string} kind @param {string} [currency] @returns {Column[]} */
export function columnsOf(kind, currency) {
  const fields = ownFields(cloneTemplate(`form-${kind}`)).filter(({ dataset }) => dataset.as !== "rows");
  const labels = fields.map(labelOf);
  return fields.flatMap((field, index) => {
    const own = labels[index];
    const isTwice = labels.indexOf(own) !== labels.lastIndexOf(own);
    const label = isTwice ? t("{label}, {when}", { label: own, when: whenInWords(field, fields) }) : own;
    const column = {
      name: fieldName(field),
      as: String(field.dataset.as),
      label,
      labels: [label, own],
      unit: unitOf(field, currency),
      field,
    };
    if (column.as !== "material") return [column];
    const of = t("Kind of material");
    return [{ name: MATERIAL_KIND, as: "kind", label: of, labels: [of], unit: "", field: null }, column];
  });
}

/** What is chosen where a field is shown. @param {HTMLElement} field @param {HTMLElement[]} fields */
function whenInWords(field, fields) {
  const { when, whenIs = "" } = field.dataset;
  const decides = fields.find((each) => fieldName(each) === when);
  const options = [...(decides?.querySelectorAll("option") ?? [])];
  return options
    .filter(({ value }) => whenIs.split(" ").includes(value))
    .map(({ textContent }) => textContent)
    .join(", ");
}

/** @param {HTMLElement} field @param {string} [currency] */
function unitOf(field, currency = "") {
  if (field.dataset.as === "quantity") return BASE[field.dataset.dimension ?? ""] ?? "";
  if (field.dataset.as === "money") return currency;
  return field.querySelector(".unit")?.textContent ?? "";
}

/** What a column is headed with. @param {Column} column */
export const headingOf = ({ label, unit }) => (unit === "" ? label : `${label} (${unit})`);

/** Whether a field belongs to what a record says in another one. @param {HTMLElement} field @param {Record<string, any>} record */
export function isShown({ dataset: { when, whenIs = "" } }, record) {
  return when === undefined || whenIs.split(" ").includes(record[when]);
}

/** A record as cells: numbers in base units, words where a choice has them, names where it names others.
 * @param {Plain} record @param {Column[]} columns @param {Named} named @param {string} [currency] */
export function cellsOf(record, columns, named, currency) {
  return columns.map((column) => cellOf(record, column, named, currency));
}

/** @param {Plain} record @param {Column} column @param {Named} named @param {string} [currency] @returns {string | number} */
export function cellOf(record, { name, as, field }, named, currency) {
  const value = record[name];
  if (as === "kind") return aboutKind(record.material?.[0] ?? "").one ?? "";
  if (value === undefined || value === null || (field !== null && !isShown(field, record))) return "";
  switch (as) {
    case "percent":
      return Number((value * 100).toPrecision(10));
    case "minutes":
      return Number((value / 60).toPrecision(10));
    case "money":
      return Number(plainMoney(value, currency));
    case "record":
      return named(field?.dataset.kind ?? "", value) ?? "";
    case "material":
      return named(value[0], value[1]) ?? "";
    case "choice":
      return optionOf(field, value)?.textContent ?? String(value);
    default:
      return typeof value === "number" ? value : String(value);
  }
}

/** @param {HTMLElement | null} field @param {unknown} value */
const optionOf = (field, value) => [...(field?.querySelectorAll("option") ?? [])].find((each) => each.value === value);
