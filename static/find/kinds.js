/**
 * What of each kind of record is found by what is typed. A kind is a line of `INDEXED`; one that is not there is not
 * found. Pure.
 */
import { roundTo } from "../formulas/rounding.js";
import { opened } from "../records/findings.js";
import { message } from "../words/door.js";

/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {[kind: string, id: string]} Key */
/**
 * @typedef {object} Indexed
 * @property {import("../words/door.js").Message} called its chip
 * @property {(id: string, record: Plain) => string} page its address
 * @property {number} before of what is found equally well, the lower comes first
 * @property {string[]} [words] fields whose text tells it, beside its name
 * @property {(record: Plain) => unknown[]} [parts] other texts that tell it
 * @property {(record: Plain) => unknown[]} [others] records by whose names it is found too: a key each
 * @property {string[]} [days] fields that hold a day, ISO 8601; the first says how new it is
 * @property {string} [moment] the field that says when it was made, in ms
 * @property {string[]} [streams] whose events say something of it, by the kind that they are kept of
 */

const edit = (/** @type {string} */ kind) => (/** @type {string} */ id) => `edit/${kind}/${id}`;
const page = (/** @type {string} */ name) => (/** @type {string} */ id) => `${name}/${id}`;

/** @param {unknown} list @returns {Record<string, any>[]} its rows, as far as they are any */
const rows = (list) => (Array.isArray(list) ? list.filter((each) => each && typeof each === "object") : []);

/** @param {string} kind @returns {Indexed} what is bought and used up */
const material = (kind) => ({
  called: message("material"),
  page: page(`material/${kind}`),
  before: 1,
  words: ["series", "size", "fits"],
  others: ({ supplier }) => [["supplier", supplier]],
});

/** @param {string} kind @returns {Indexed} */
const tool = (kind) => ({ called: message("tool"), page: edit(kind), before: 2 });

/** @type {Record<string, Indexed>} */
export const INDEXED = {
  recipe: {
    ...{ called: message("recipe"), page: page("recipe"), before: 0 },
    parts: ({ load }) => [percentOf(load)],
    others: ({ vessel, wick, waxes, oils, additives }) => [
      ...[
        ["vessel", vessel],
        ["wick", wick],
      ],
      ...rows(waxes).map(({ wax }) => ["wax", wax]),
      ...rows(oils).map(({ fragrance }) => ["fragrance", fragrance]),
      ...rows(additives).map(({ additive }) => ["additive", additive]),
    ],
  },
  wax: material("wax"),
  fragrance: material("fragrance"),
  additive: material("additive"),
  wick: material("wick"),
  vessel: material("vessel"),
  packaging: material("packaging"),
  supplier: {
    ...{ called: message("supplier"), page: edit("supplier"), before: 1 },
    words: ["address", "mail", "telephone"],
  },
  buyer: {
    ...{ called: message("buyer"), page: page("buyer"), before: 1 },
    words: ["address", "mail", "telephone"],
  },
  recall: {
    ...{ called: message("recall"), page: page("recall"), before: 2, streams: ["recall"] },
    words: ["risk", "remedy"],
    others: ({ of }) => [of],
  },
  product: {
    ...{ called: message("product"), page: page("product"), before: 0 },
    words: ["says", "safety", "standards"],
    others: ({ recipe, label }) => [
      ["recipe", recipe],
      ["label", label],
    ],
  },
  complaint: {
    ...{ called: message("complaint"), page: page("complaint"), before: 2, streams: ["complaint"] },
    words: ["what", "code", "place", "wants"],
    days: ["happened_on", "heard_on"],
    others: ({ product, pour }) => [
      ["product", product],
      ["pour", pour],
    ],
  },
  attachment: {
    ...{ called: message("photo or paper"), page: ofItsRecord, before: 6, moment: "taken_at" },
  },
  lot: {
    ...{ called: message("delivery"), page: page("lot"), before: 3, streams: ["lot"] },
    words: ["certificate", "certificate_revision"],
    days: ["received_on", "best_before"],
    others: ({ material: of, supplier }) => [of, ["supplier", supplier]],
  },
  wanted: {
    ...{ called: message("wanted"), page: page("wanted"), before: 2, days: ["by", "pour_on"] },
    parts: ({ count }) => [String(count ?? "")],
    others: ({ recipe }) => [["recipe", recipe]],
  },
  safety_sheet: {
    ...{ called: message("safety sheet"), page: edit("safety_sheet"), before: 2, days: ["dated"] },
    words: ["edition"],
    parts: ({ substances }) => rows(substances).flatMap(({ name, cas, ec }) => [name, cas, ec]),
    others: ({ material: of, supplier }) => [of, ["supplier", supplier]],
  },
  label: {
    ...{ called: message("label"), page: page("label"), before: 2 },
    parts: ({ texts }) => rows(texts).flatMap(({ product, says, own }) => [product, says, own]),
    others: ({ recipe }) => [["recipe", recipe]],
  },
  made_label: {
    ...{ called: message("printed label"), page: page("made_label"), before: 6, moment: "made_at" },
    parts: (record) => [opened(record).asked?.batch],
  },
  label_stock: { called: message("label sheets"), page: edit("label_stock"), before: 2 },
  burn_test: {
    ...{ called: message("burn test"), page: page("test"), before: 4, moment: "started_at", streams: ["burn_test"] },
    parts: ({ sheet }) => [sheet?.title, sheet?.vessel?.name, ...rows(sheet?.wicks).map(({ name }) => name)],
    others: ({ sheet }) => [["recipe", sheet?.recipe]],
  },
  jug: tool("jug"),
  heater: tool("heater"),
  scale: tool("scale"),
  thermometer: tool("thermometer"),
  pour: {
    ...{ called: message("pour"), page: page("entry"), before: 5, moment: "started_at", streams: ["pour", "batch"] },
  },
};

/** A photo or a paper is seen where what it belongs to is. @param {string} _id @param {Plain} record */
function ofItsRecord(_id, { of }) {
  const [kind, id] = Array.isArray(of) ? of.map(String) : ["", ""];
  const how = Object.hasOwn(INDEXED, kind) ? INDEXED[kind] : undefined;
  return how && how !== INDEXED.attachment ? how.page(id, { kind, id }) : "storage";
}

/** As she types it: '8.5'. @param {unknown} share of one */
export const percentOf = (share) => (typeof share === "number" ? String(roundTo(share * 100, 0.1)) : "");
