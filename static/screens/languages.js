/** What languages are called: as in the form of a label. */
import { cloneTemplate } from "./dom.js";
import { ownField, rowTemplate } from "./form_fields.js";

/** @type {Map<string, string> | undefined} */
let names;

/** Such as 'German'. @param {string} code ISO 639-1 */
export function languageName(code) {
  names ??= new Map(optionsOf().map(({ value, textContent }) => [value, textContent ?? value]));
  return names.get(code) ?? code;
}

function optionsOf() {
  const texts = ownField(cloneTemplate("form-label"), "texts");
  if (texts === undefined || texts === null) throw new Error("no languages");
  return /** @type {HTMLOptionElement[]} */ ([
    ...rowTemplate(texts).querySelectorAll('[data-field="language"] option'),
  ]);
}
