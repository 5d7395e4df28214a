/** What stands in a form, read back into base units and checked with the limits that its fields carry. */

import { plain } from "../formulas/checks.js";
import { DAY_MINUTES, instant } from "../formulas/day.js";
import { parseMoney, plainMoney } from "../formulas/money.js";
import { parseNumber } from "../formulas/units.js";
import { InputError, t } from "../words/door.js";
import { boxOf } from "./boxes.js";
import { fieldName, ownField, ownFields, rowsOf } from "./form_fields.js";
import { labelOf, limited, readQuantity, refuseEmpty } from "./quantity_box.js";
import { keptOf } from "./words_instead.js";

/** @typedef {import("./form_fields.js").DisplayUnits} DisplayUnits */
/** @typedef {import("./form_fields.js").Fields} Fields */

/**
 * Read a form back.
 * @param {HTMLElement} root @param {DisplayUnits} units
 * @param {boolean} [aloud] show what is wrong beside each box
 * @returns {{values: Fields, wrong: number, problems: Record<string, string>}} values of the boxes that could be read; a
 *   hidden box gives null. `problems`: what is wrong with the form's own fields; `wrong` counts those of rows as well
 */
export function readForm(root, units, aloud = false) {
  /** @type {Fields} */
  const values = {};
  /** @type {Record<string, string>} */
  const problems = {};
  let wrong = 0;
  for (const field of ownFields(root)) {
    let problem = "";
    if (field.dataset.as === "rows") {
      const read = readRows(field, units, aloud);
      values[fieldName(field)] = read.values;
      wrong += read.wrong;
      if (read.values.length < Number(field.dataset.least)) problem = t("Give at least one.");
    } else if (field.hidden) {
      values[fieldName(field)] = null;
    } else {
      try {
        values[fieldName(field)] = readField(field, units);
        if (field.dataset.words) Object.assign(values, keptOf(field, /** @type {HTMLSelectElement} */ (boxOf(field))));
        notBelow(root, field, values);
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        problem = error.message;
      }
    }
    if (problem !== "") {
      problems[fieldName(field)] = problem;
      wrong += 1;
    }
    if (aloud) showProblem(field, problem);
  }
  return { values, wrong, problems };
}

/** @param {HTMLElement} field @param {DisplayUnits} units @param {boolean} aloud */
function readRows(field, units, aloud) {
  const values = [];
  let wrong = 0;
  for (const row of rowsOf(field)) {
    const read = readForm(row, units, aloud);
    values.push(read.values);
    wrong += read.wrong;
  }
  return { values, wrong };
}

/** A box that must not be below another of the form. @param {ParentNode} root @param {HTMLElement} field @param {Fields} values */
function notBelow(root, field, values) {
  const over = field.dataset.over ?? "";
  const [value, least] = [values[fieldName(field)], values[over]];
  if (typeof value !== "number" || typeof least !== "number" || value >= least) return;
  const names = { name: labelOf(field), other: labelOf(ownField(root, over)) };
  throw new InputError("{name} must not be lower than “{other}”.", names, fieldName(field));
}

/** @param {HTMLElement} field @param {DisplayUnits} units @returns {string | number | string[] | null} */
function readField(field, units) {
  const name = labelOf(field) || t("This");
  const about = fieldName(field);
  const text = boxOf(field).value.trim();
  if (text === "") {
    if (field.dataset.needed === "yes") refuseEmpty(field);
    return null;
  }
  switch (field.dataset.as) {
    case "quantity":
      return readQuantity(field, text, units);
    case "percent":
      return limited(field, parseNumber(text.replace(/%$/, "")) / 100, (limit) => `${plain(limit * 100)} %`);
    case "minutes":
      return limited(field, parseNumber(text) * 60, (limit) => t("{n} minutes", { n: plain(limit / 60) }));
    case "time": {
      const found = /^(\d{1,2})[:.](\d{2})$/.exec(text);
      const value = found ? Number(found[1]) * 60 + Number(found[2]) : NaN;
      if (found === null || Number(found[2]) > 59 || value >= DAY_MINUTES) {
        throw new InputError("{name} must be a time of day, such as 9:00 or 21:30.", { name }, about);
      }
      return value;
    }
    case "money":
      return limited(field, parseMoney(text, units.currency), (limit) => plainMoney(limit, units.currency));
    case "currency":
      if (!/^[A-Za-z]{3}$/.test(text)) {
        throw new InputError("{name} must be the three letters of its code, such as EUR.", { name }, about);
      }
      return text.toUpperCase();
    case "material":
      return text.split(",");
    case "zone":
      instant("2026-01-01", 0, text);
      return text;
    case "whole": {
      const value = parseNumber(text);
      if (!Number.isInteger(value)) throw new InputError("{name} must be a whole number.", { name }, about);
      return limited(field, value, plain);
    }
    case "number":
      return limited(field, parseNumber(text), plain);
    default:
      return text;
  }
}

/** Say beside one box what is wrong with it. @param {HTMLElement} root @param {string} name @param {string} problem */
export function complain(root, name, problem) {
  const field = ownField(root, name);
  if (field) showProblem(field, problem);
}

/** @param {HTMLElement} field @param {string} problem */
function showProblem(field, problem) {
  const errors = [...field.querySelectorAll("[data-error]")];
  const error = /** @type {HTMLElement} */ (errors[errors.length - 1]);
  error.textContent = problem;
  error.hidden = problem === "";
  if (field.dataset.as !== "rows") boxOf(field).setAttribute("aria-invalid", String(problem !== ""));
}
