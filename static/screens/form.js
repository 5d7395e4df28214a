/** The forms that the server drew: filled from a record, read back, checked with the limits they carry. */

import { plain } from "../formulas/checks.js";
import { DAY_MINUTES, instant } from "../formulas/day.js";
import { parseNumber } from "../formulas/units.js";
import { timeOfDay } from "../words/dates.js";
import { InputError } from "../words/door.js";
import { cloneTemplate, h } from "./dom.js";
import { choiceOf, choose, keptOf, wordsOf } from "./words_instead.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {Record<string, any>} Fields */
/** @typedef {(kind: string) => Fields[]} Others the records that a field may name */

/**
 * Draw the form of a kind into `place` and fill it.
 * @param {HTMLElement} place @param {string} kind @param {Fields} record @param {DisplayUnits} units @param {Others} others
 */
export function drawForm(place, kind, record, units, others) {
  place.replaceChildren(cloneTemplate(`form-${kind}`));
  fillFields(place, record, units, others);
  place.addEventListener("change", () => showWhen(place));
  showWhen(place);
}

/**
 * Keep what is typed while she is away from the form, also over a reload; forget it once saved.
 * @param {HTMLElement} form @param {string} key @param {DisplayUnits} units @param {Others} others
 * @returns {(forGood?: boolean) => void} forget it
 */
export function keepDraft(form, key, units, others) {
  const rows = () => /** @type {HTMLElement[]} */ ([...form.querySelectorAll('[data-as="rows"]')]);
  const boxes = () => /** @type {HTMLInputElement[]} */ ([...form.querySelectorAll("input, select, textarea")]);
  const draft = JSON.parse(sessionStorage.getItem(key) ?? "null");
  if (draft !== null && draft.rows.length === rows().length) {
    rows().forEach((field, index) => {
      field.querySelector("[data-rows]")?.replaceChildren();
      fillRows(field, new Array(draft.rows[index]).fill({}), units, others);
    });
    boxes().forEach((box, index) => {
      if (box.type === "checkbox") box.checked = draft.texts[index] === "on";
      // What has been made since may be chosen by itself.
      else if (draft.texts[index] || !(box.required && box instanceof HTMLSelectElement))
        if (box instanceof HTMLSelectElement) choose(box, draft.texts[index] ?? box.value);
        else box.value = draft.texts[index] ?? box.value;
    });
    showWhen(form);
  }
  let over = false;
  const keep = () =>
    over ||
    sessionStorage.setItem(
      key,
      JSON.stringify({
        rows: rows().map((field) => field.querySelectorAll("[data-row]").length),
        texts: boxes().map(({ type, checked, value }) => (type === "checkbox" ? (checked ? "on" : "") : value)),
      }),
    );
  form.addEventListener("input", keep);
  form.addEventListener("change", keep);
  return (forGood = false) => {
    // A box that is taken off the page with the cursor in it still says that it changed.
    over = forGood;
    sessionStorage.removeItem(key);
  };
}

/** @param {ParentNode} root its own fields, not those of the rows within. @returns {HTMLElement[]} */
function ownFields(root) {
  const all = /** @type {HTMLElement[]} */ ([...root.querySelectorAll("[data-field]")]);
  return all.filter((field) => {
    const outer = field.parentElement?.closest("[data-row], form");
    return outer === null || outer === undefined || outer === root || !root.contains(outer);
  });
}

/** @param {ParentNode} root @param {Fields} record @param {DisplayUnits} units @param {Others} others */
function fillFields(root, record, units, others) {
  for (const field of ownFields(root)) {
    const value = field.dataset.words ? choiceOf(field, record, others) : record[name(field)];
    if (field.dataset.as === "rows")
      fillRows(field, value ?? new Array(rowsToStart(field, others)).fill({}), units, others);
    else fillField(field, value === undefined ? standard(field) : value, units, others);
  }
}

/** How many rows a new record shows: none that could name nothing. @param {HTMLElement} field @param {Others} others */
function rowsToStart(field, others) {
  const { content } = /** @type {HTMLTemplateElement} */ (field.querySelector("template"));
  const named = /** @type {HTMLElement | null} */ (content.querySelector("[data-kind]"));
  return Number(named && others(named.dataset.kind ?? "").length === 0 ? field.dataset.least : field.dataset.start);
}

