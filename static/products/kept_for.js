/**
 * How long a record has to be kept because it belongs to the file of a product. Pure.
 *
 * Ten years from placing on the market (GPSR Art. 9(3), seen). From which candle they count is not said in what was
 * read. Our choice: from the last day that is known of the product, of its last batch, of the last candle that went out,
 * and of the day on which it was no longer sold. So nothing may go too early.
 */
import { versions } from "../records/merge.js";
import { localDate } from "../words/dates.js";
import { FILE_YEARS } from "./rules.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {{kind: string, id: string}} Named */
/** @typedef {import("../records/merge.js").Stored} Stored */
/**
 * @typedef {object} Batch of a product
 * @property {string} id the pour's @property {string | null} code
 * @property {number} started_at @property {number | null} last_out_ms when the last candle that is known went out
 * @property {Named[]} materials that went into it @property {string[]} lots
 */
/**
 * @typedef {object} File a product, and what belongs to its file
 * @property {Fields} product its record @property {Fields | null} recipe that it has now
 * @property {string[]} recipes the ids of that one, and of those that it had
 * @property {Batch[]} batches
 */

/** The ids of all recipes that a product ever had. @param {Stored} product @returns {string[]} */
export function recipesOf({ fields }) {
  const all = Object.hasOwn(fields, "recipe") ? versions(fields.recipe).map(({ value }) => value) : [];
  return [...new Set(all.filter((each) => typeof each === "string" && each !== ""))];
}

/**
 * Until which day a record has to be kept, and for which product; the latest of them.
 * @param {Fields} record with its kind and id; of a label that was made also what its own label is of, as `of_recipe`
 * @param {File[]} files @returns {{until: string, product: string} | null} null: it belongs to no file
 */
export function keptFor(record, files) {
  let found = null;
  for (const file of files) {
    if (!belongs(record, file)) continue;
    const until = keptUntil(file);
    if (until !== null && (found === null || until > found.until))
      found = { until, product: String(file.product.name ?? "") };
  }
  return found;
}

/** Until which day a product's file is kept; null: it was never poured and never sold. @param {File} file */
export function keptUntil({ product, batches }) {
  const days = [
    ...batches.flatMap(({ started_at, last_out_ms }) => [localDate(started_at), localDate(last_out_ms ?? started_at)]),
    ...[product.sold_from, product.stopped_on].filter(isDay),
  ].sort();
  const last = days.at(-1);
  return last === undefined ? null : yearsAfter(last, FILE_YEARS);
}

/** Whether it is a day, ISO 8601. @param {unknown} value @returns {value is string} */
export function isDay(value) {
  return typeof value === "string" && /^\d{4}-\d{2}-\d{2}$/.test(value) && !Number.isNaN(Date.parse(value));
}

/** The same day so many years later; 28 February for the 29th. @param {string} day ISO 8601 @param {number} years */
export function yearsAfter(day, years) {
  const year = String(Number(day.slice(0, 4)) + years).padStart(4, "0");
  const isLeap = new Date(`${year}-02-29T12:00:00Z`).getUTCDate() === 29;
  return day.endsWith("-02-29") && !isLeap ? `${year}-02-28` : `${year}${day.slice(4)}`;
}

/** @param {Fields} record @param {File} file @returns {boolean} */
function belongs(record, file) {
  const { kind, id, material } = record;
  const { product, recipe, batches } = file;
  switch (kind) {
    case "product":
    case "recipe":
    case "pour":
      return isOf(kind, id, file);
    case "lot":
      return batches.some(({ lots }) => lots.includes(id));
    case "burn_test":
      return isOf("recipe", record.sheet?.recipe, file);
    case "safety_sheet":
      return Array.isArray(material) && isMaterial({ kind: material[0], id: material[1] }, recipe, batches);
    case "label":
      return id === product.label || isOf("recipe", record.recipe, file);
    case "made_label":
      return (
        isOf("label", record.label, file) || isOf("recipe", record.of_recipe, file) || isOf("pour", record.pour, file)
      );
    case "hazard_finding":
      return isOf("recipe", record.recipe, file);
    case "net_finding":
      return isOf("pour", record.pour, file);
    case "recall":
      return Array.isArray(record.of) && belongs({ kind: record.of[0], id: record.of[1] }, file);
    case "complaint":
      return (
        isOf("product", record.product, file) ||
        isOf("pour", record.pour, file) ||
        batches.some(({ code }) => code !== null && code === record.code)
      );
    default:
      return isMaterial({ kind, id }, recipe, batches);
  }
}

/** Whether a record of this kind is the product's own. @param {"product" | "recipe" | "label" | "pour"} kind @param {unknown} id
 * @param {File} file */
function isOf(kind, id, { product, recipes, batches }) {
  if (typeof id !== "string" || id === "") return false;
  if (kind === "recipe") return recipes.includes(id);
  if (kind === "pour") return batches.some((batch) => batch.id === id);
  return id === (kind === "product" ? product.id : product[kind]);
}

/** @param {Named} material @param {Fields | null} recipe @param {Batch[]} batches */
function isMaterial({ kind, id }, recipe, batches) {
  const isIt = (/** @type {Named} */ each) => each.kind === kind && each.id === id;
  return materialsOf(recipe).some(isIt) || batches.some(({ materials }) => materials.some(isIt));
}

/** What a recipe is made of, its vessel and packaging too. @param {Fields | null} recipe @returns {Named[]} */
export function materialsOf(recipe) {
  const rows = (/** @type {string} */ name, /** @type {string} */ kind) =>
    (Array.isArray(recipe?.[name]) ? recipe[name] : []).map((/** @type {Fields} */ row) => ({ kind, id: row?.[kind] }));
  const one = (/** @type {string} */ kind) => [{ kind, id: recipe?.[kind] }];
  const all = [
    ...[...rows("waxes", "wax"), ...rows("oils", "fragrance"), ...rows("additives", "additive")],
    ...[...one("wick"), ...one("vessel"), ...rows("packaging", "packaging")],
  ];
  return all.filter(({ id }) => typeof id === "string" && id !== "");
}
