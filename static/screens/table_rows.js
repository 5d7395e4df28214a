/** Rows of a table, read by the form of their kind as if each cell were typed into its box. */

import { sizeVessel, USUAL_MIX } from "../bench/sizing.js";
import { parseQuantity } from "../formulas/units.js";
import { grouped } from "../shelf/lists.js";
import { isPieces, MATERIALS, materialOf } from "../shelf/lots.js";
import { plainNumbers, readDay } from "../shelf/table_cells.js";
import { folded } from "../shelf/table_columns.js";
import { changesIn, idFrom, nameKey } from "../shelf/table_plan.js";
import { InputError, literal } from "../words/door.js";
import { boxOf } from "./boxes.js";
import { h } from "./dom.js";
import { drawForm, fillField, showWhen } from "./form.js";
import { fieldName, ownFields } from "./form_fields.js";
import { readForm } from "./form_reading.js";
import { aboutKind } from "./kinds.js";
import { cellOf, MATERIAL_KIND } from "./table_fields.js";
import { materialKindIn, notHere, references } from "./table_references.js";

/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("../shelf/table_plan.js").Made} Made */
/** @typedef {import("../shelf/table_plan.js").Read} Read */
/** @typedef {import("../shelf/table_plan.js").Row} Row */
/** @typedef {import("./form_fields.js").DisplayUnits} DisplayUnits */
/** @typedef {import("./table_fields.js").Column} Column */
/**
 * @typedef {object} How she says that the cells are meant
 * @property {import("../shelf/table_cells.js").Decimal} decimal
 * @property {import("../shelf/table_cells.js").DayOrder | null} order of days
 * @property {Map<string, string>} unitOf what bare numbers of a field are in, where its heading says so
 * @property {boolean} make make the records that a row names and that are not here
 * @property {string} materialKind of a material that is made, where its row does not say
 */

/** What there is of each kind is one record of this id, and nobody names it. @param {string} kind */
export const isOnly = (kind) => kind === "prices";

/**
 * @param {string} kind @param {Column[]} columns @param {How} how @param {DisplayUnits} units
 * @param {Map<string, Plain[]>} kept records by kind, deleted ones too
 * @returns {import("../shelf/table_plan.js").Ways}
 */