/** @param {HTMLElement} field */
const name = (field) => /** @type {string} */ (field.dataset.field);

/** What a new record starts with. @param {HTMLElement} field */
const standard = (field) => JSON.parse(field.dataset.default ?? "null");

/** @param {HTMLElement} field @returns {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} */
function control(field) {
  return /** @type {any} */ (field.querySelector("input, select, textarea"));
}

let counted = 0;

/** @param {HTMLElement} field @param {any} value @param {DisplayUnits} units @param {Others} others */
function fillField(field, value, units, others) {
  const box = control(field);
  const error = /** @type {HTMLElement} */ (field.querySelector("[data-error]"));
  error.id = `error-${(counted += 1)}`;
  const help = field.querySelector(".help");
  if (help) help.id = `help-${counted}`;
  box.setAttribute("aria-describedby", `${help?.id ?? ""} ${error.id}`.trim());
  box.name = name(field);
  if (field.dataset.needed === "yes") box.required = true;
  if (field.dataset.as === "record") {
    const kind = /** @type {string} */ (field.dataset.kind);
    const choices = others(kind);
    const link = /** @type {HTMLAnchorElement} */ (field.querySelector("[data-new]"));
    // There and back: what is half typed here waits.
    link.href = `#/edit/${kind}/new${location.hash.slice("#/edit".length)}`;
    box.replaceChildren(
      h("option", { value: "" }, choices.length ? "choose" : "none yet"),
      ...choices.map((choice) => h("option", { value: choice.id }, choice.name)),
    );
  }
  if (field.dataset.as === "quantity")
    box.setAttribute("placeholder", units.units[field.dataset.dimension ?? ""].split(" ").at(-1) ?? "");
  if (box instanceof HTMLSelectElement) choose(box, shown(field, value, units));
  else box.value = shown(field, value, units);
  // One of a kind is the one that is meant.
  if (box instanceof HTMLSelectElement && box.value === "" && box.required && box.options.length === 2)
    box.selectedIndex = 1;
}

/** A kept value as it stands in its box. @param {HTMLElement} field @param {any} value @param {DisplayUnits} units */
function shown(field, value, units) {
  if (value === null || value === undefined) return "";
  switch (field.dataset.as) {
    case "quantity":
      return units.editable(value, /** @type {string} */ (field.dataset.dimension));
    case "percent":
      return String(Number((value * 100).toPrecision(10)));
    case "minutes":
      return String(Number((value / 60).toPrecision(10)));
    case "time":
      return timeOfDay(value);
    default:
      return String(value);
  }
}

/** The fields of a kind in the order of its form. @param {string} kind */
export const fieldNames = (kind) => ownFields(cloneTemplate(`form-${kind}`)).map(name);

/** A field of a kind in words: what it is called, and a value as one says it.
 * @param {string} kind @param {string} which @param {any} value @param {DisplayUnits} units
 * @param {(kind: string, id: string) => string | undefined} named another record's name */
export function fieldInWords(kind, which, value, units, named) {
  if (which === "deleted") return { label: "Deleted", text: value ? "yes" : "no" };
  const field = /** @type {HTMLElement | null} */ (
    cloneTemplate(`form-${kind}`).querySelector(`[data-field="${which}"]`)
  );
  const label = field?.querySelector(".name, legend")?.textContent ?? which.replaceAll("_", " ");
  try {
    return { label, text: field === null ? JSON.stringify(value) : valueInWords(field, value, units, named) };
  } catch {
    // Whatever it is: it was kept once, so it is shown.
    return { label, text: JSON.stringify(value) };
  }
}

/** @param {HTMLElement} field @param {any} value @param {DisplayUnits} units
 * @param {(kind: string, id: string) => string | undefined} named @returns {string} */
