/** The form of a record, drawn from what the server sent with the shell and filled with a record's values. */

import { t } from "../words/door.js";
import { boxesOf, boxOf } from "./boxes.js";
import { cloneTemplate, h } from "./dom.js";
import { boxText, fieldName, ownField, ownFields, rowsOf, rowTemplate } from "./form_fields.js";
import { aboutKind } from "./kinds.js";
import { choiceOf, choose } from "./words_instead.js";

/** @typedef {import("./form_fields.js").DisplayUnits} DisplayUnits */
/** @typedef {import("./form_fields.js").Fields} Fields */
/** @typedef {(kind: string) => Fields[]} Others the records that a field may name */

/**
 * Draw the form of a kind into `place` and fill it.
 * @param {HTMLElement} place @param {string} kind @param {Fields} record @param {DisplayUnits} units @param {Others} others
 */
export function drawForm(place, kind, record, units, others) {
  place.replaceChildren(cloneTemplate(`form-${kind}`));
  fillForm(place, record, units, others);
}

/** Fill a form that is there, and show of it what belongs to what is chosen.
 * @param {HTMLElement} place @param {Fields} record @param {DisplayUnits} units @param {Others} others */
export function fillForm(place, record, units, others) {
  fillFields(place, record, units, others);
  place.addEventListener("change", () => showWhen(place));
  showWhen(place);
}

/** @param {ParentNode} root @param {Fields} record @param {DisplayUnits} units @param {Others} others */
function fillFields(root, record, units, others) {
  for (const field of ownFields(root)) {
    if (field.dataset.as !== "rows") dressField(field, units, others);
    const value = field.dataset.words ? choiceOf(field, record, others) : record[fieldName(field)];
    fillField(field, value, units, others);
  }
}

/** Let a field show a value: undefined is what a new record starts with.
 * @param {HTMLElement} field @param {any} value @param {DisplayUnits} units @param {Others} others */
export function fillField(field, value, units, others) {
  if (field.dataset.as === "rows") {
    fillRows(field, value ?? new Array(rowsToStart(field, others)).fill({}), units, others);
    return;
  }
  const box = boxOf(field);
  const text = boxText(field, value === undefined ? standard(field) : value, units);
  if (box instanceof HTMLSelectElement) choose(box, text);
  else box.value = text;
}

/** How many rows a new record shows: none that could name nothing. @param {HTMLElement} field @param {Others} others */
function rowsToStart(field, others) {
  const named = /** @type {HTMLElement | null} */ (rowTemplate(field).querySelector("[data-kind]"));
  return Number(named && others(named.dataset.kind ?? "").length === 0 ? field.dataset.least : field.dataset.start);
}

/** What a new record starts with. @param {HTMLElement} field */
const standard = (field) => JSON.parse(field.dataset.default ?? "null");

let counted = 0;

/** What a box says of itself, and what may be chosen in it.
 * @param {HTMLElement} field @param {DisplayUnits} units @param {Others} others */
function dressField(field, units, others) {
  const box = boxOf(field);
  const error = /** @type {HTMLElement} */ (field.querySelector("[data-error]"));
  error.id = `error-${(counted += 1)}`;
  const help = field.querySelector(".help");
  if (help) help.id = `help-${counted}`;
  box.setAttribute("aria-describedby", `${help?.id ?? ""} ${error.id}`.trim());
  box.name = fieldName(field);
  if (field.dataset.needed === "yes") box.required = true;
  if (field.dataset.as === "record") {
    const link = /** @type {HTMLAnchorElement | null} */ (field.querySelector("[data-new]"));
    // There and back: what is half typed here waits.
    if (link) link.href = `#/edit/${field.dataset.kind}/new${location.hash.replace(/^#(\/edit)?/, "")}`;
    drawChoices(field, others);
  }
  if (field.dataset.as === "material") drawMaterials(field, others);
  if (field.dataset.as === "money" && units.currency) box.setAttribute("placeholder", units.currency);
  if (field.dataset.as === "quantity")
    box.setAttribute("placeholder", units.units[field.dataset.dimension ?? ""].split(" ").at(-1) ?? "");
}

/** The records that may be chosen in a box; what is chosen stays, though it be deleted meanwhile.
 * @param {HTMLElement} field @param {Others} others */