export function rowWays(kind, columns, how, units, kept) {
  const form = h("form");
  drawForm(form, kind, {}, units, () => []);
  const fields = new Map(ownFields(form).map((field) => [fieldName(field), field]));
  const others = references(kept, how.make, units);
  const own = kept.get(kind) ?? [];
  const byId = new Map(own.map((record) => [record.id, record]));
  const living = grouped(
    own.filter(({ deleted }) => !deleted),
    (record) => known(kind, record, others.nameOf(...materialOf(record))),
  );

  /** @param {Row} row @returns {Plain[]} */
  function candidates({ cells }) {
    const named = kind === "lot" ? { name: cells.name, received_on: cameOn(cells) } : cells;
    return living.get(known(kind, named, cells.material)) ?? [];
  }

  /** @param {Record<string, string>} cells of a delivery @throws {InputError} */
  function cameOn(cells) {
    const { label = "" } = columns.find(({ name }) => name === "received_on") ?? {};
    if (!cells.received_on) throw new InputError("{name} is needed.", { name: label });
    return dayIn(cells.received_on, label, how.order);
  }

  /** @param {Row} row @param {Plain | null} record @returns {Read} */
  function read(row, record) {
    const cells = { ...row.cells };
    const money = cells.currency ? { ...units, currency: cells.currency.toUpperCase() } : units;
    const same = record === null ? {} : takeSame(cells, record, money.currency);
    /** @type {Made[]} */
    const needs = [];
    if (record !== null && Object.keys(cells).length === 0)
      return { id: record.id, is_new: false, values: {}, given: same, unfit: [], needs };
    /** @type {string[]} */
    const missing = [];
    for (const [name, field] of fields) fillField(field, record?.[name], money, () => []);
    const chosen = new Map(
      columns
        .filter(({ as }) => as === "material" || as === "record")
        .map((column) => [column.name, named(column, cells, record, needs, missing)]),
    );
    if (missing.length > 0) throw notHere(missing);
    const [material] = chosen.get("material") ?? [];
    if (kind === "lot" && record === null) {
      cells.name ||= cameOn(cells);
      // What is counted in pieces is said by what it is.
      if (material !== undefined && isPieces(material)) cells.by ||= "pieces";
    }
    if (record === null) decide(fields, cells);
    for (const [name, field] of fields) {
      const column = columns.find((each) => each.name === name);
      if (chosen.has(name)) choose(field, chosen.get(name));
      else if (column && cells[name]) type(column, field, cells[name], how);
    }
    showWhen(form);
    const { values, problems } = readForm(form, money);
    const given = Object.fromEntries(
      Object.entries(values).filter(([name]) => cells[name] && !fields.get(name)?.hidden),
    );
    const unfit = columns.flatMap(({ name, label }) => (cells[name] && fields.get(name)?.hidden ? [label] : []));
    const changes = record === null ? values : changesIn(record, given);
    const isSame = record !== null && Object.keys(changes).length === 0;
    // What was here before is no matter of a row that does not touch it.
    const wrong = Object.keys(problems).find((name) => cells[name] || !isSame);
    if (wrong !== undefined) throw beside(columns.find(({ name }) => name === wrong)?.label ?? "", problems[wrong]);
    if (kind === "vessel" && !isSame) sizeVessel(values, USUAL_MIX);
    if (kind === "lot" && !isSame) countedRightly(values);
    if (record !== null)
      return { id: record.id, is_new: false, values: changes, given: { ...same, ...given }, unfit, needs };

    const id = isOnly(kind) ? kind : newId(values, material);
    const there = byId.get(id);
    if (there === undefined) {
      const whole = isOnly(kind) ? { name: kind, ...values } : values;
      return { id, is_new: true, values: whole, given, unfit, needs };
    }
    // It came by a table before, and was named anew or deleted since.
    const back = read(row, there);
    return there.deleted ? { ...back, is_new: true, values: { ...back.values, deleted: false } } : back;
  }

  /** Take out the cells that are empty, and those that stand as the record would be written; answers what the record
   * says there. @param {Record<string, string>} cells @param {Plain} record @param {string} [currency] */
  function takeSame(cells, record, currency) {
    /** @type {Record<string, any>} */
    const same = {};
    const isAs = new Map(
      columns.map((column) => {
        const written = cellOf(record, column, others.nameOf, currency);
        return [column.name, !cells[column.name] || isWritten(cells[column.name], written, column)];
      }),
    );
    // A material is said by both.
    const isMaterialSame = isAs.get("material") && isAs.get(MATERIAL_KIND);
    for (const name of Object.keys(cells)) {
      if (!(name === "material" || name === MATERIAL_KIND ? isMaterialSame : isAs.get(name))) continue;
      if (cells[name] && record[name] !== undefined) same[name] = record[name];
      delete cells[name];
    }
    return same;
  }

  /** Whether a cell stands as it would be written. @param {string} cell @param {string | number} written @param {Column} column */
  function isWritten(cell, written, { name, as, unit }) {
    if (typeof written === "string") return written.trim() === cell;
    const isInBase = as !== "quantity" || how.unitOf.get(name) === unit;
    return isInBase && Number(plainNumbers(cell, how.decimal)) === written;
  }

  /** @param {Record<string, any>} values @param {string | undefined} material its kind */
  function newId(values, material) {
    if (material === undefined) return idFrom(kind, [nameKey(values.name)]);
    const name = others.nameOf(material, values.material[1]);
    return idFrom(kind, [material, nameKey(name), nameKey(values.name), values.received_on]);
  }

  /** The record that a cell names, or null: the id, or of a material kind and id.
   * @param {Column} column @param {Record<string, string>} cells @param {Plain | null} record
   * @param {Made[]} needs to which what is to be made is added @param {string[]} missing names of what is not here */
  function named({ name, label, as, field }, cells, record, needs, missing) {
    const before = record?.[name] ?? null;
    if (!cells[name]) return before;
    const other = String(field?.dataset.kind);
    const isMaterial = as === "material";
    const said = isMaterial && cells[MATERIAL_KIND] ? materialKindIn(cells[MATERIAL_KIND]) : null;
    const found = others.find({
      name: cells[name],
      column: label,
      kinds: said !== null ? [said] : isMaterial ? MATERIALS : [other],
      kind: said ?? (isMaterial ? how.materialKind : other),
      before: before === null || isMaterial ? before : [other, before],
    });
    if (found === null) missing.push(cells[name]);
    if (found?.made) needs.push(found.made);
    return found === null || isMaterial ? (found?.of ?? null) : found.of[1];
  }

  return { candidates, read };
}