function valueInWords(field, value, units, named) {
  if (value === null || value === undefined || value === "" || (Array.isArray(value) && value.length === 0))
    return "blank";
  switch (field.dataset.as) {
    case "rows": {
      const { content } = /** @type {HTMLTemplateElement} */ (field.querySelector("template"));
      const parts = ownFields(/** @type {HTMLElement} */ (content.querySelector("[data-row]")));
      const row = (/** @type {Fields} */ each) =>
        parts.map((part) => valueInWords(part, partOf(part, each, named), units, named)).join(" ");
      return value.map(row).join(", ");
    }
    case "record":
      if (wordsOf(value) !== null) return /** @type {string} */ (wordsOf(value));
      return named(/** @type {string} */ (field.dataset.kind), value) ?? "one that is not kept here";
    case "choice":
      return (
        [...field.querySelectorAll("option")].find((option) => option.value === value)?.textContent ?? String(value)
      );
    default: {
      const unit = field.querySelector(".unit")?.textContent ?? "";
      return `${shown(field, value, units)} ${unit}`.trim();
    }
  }
}

/** A part of a row; words where no record is named. @param {HTMLElement} part @param {Fields} row
 * @param {(kind: string, id: string) => string | undefined} named */
function partOf(part, row, named) {
  if (!part.dataset.words) return row[name(part)];
  const known = (/** @type {string} */ kind) =>
    named(kind, row[name(part)]) === undefined ? [] : [{ id: row[name(part)] }];
  return choiceOf(part, row, known);
}