function drawChoices(field, others) {
  const box = /** @type {HTMLSelectElement} */ (boxOf(field));
  const choices = others(/** @type {string} */ (field.dataset.kind));
  const chosen = box.selectedOptions[0];
  const value = box.value;
  box.replaceChildren(
    h("option", { value: "" }, choices.length ? t("choose") : t("none yet")),
    ...choices.map((choice) => h("option", { value: choice.id }, choice.name)),
  );
  if (value !== "" && choices.every(({ id }) => id !== value)) box.append(chosen);
  box.value = value;
}

/** The materials that may be chosen in a box, kind by kind. @param {HTMLElement} field @param {Others} others */
function drawMaterials(field, others) {
  const box = /** @type {HTMLSelectElement} */ (boxOf(field));
  const chosen = box.selectedOptions[0];
  const value = box.value;
  const groups = (field.dataset.kinds ?? "").split(" ").flatMap((kind) => {
    const options = others(kind).map(({ id, name }) => h("option", { value: `${kind},${id}` }, name));
    return options.length > 0 ? [h("optgroup", { label: aboutKind(kind).many }, ...options)] : [];
  });
  box.replaceChildren(h("option", { value: "" }, groups.length ? t("choose") : t("none yet")), ...groups);
  if (value !== "" && ![...box.options].some((option) => option.value === value)) box.append(chosen);
  box.value = value;
}

/** Offer the records that there are now. @param {HTMLElement} form @param {Others} others */
export function redrawChoices(form, others) {
  for (const field of /** @type {NodeListOf<HTMLElement>} */ (form.querySelectorAll('[data-as="material"]')))
    drawMaterials(field, others);
  for (const field of /** @type {NodeListOf<HTMLElement>} */ (form.querySelectorAll('[data-as="record"]')))
    drawChoices(field, others);
}

/** One of a kind is the one that is meant. @param {ParentNode} root */
export function chooseOnly(root) {
  for (const box of boxesOf(root)) {
    if (box instanceof HTMLSelectElement && box.value === "" && box.required && box.options.length === 2)
      box.selectedIndex = 1;
  }
}

/** Choose a record that was made on the way, where nothing is chosen.
 * @param {HTMLElement} root @param {string} kind @param {string} id */
export function chooseMade(root, kind, id) {
  const fields = /** @type {HTMLElement[]} */ ([...root.querySelectorAll(`[data-kind="${kind}"]`)]);
  const box = fields.map(boxOf).find(({ value }) => value === "");
  if (!box) return;
  box.value = id;
  box.dispatchEvent(new Event("change", { bubbles: true }));
}

/** @param {HTMLElement} field @param {Fields[]} rows @param {DisplayUnits} units @param {Others} others */
function fillRows(field, rows, units, others) {
  const place = /** @type {HTMLElement} */ (field.querySelector("[data-rows]"));
  const add = /** @type {HTMLButtonElement} */ (field.querySelector("[data-add]"));
  const changed = () => place.dispatchEvent(new Event("change", { bubbles: true }));
  const settle = () => (add.hidden = place.children.length >= Number(field.dataset.most));
  const addRow = (/** @type {Fields} */ row) => {
    const piece = /** @type {DocumentFragment} */ (rowTemplate(field).cloneNode(true));
    const element = /** @type {HTMLElement} */ (piece.querySelector("[data-row]"));
    place.append(element);
    fillFields(element, row, units, others);
    element.querySelector("[data-drop]")?.addEventListener("click", () => {
      element.remove();
      settle();
      changed();
      (add.hidden ? place.querySelector("select") : add)?.focus();
    });
    return element;
  };
  const missing = Math.max(0, Number(field.dataset.least) - rows.length);
  place.replaceChildren();
  for (const row of [...rows, ...new Array(missing).fill({})]) addRow(row);
  settle();
  add.onclick = () => {
    const row = addRow({});
    chooseOnly(row);
    settle();
    changed();
    boxOf(row).focus();
  };
}

/** Give a field so many rows, which start as new ones do; one that has them keeps them.
 * @param {HTMLElement} field @param {number} count @param {DisplayUnits} units @param {Others} others */
export function setRowCount(field, count, units, others) {
  if (rowsOf(field).length !== count) fillRows(field, new Array(count).fill({}), units, others);
}

/** Show the boxes that belong to what is chosen, and no others. @param {HTMLElement} root */
export function showWhen(root) {
  for (const field of ownFields(root)) {
    const { when, whenIs } = field.dataset;
    if (when === undefined) continue;
    const decides = ownField(root, when);
    field.hidden = !(whenIs ?? "").split(" ").includes(decides ? boxOf(decides).value : "");
  }
}
