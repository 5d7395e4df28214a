/** The fields of a kind in words: what each is called, and a value as one says it. */

import { filled } from "../records/merge.js";
import { dayText } from "../words/dates.js";
import { listed, message, t, worded } from "../words/door.js";
import { minorText } from "./cost_words.js";
import { cloneTemplate } from "./dom.js";
import { boxText, fieldName, ownFields, rowTemplate } from "./form_fields.js";
import { labelOf } from "./quantity_box.js";
import { choiceOf, wordsOf } from "./words_instead.js";

/** @typedef {import("./form_fields.js").DisplayUnits} DisplayUnits */
/** @typedef {(kind: string, id: string) => string | undefined} Named another record's name */

/** What no form draws, and is kept as another part of the program wrote it. @type {Record<string, import("../words/door.js").Message>} */
const HELD = {
  logo: message("Logo"),
  sentences: message("Sentences of the law"),
  answers: message("What you answered"),
  deleted_why: message("Why it was deleted"),
};

/** The fields of a kind in the order of its form. @param {string} kind */
export const fieldNames = (kind) => ownFields(cloneTemplate(`form-${kind}`)).map(fieldName);

/** @param {string} kind @param {string} which @param {any} value @param {DisplayUnits} units @param {Named} named
 * @returns {{label: string, text: string}} */
export function fieldInWords(kind, which, value, units, named) {
  if (which === "deleted") return { label: t("Deleted"), text: value ? t("yes") : t("no") };
  const field = /** @type {HTMLElement | null} */ (
    cloneTemplate(`form-${kind}`).querySelector(`[data-field="${which}"]`)
  );
  if (field === null && kind === "product" && which.startsWith("risk_"))
    return answerInWords(which, value, units, named);
  if (field === null) {
    const label = HELD[which] ? worded(HELD[which]) : which.replaceAll("_", " ");
    if (which === "deleted_why" && typeof value === "string") return { label, text: value };
    // A logo is a hundred thousand letters.
    const text = value !== null && typeof value === "object" ? t("see the label’s page") : JSON.stringify(value);
    return { label, text };
  }
  try {
    return { label: labelOf(field), text: valueInWords(field, value, units, named) };
  } catch {
    // Whatever it is: it was kept once, so it is shown.
    return { label: labelOf(field), text: JSON.stringify(value) };
  }
}

/** The answer to a question of a product's risks. @param {string} which @param {any} value @param {DisplayUnits} units
 * @param {Named} named */
function answerInWords(which, value, units, named) {
  const question = cloneTemplate("screen-risk").querySelector(`[data-key="${which.slice("risk_".length)}"]`);
  const parts = Object.entries(filled(value)).map(([name, each]) => fieldInWords("risk", name, each, units, named));
  const text = parts.map(({ label, text: said }) => `${label}: ${said}`).join("; ");
  return { label: question?.textContent ?? which, text: text || t("empty") };
}

/** Whether nothing was filled in. @param {any} value */
export function isBlank(value) {
  return value === null || value === undefined || value === "" || (Array.isArray(value) && value.length === 0);
}

/** @param {HTMLElement} field @param {any} value @param {DisplayUnits} units @param {Named} named @returns {string} */
function valueInWords(field, value, units, named) {
  if (isBlank(value)) return t("empty");
  switch (field.dataset.as) {
    case "rows": {
      const parts = ownFields(/** @type {HTMLElement} */ (rowTemplate(field).querySelector("[data-row]")));
      const row = (/** @type {Record<string, unknown>} */ each) =>
        parts.map((part) => valueInWords(part, partOf(part, each, named), units, named)).join(" ");
      return listed(value.map(row));
    }
    case "record":
      return wordsOf(value) ?? named(/** @type {string} */ (field.dataset.kind), value) ?? t("one that is not here");
    case "material":
      return named(value[0], value[1]) ?? t("one that is not here");
    case "day":
      return dayText(value);
    case "money":
      return minorText(value, units.currency);
    case "choice":
      return (
        [...field.querySelectorAll("option")].find((option) => option.value === value)?.textContent ?? String(value)
      );
    default: {
      const unit = field.querySelector(".unit")?.textContent ?? "";
      return `${boxText(field, value, units)} ${unit}`.trim();
    }
  }
}

/** A part of a row; words where no record is named. @param {HTMLElement} part @param {Record<string, unknown>} row
 * @param {Named} named */
function partOf(part, row, named) {
  const id = row[fieldName(part)];
  if (!part.dataset.words) return id;
  return choiceOf(part, row, (kind) => (named(kind, String(id)) === undefined ? [] : [{ id }]));
}