/** @param {HTMLElement} field @param {Fields[]} rows @param {DisplayUnits} units @param {Others} others */
function fillRows(field, rows, units, others) {
  const place = /** @type {HTMLElement} */ (field.querySelector("[data-rows]"));
  const template = /** @type {HTMLTemplateElement} */ (field.querySelector("template"));
  const add = /** @type {HTMLButtonElement} */ (field.querySelector("[data-add]"));
  const changed = () => place.dispatchEvent(new Event("change", { bubbles: true }));
  const settle = () => (add.hidden = place.children.length >= Number(field.dataset.most));
  const addRow = (/** @type {Fields} */ row) => {
    const piece = /** @type {DocumentFragment} */ (template.content.cloneNode(true));
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
  for (const row of [...rows, ...new Array(missing).fill({})]) addRow(row);
  settle();
  add.onclick = () => {
    const row = addRow({});
    settle();
    changed();
    control(row).focus();
  };
}

/** Show the boxes that belong to what is chosen, and no others. @param {HTMLElement} root */
function showWhen(root) {
  for (const field of ownFields(root)) {
    const { when, whenIs } = field.dataset;
    if (when === undefined) continue;
    const decides = ownFields(root).find((other) => name(other) === when);
    field.hidden = !(whenIs ?? "").split(" ").includes(decides ? control(decides).value : "");
  }
}

/**
 * Read a form back.
 * @param {HTMLElement} root @param {DisplayUnits} units
 * @param {boolean} [aloud] show what is wrong beside each box
 * @returns {{values: Fields, wrong: number}} values of the boxes that could be read; a hidden box gives null
 */
export function readForm(root, units, aloud = false) {
  /** @type {Fields} */
  const values = {};
  let wrong = 0;
  for (const field of ownFields(root)) {
    let problem = "";
    if (field.dataset.as === "rows") {
      const read = readRows(field, units, aloud);
      values[name(field)] = read.values;
      wrong += read.wrong;
      if (read.values.length < Number(field.dataset.least)) problem = "Give at least one.";
    } else if (field.hidden) {
      values[name(field)] = null;
    } else {
      try {
        values[name(field)] = readField(field, units);
        if (field.dataset.words)
          Object.assign(values, keptOf(field, /** @type {HTMLSelectElement} */ (control(field))));
        notBelow(root, field, values);
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        problem = error.message;
      }
    }
    if (problem !== "") wrong += 1;
    if (aloud) showProblem(field, problem);
  }
  return { values, wrong };
}

/** Choose a record that was made on the way, where nothing is chosen.
 * @param {HTMLElement} root @param {string} kind @param {string} id */
export function chooseMade(root, kind, id) {
  const fields = /** @type {HTMLElement[]} */ ([...root.querySelectorAll(`[data-kind="${kind}"]`)]);
  const box = fields.map(control).find(({ value }) => value === "");
  if (!box) return;
  box.value = id;
  box.dispatchEvent(new Event("change", { bubbles: true }));
}

/** Say beside one box what is wrong with it. @param {HTMLElement} root @param {string} which @param {string} problem */
export function complain(root, which, problem) {
  const field = ownFields(root).find((each) => name(each) === which);
  if (field) showProblem(field, problem);
}

/** A box that must not be below another of the form. @param {ParentNode} root @param {HTMLElement} field @param {Fields} values */
function notBelow(root, field, values) {
  const over = field.dataset.over ?? "";
  const [value, least] = [values[name(field)], values[over]];
  if (typeof value !== "number" || typeof least !== "number" || value >= least) return;
  const label = (/** @type {Element | null | undefined} */ of) => of?.querySelector(".name")?.textContent ?? "";
  const other = ownFields(root).find((each) => name(each) === over);
  throw new InputError(`${label(field)}: must not be below “${label(other)}”.`);
}

/** @param {HTMLElement} field @param {string} problem */
function showProblem(field, problem) {
  const errors = [...field.querySelectorAll("[data-error]")];
  const error = /** @type {HTMLElement} */ (errors[errors.length - 1]);
  error.textContent = problem;
  error.hidden = problem === "";
  if (field.dataset.as !== "rows") control(field).setAttribute("aria-invalid", String(problem !== ""));
}

/** @param {HTMLElement} field @param {DisplayUnits} units @param {boolean} aloud */
function readRows(field, units, aloud) {
  const values = [];
  let wrong = 0;
  for (const row of /** @type {NodeListOf<HTMLElement>} */ (
    field.querySelectorAll(":scope > [data-rows] > [data-row]")
  )) {
    const read = readForm(row, units, aloud);
    values.push(read.values);
    wrong += read.wrong;
  }
  return { values, wrong };
}

/** @param {HTMLElement} field @param {DisplayUnits} units @returns {any} */
function readField(field, units) {
  const label = field.querySelector(".name")?.textContent ?? "This";
  const text = control(field).value.trim();
  if (text === "") {
    if (field.dataset.needed === "yes") throw new InputError(`${label} is needed.`);
    return null;
  }
  switch (field.dataset.as) {
    case "quantity": {
      const dimension = /** @type {string} */ (field.dataset.dimension);
      const value = units.read(text, dimension);
      return limited(field, value, label, (limit) => units.text(limit, dimension));
    }
    case "percent":
      return limited(field, parseNumber(text.replace(/%$/, "")) / 100, label, (limit) => `${plain(limit * 100)} %`);
    case "minutes":
      return limited(field, parseNumber(text) * 60, label, (limit) => `${plain(limit / 60)} minutes`);
    case "time": {
      const found = /^(\d{1,2})[:.](\d{2})$/.exec(text);
      const value = found ? Number(found[1]) * 60 + Number(found[2]) : NaN;
      if (found === null || Number(found[2]) > 59 || value >= DAY_MINUTES) {
        throw new InputError(`${label} must be a time of day, such as 9:00 or 21:30.`);
      }
      return value;
    }
    case "zone":
      instant("2026-01-01", 0, text);
      return text;
    case "whole": {
      const value = parseNumber(text);
      if (!Number.isInteger(value)) throw new InputError(`${label} must be a whole number.`);
      return limited(field, value, label, plain);
    }
    case "number":
      return limited(field, parseNumber(text), label, plain);
    default:
      return text;
  }
}

/** Read a text as a box of a kind's form would, with its limits, where the box must not be empty.
 * @param {string} kind @param {string} which @param {string} text @param {DisplayUnits} units @returns {any} */
export function readLike(kind, which, text, units) {
  const field = /** @type {HTMLElement} */ (cloneTemplate(`form-${kind}`).querySelector(`[data-field="${which}"]`));
  field.dataset.needed = "yes";
  control(field).value = text;
  return readField(field, units);
}

/** @param {HTMLElement} field @param {number} value @param {string} label @param {(limit: number) => string} write */
function limited(field, value, label, write) {
  const [least, most] = [Number(field.dataset.least), Number(field.dataset.most)];
  if (!(value >= least - 1e-9 && value <= most + 1e-9)) {
    throw new InputError(`${label} must be from ${write(least)} to ${write(most)}: check it.`);
  }
  return value;
}
