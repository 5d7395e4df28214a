/**
 * What stands on a label, put together from records: what the desk is asked to lay out. Pure.
 *
 * It is kept with the label that is made of it, and never changed there.
 */

import { isSame } from "../records/merge.js";

/** @typedef {Record<string, any>} Fields */
/**
 * @typedef {object} Sources
 * @property {Fields} label its record
 * @property {Fields} recipe
 * @property {Fields | null} maker who sells it
 * @property {Fields | null} finding the newest hazard finding of the recipe by the rules of the market
 * @property {boolean} older something that the finding rests on has changed since
 * @property {string | null} batch its code
 * @property {number | null} claim_h hours that burn tests let promise
 */

/** @param {Sources} sources @returns {Fields} the "label" of POST /api/desk/label */
export function labelSpec({ label, recipe, maker, finding, older, batch, claim_h }) {
  const texts = rowsOf(label);
  const [first] = texts;
  const isRound = label.shape === "round";
  const isUs = label.market === "us";
  return {
    market: label.market,
    languages: languagesOf(label),
    shape: label.shape,
    width_mm: isRound ? label.diameter_mm : label.width_mm,
    height_mm: isRound ? label.diameter_mm : label.height_mm,
    where: label.where,
    package: {
      volume_ml: label.holds_ml,
      ...(isUs && { jar_mm: jarOf(label) }),
    },
    product: { ...worded(texts, "product"), [first.language]: first.product || recipe.name },
    says: worded(texts, "says"),
    own: worded(texts, "own"),
    maker: {
      name: maker?.called ?? "",
      address: lines(maker?.address),
      electronic: maker?.electronic ?? "",
      telephone: maker?.telephone ?? "",
    },
    batch,
    code: batch === null ? "none" : label.code,
    net: label.states_g ? { g: String(label.states_g), unit: isUs ? label.stated_in : "g" } : null,
    burns_h: label.burning === "tested" && claim_h ? claim_h : null,
    hazard: finding === null || isUs ? null : hazardOf(finding.found, older, label.sentences ?? {}),
    no_hazard: finding === null ? (label.no_hazard ?? "") : "",
    cautions: label.cautions,
    ink: label.ink,
    paper: label.paper,
    logo: label.logo === "yes" ? (maker?.logo ?? null) : null,
    way: label.way,
    second: hasOwnSecond(label) ? { width_mm: label.second_width_mm, height_mm: label.second_height_mm } : null,
  };
}

/** Whether the second piece has a size of its own. @param {Fields} label */
const hasOwnSecond = ({ way }) => way === "tag" || way === "box";

/** Of each language the first row; English where none is told. @param {Fields} label @returns {Fields[]} */
function rowsOf({ texts }) {
  /** @type {Map<string, Fields>} */
  const found = new Map();
  for (const row of texts ?? []) if (row.language && !found.has(row.language)) found.set(row.language, row);
  return found.size > 0 ? [...found.values()] : [{ language: "en" }];
}

/** The languages of a label, as they stand on it. @param {Fields} label @returns {string[]} */
export const languagesOf = (label) => rowsOf(label).map(({ language }) => language);

/** @param {Fields[]} texts @param {string} field @returns {Record<string, string>} */
function worded(texts, field) {
  return Object.fromEntries(texts.flatMap((row) => (row[field] ? [[row.language, row[field]]] : [])));
}

/** @param {string | undefined} text */
const lines = (text) =>
  (text ?? "")
    .split("\n")
    .map((line) => line.trim())
    .filter(Boolean);

/** @param {Fields} label */
function jarOf({ panel_width_mm, panel_height_mm }) {
  if (!panel_width_mm || !panel_height_mm) return null;
  return { diameter_mm: panel_width_mm, height_mm: panel_height_mm };
}

/** P statements for packs that the public buys: whether they stand on it is hers to say. */
export const FOR_THE_PUBLIC = ["P101", "P102", "P103"];

/** What of a finding stands on a label. @param {Fields} found @param {boolean} older
 * @param {{left_out?: string[], also?: string[], filled?: Record<string, Record<string, string>>}} sentences what she chose of them */
function hazardOf(found, older, { left_out = [], also = [], filled = {} }) {
  const { rules, edition, signal_word, pictograms, h, names, euh208, supplemental = [] } = found;
  // On a label they stand in the order of the law.
  const p = [...new Set([...also, ...found.p])].filter((code) => !left_out.includes(code)).sort();
  return {
    ...{ rules, edition, signal_word, pictograms, h, p, names, euh208, supplemental },
    classes: found.classes.map((/** @type {Fields} */ each) => ({
      class: each.class,
      category: each.category,
      detail: each.detail ?? "",
    })),
    undecided: found.undecided.length,
    older,
    filled: Object.fromEntries(Object.entries(filled).filter(([code]) => p.includes(code) || h.includes(code))),
  };
}

// ---- what has changed since --------------------------------------------------------------------

/** @typedef {"candle" | "languages" | "size" | "net" | "burning" | "hazard" | "maker" | "words" | "look"} Changed */

/** @type {[Changed, string[]][]} */
const PARTS = [
  ["hazard", ["hazard", "no_hazard"]],
  ["net", ["net"]],
  ["burning", ["burns_h"]],
  ["candle", ["product", "package"]],
  ["maker", ["maker"]],
  ["languages", ["market", "languages"]],
  ["words", ["says", "own"]],
  ["size", ["shape", "width_mm", "height_mm", "where", "way", "second"]],
  ["look", ["cautions", "code", "ink", "paper", "logo"]],
];

/** What of a label would be other if it were made anew: what matters most comes first.
 * @param {Fields} made as it was asked for @param {Fields} now as it would be @returns {Changed[]} */
export function changedSince(made, now) {
  const differs = (/** @type {string} */ name) => !isSame(made[name] ?? null, now[name] ?? null);
  return PARTS.flatMap(([part, names]) => (names.some(differs) ? [part] : []));
}
