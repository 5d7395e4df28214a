/** What the desk is asked about a recipe's hazard class, and what has changed since it was asked. */
import { findings } from "../records/findings.js";
import { filled, isSame } from "../records/merge.js";
import * as store from "../records/store.js";
import { message } from "../words/door.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {"wax" | "fragrance" | "additive"} MaterialKind */
/** @typedef {Fields & {id: string}} KeptSheet */
/**
 * @typedef {object} Asked all that a finding rests on
 * @property {Fields} recipe
 * @property {Record<MaterialKind, Record<string, Fields>>} materials by kind and id: their names, and a wax's highest load
 * @property {KeptSheet[]} sheets of these materials, by their ids
 * @property {string} rules 'eu', 'gb' or 'un'
 */

/** Rows of a recipe, and in which field each names its material. @type {[rows: string, kind: MaterialKind][]} */
const ROWS = [
  ["waxes", "wax"],
  ["oils", "fragrance"],
  ["additives", "additive"],
];

/** What of a sheet the class rests on; the rest is for her. */
const OF_A_SHEET = [
  ...["material", "name", "dated", "edition", "stands", "lists_all", "substances"],
  ...["ready", "ready_at", "ready_of", "ifra_edition", "ifra_12"],
];

/** The request for a recipe as all of it stands now. @param {store.Plain} recipe @param {string} rules
 * @returns {Promise<Asked>} */
export async function requestOf(recipe, rules) {
  /** @type {Asked["materials"]} */
  const materials = { wax: {}, fragrance: {}, additive: {} };
  /** @type {Fields} */
  const rows = {};
  for (const [name, kind] of ROWS) {
    rows[name] = rowsIn(recipe[name]);
    for (const row of rows[name]) {
      const id = row[kind];
      const record = id && (await store.get(kind, id));
      if (record) materials[kind][id] = filled({ name: record.name, highest_load: record.highest_load });
    }
  }
  const { load, load_of } = recipe;
  const sheets = (await store.living("safety_sheet"))
    .filter(
      ({ material }) =>
        material && Object.hasOwn(materials[/** @type {MaterialKind} */ (material[0])] ?? {}, material[1]),
    )
    .sort((a, b) => (a.id < b.id ? -1 : 1));
  return { recipe: filled({ ...rows, load, load_of }), materials, sheets: sheets.map(toAsk), rules };
}

/** Rows as they are kept, without what was left blank. @param {any} rows @returns {Fields[]} */
const rowsIn = (rows) => (Array.isArray(rows) ? rows.map(filled) : []);

/** @param {store.Plain} sheet @returns {KeptSheet} */
function toAsk(sheet) {
  const fields = Object.fromEntries(OF_A_SHEET.map((name) => [name, sheet[name]]));
  const substances = rowsIn(fields.substances);
  return { id: sheet.id, ...filled({ ...fields, substances }) };
}

/** What is another now than it was asked about, in words for a list. @param {Asked} before @param {Asked} now
 * @returns {import("../words/door.js").Message[]} */
export function changedSince(before, now) {
  const found = [];
  if (!isSame(before.recipe, now.recipe)) found.push(message("the recipe"));
  for (const [, kind] of ROWS) {
    const was = before.materials?.[kind] ?? {};
    for (const [id, record] of Object.entries(now.materials[kind]))
      if (was[id] && !isSame(was[id], record)) found.push(message("{name} itself", { name: record.name ?? "" }));
  }
  const was = new Map(rowsIn(before.sheets).map((sheet) => [sheet.id, sheet]));
  const are = new Map(now.sheets.map((sheet) => [sheet.id, sheet]));
  for (const id of new Set([...was.keys(), ...are.keys()])) {
    const [one, other] = [was.get(id), are.get(id)];
    if (one === undefined) found.push(message("a new sheet, {name}", { name: other?.name ?? "" }));
    else if (other === undefined) {
      // It goes with its material, and then the recipe has changed.
      const [kind, material] = one.material ?? [];
      if (Object.hasOwn(now.materials[/** @type {MaterialKind} */ (kind)] ?? {}, material))
        found.push(message("a sheet that is gone, {name}", { name: one.name ?? "" }));
    } else if (!isSame(one, other)) found.push(message("the sheet {name}", { name: other.name ?? "" }));
  }
  return found;
}

/** What every version of a finding has, as lists. */
const LISTS = [
  ...["classes", "undecided", "euh208", "pictograms", "h", "p", "names", "named_because", "dropped", "cautions"],
  ...["questions", "not_reached", "composition", "ready"],
];

/** Whether it can be shown: another version may have kept something else. @param {store.Plain} finding */
function isWhole({ asked, found, made_at }) {
  const isThere = typeof made_at === "number" && asked && found?.texts && Array.isArray(found.load?.steps);
  return Boolean(isThere) && LISTS.every((name) => Array.isArray(found[name]));
}

/** What was found of recipes, the latest first. @returns {Promise<Map<string, store.Plain[]>>} by the recipe's id */
export async function allFindings() {
  const all = (await findings("hazard_finding")).filter(isWhole);
  all.sort((a, b) => b.made_at - a.made_at || (a.id < b.id ? 1 : -1));
  /** @type {Map<string, store.Plain[]>} */
  const by = new Map();
  for (const each of all) by.set(each.recipe, [...(by.get(each.recipe) ?? []), each]);
  return by;
}

/** What was found of one recipe, the latest first. @param {string} recipe its id @returns {Promise<store.Plain[]>} */
export async function findingsOf(recipe) {
  return (await allFindings()).get(recipe) ?? [];
}

/** The latest of them by these rules. @param {string} recipe its id @param {string} rules
 * @returns {Promise<store.Plain | undefined>} */
export async function latestFinding(recipe, rules) {
  return (await findingsOf(recipe)).find(({ found }) => found.rules === rules);
}
