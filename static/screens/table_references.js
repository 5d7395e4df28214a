/** The records that the cells of a table name: found by their names, or made where she lets them be. */

import { grouped } from "../shelf/lists.js";
import { MATERIALS } from "../shelf/lots.js";
import { folded } from "../shelf/table_columns.js";
import { idFrom, nameKey } from "../shelf/table_plan.js";
import { InputError, listed, t } from "../words/door.js";
import { h } from "./dom.js";
import { drawForm } from "./form.js";
import { readForm } from "./form_reading.js";
import { aboutKind } from "./kinds.js";

/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("../shelf/table_plan.js").Made} Made */
/** @typedef {import("./form_fields.js").DisplayUnits} DisplayUnits */
/**
 * @typedef {object} Wanted a record that a cell names
 * @property {string} name as the cell has it
 * @property {string} column
 * @property {string[]} kinds that it may be of
 * @property {string} kind of which it is made, where it is not here
 * @property {[kind: string, id: string] | null} before what the record of the row names so far
 */

/**
 * @param {Map<string, Plain[]>} kept records by kind, deleted ones too
 * @param {boolean} make make what is not here @param {DisplayUnits} units
 */
export function references(kept, make, units) {
  const all = [...kept.values()].flat();
  const byId = new Map(all.map((record) => [`${record.kind} ${record.id}`, record]));
  const byName = grouped(
    all.filter(({ deleted }) => !deleted),
    ({ kind, name }) => `${kind} ${nameKey(name)}`,
  );
  /** By kind and id. @type {Map<string, Made>} */
  const making = new Map();

  /** @param {string} kind @param {string} id @returns {string | undefined} */
  const nameOf = (kind, id) => (making.get(`${kind} ${id}`)?.values ?? byId.get(`${kind} ${id}`))?.name;

  /**
   * Find what a cell names. @param {Wanted} wanted
   * @returns {{of: [kind: string, id: string], made?: Made} | null} `made`: it is to be made with the row; null: it is
   *   not here
   * @throws {InputError} there are several, or its name is not enough to make one
   */
  function find({ name, column, kinds, kind, before }) {
    if (before !== null && kinds.includes(before[0]) && nameKey(nameOf(...before)) === nameKey(name))
      return { of: before };
    const found = kinds.flatMap((each) => byName.get(`${each} ${nameKey(name)}`) ?? []);
    if (found.length > 1) {
      const n = found.length;
      throw new InputError("{n} that are here are called “{name}” ({column}): give them different names first.", {
        ...{ n, name, column },
      });
    }
    if (found.length === 1) return { of: [found[0].kind, found[0].id] };
    const id = idFrom(kind, [nameKey(name)]);
    const there = byId.get(`${kind} ${id}`);
    // It was made by a table before, and named anew since.
    if (there && !there.deleted) return { of: [kind, id] };
    if (!make) return null;
    const key = `${kind} ${id}`;
    const made = making.get(key) ?? {
      kind,
      id,
      values: there ? { name, deleted: false } : newValues(kind, name, units),
    };
    making.set(key, made);
    return { of: [kind, id], made };
  }

  return { nameOf, find };
}

/** What a new record holds that has nothing but its name. @param {string} kind @param {string} name @param {DisplayUnits} units
 * @returns {Record<string, any>} @throws {InputError} its name is not enough */
function newValues(kind, name, units) {
  const form = h("form");
  drawForm(form, kind, { name }, units, () => []);
  const { values, wrong } = readForm(form, units);
  if (wrong === 0) return values;
  const { many = "" } = aboutKind(kind);
  throw new InputError("“{name}” is not here yet, and needs more than its name: bring in “{many}” first.", {
    ...{ name, many },
  });
}

/** The kind of material that a cell says. @param {string} said @returns {string} @throws {InputError} none */
export function materialKindIn(said) {
  const found = MATERIALS.find((kind) => {
    const { one = "", many = "" } = aboutKind(kind);
    return [kind, one, many].some((each) => folded(each) === folded(said));
  });
  if (found !== undefined) return found;
  const known = MATERIALS.map((kind) => aboutKind(kind).one).join(", ");
  throw new InputError("“{said}” is no kind of material: write one of {known}.", { said, known });
}

// ---- what is not here ----------------------------------------------------------------------------

/** What an error is about where a row names records that are not here. */
const MISSING = "missing";

/** @param {string[]} names of records that a row names and that are not here */
export function notHere(names) {
  const all = listed(names.map((name) => t("“{name}”", { name })));
  const error = new InputError(
    "{names} can’t be found here: tick above that what is missing is made, or bring it in first.",
    { names: all },
    MISSING,
  );
  return Object.assign(error, { names });
}

/** The records that a row was refused for, because they are not here. @param {InputError} why @returns {string[]} */
export const namesMissing = (why) => (why.about === MISSING ? /** @type {any} */ (why).names : []);