/** A material is counted in the way of its kind. @param {Record<string, any>} lot @throws {InputError} it is not */
function countedRightly({ by, material: [kind] }) {
  if ((by === "pieces") === isPieces(kind)) return;
  const { one = kind } = aboutKind(kind);
  throw isPieces(kind)
    ? new InputError("It is counted in pieces ({kind}): say how many came.", { kind: one })
    : new InputError("It comes by weight or by volume ({kind}), not in pieces.", { kind: one });
}

// ---- names -------------------------------------------------------------------------------------

/** What a record, or a row, is known by among those of its kind. @param {string} kind @param {Record<string, any>} record
 * @param {string | undefined} material what a delivery is of */
function known(kind, record, material) {
  if (isOnly(kind)) return kind;
  if (kind !== "lot") return nameKey(record.name);
  return [nameKey(material), nameKey(record.name) || record.received_on, record.received_on].join("\n");
}

// ---- boxes -------------------------------------------------------------------------------------

/** Where a row does not say what decides which boxes there are: as most of its cells have it.
 * @param {Map<string, HTMLElement>} fields @param {Record<string, string>} cells */
function decide(fields, cells) {
  for (const [name, field] of fields) {
    const box = boxOf(field);
    if (field.dataset.as !== "choice" || cells[name] || !(box instanceof HTMLSelectElement)) continue;
    let most = 0;
    for (const { value } of box.options) {
      const shown = [...fields].filter(
        ([other, { dataset }]) =>
          cells[other] &&
          dataset.needed === "yes" &&
          dataset.when === name &&
          dataset.whenIs?.split(" ").includes(value),
      );
      if (shown.length <= most) continue;
      most = shown.length;
      box.value = value;
    }
  }
}

/** Let a box name another record. @param {HTMLElement} field @param {any} value */
function choose(field, value) {
  const text = String(value ?? "");
  boxOf(field).replaceChildren(h("option", { value: text }, text));
  boxOf(field).value = text;
}

/** Type a cell into its box. @param {Column} column @param {HTMLElement} field @param {string} cell @param {How} how
 * @throws {InputError} no box takes it */
function type({ name, as, label, unit }, field, cell, how) {
  const box = boxOf(field);
  switch (as) {
    case "choice": {
      const options = [...field.querySelectorAll("option")];
      const said = folded(cell);
      const option = options.find((each) => [each.value, each.textContent ?? ""].some((text) => folded(text) === said));
      const known = options.map(({ textContent }) => textContent).join(", ");
      if (!option) throw new InputError("{column}: “{cell}” is none of {known}.", { column: label, cell, known });
      box.value = option.value;
      return;
    }
    case "day":
      box.value = dayIn(cell, label, how.order);
      return;
    case "text":
      if (cell.length > Number(field.getAttribute("maxlength"))) {
        const most = String(field.getAttribute("maxlength"));
        throw new InputError("{label} is too long: at most {most} characters.", { label, most });
      }
      box.value = box instanceof HTMLTextAreaElement ? cell : cell.replace(/\s*[\r\n]+\s*/g, " ");
      return;
    case "currency":
      box.value = cell;
      return;
    default: {
      const number = plainNumbers(cell, how.decimal);
      const bare = unit !== "" && folded(number).endsWith(folded(unit)) ? number.replace(/[^\d]+$/, "") : number;
      const given = how.unitOf.get(name) ?? "";
      const isBare = !/[\p{L}°%]/u.test(number);
      box.value = as !== "quantity" ? bare : isBare && given !== "" ? `${number} ${given}` : number;
    }
  }
}

/** @param {string} cell @param {string} column @param {How["order"]} order @throws {InputError} */
function dayIn(cell, column, order) {
  try {
    return readDay(cell, order);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    throw beside(column, error.message);
  }
}

/** Whether numbers of a column can be in a unit. @param {Column} column @param {string} unit */
export function takesUnit({ as, field }, unit) {
  if (as !== "quantity" || unit === "") return false;
  try {
    parseQuantity(`100 ${unit}`, String(field?.dataset.dimension));
    return true;
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return false;
  }
}

/** What is wrong with a cell, with the name of its column. @param {string} column @param {string} problem */
function beside(column, problem) {
  if (problem.startsWith(column)) return new InputError(literal(problem));
  return new InputError("{column}: {problem}", { column, problem });
}
