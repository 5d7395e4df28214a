/** What a product's file is put together from, read from what is kept. */
import { materials } from "../bench/materials.js";
import { ofEach, poursOf, readPour } from "../bench/pours.js";
import { testsOf } from "../burns/tests.js";
import { findingsOf } from "../hazards/request.js";
import { isFinished } from "../labels/answers.js";
import { changedSince, labelSpec } from "../labels/label_spec.js";
import { foldComplaint, isUnreported } from "../products/complaints.js";
import { materialsOf, recipesOf } from "../products/kept_for.js";
import { findings } from "../records/findings.js";
import { plainRecord } from "../records/merge.js";
import * as store from "../records/store.js";
import { codeOf } from "../shelf/batches.js";
import { candlesOf } from "../shelf/candles.js";
import { materialOf } from "../shelf/lots.js";
import { readable } from "../shelf/net_asked.js";
import { withCandles } from "../shelf/read_candles.js";
import { usesOf } from "../shelf/uses.js";
import { InputError } from "../words/door.js";
import { cloneTemplate, slot } from "./dom.js";
import { changesUnder, RESTS_ON } from "./hazard.js";
import { LABELLED_BY, readSources } from "./label_sources.js";
import { readTested } from "./tested_words.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../products/kept_for.js").File} File */
/** @typedef {{key: string, field: string, asks: string, shown_by: string[]}} Question */
/** @typedef {{kind: string, id: string, name: string, record: Plain | undefined, sheets: Plain[], lots: Plain[],
 *   papers: number, shown: Set<string>}} Material `papers`: photos of certificates and sheets; `shown`: deliveries that have one */
/** @typedef {{record: Plain, state: import("../products/complaints.js").ComplaintState, events: any[]}} Complaint */
/** @typedef {Awaited<ReturnType<typeof read>>} Sources */

/** What a product's page is drawn anew for. */
export const FILED_BY = [
  ...["product", "complaint", "lot", "packaging", "made_label", "attachment", "recall", "batch"],
  ...[...new Set([...RESTS_ON, ...LABELLED_BY])],
];

/** The questions of the risks, in their order. @returns {Question[]} */
export function questions() {
  const list = /** @type {HTMLElement} */ (slot(cloneTemplate("screen-risk"), "questions"));
  return /** @type {HTMLElement[]} */ ([...list.children]).map(({ dataset, textContent }) => ({
    ...{ key: dataset.key ?? "", field: `risk_${dataset.key}`, asks: textContent ?? "" },
    shown_by: (dataset.shown ?? "").split(" ").filter(Boolean),
  }));
}

/** @param {string} id @param {Promise<Plain[]>} [records] of all pours, where several products are read
 * @returns {Promise<Sources | null>} null: there is no such product */
export async function readProduct(id, records = store.living("pour")) {
  const [product, stored] = await Promise.all([store.get("product", id), store.getStored("product", id)]);
  return product && stored ? read(product, recipesOf(stored), await records) : null;
}

/** @param {Plain} product @param {string[]} recipes that it has and had @param {Plain[]} all records of pours */
async function read(product, recipes, all) {
  const [recipe, maker, poured] = await Promise.all([
    product.recipe ? store.get("recipe", product.recipe) : undefined,
    store.get("maker", "maker"),
    poursOf(all.filter(isOfOne(recipes)).map(({ id }) => id)),
  ]);
  const pours = await withCandles(poured);
  const living = recipe === undefined || recipe.deleted ? null : recipe;
  const [label, found, nets, tests, tested, complaints] = await Promise.all([
    product.label ? store.get("label", product.label) : undefined,
    recipe ? findingsOf(recipe.id) : [],
    findings("net_finding"),
    recipe ? testsOf(recipe.id) : [],
    living ? testedOrOpen(living) : null,
    complaintsOf(product, pours, all),
  ]);
  const own = label && !label.deleted ? label : undefined;
  const made = await madeOf(product, own, pours);
  const rules = own?.market && own.market !== "us" ? own.market : "eu";
  const hazard = found.find(({ found: told }) => told.rules === rules) ?? null;
  return {
    ...{ product, recipe: living, maker: maker ?? null, label: own ?? null, made, pours, tests, tested },
    ...{ hazards: found, hazard, complaints },
    hazardChanges: living && hazard ? await changesUnder(living, hazard) : [],
    labelChanges:
      made[0] && own ? changedSince(made[0].asked, labelSpec(await readSources(own, made[0].pour ?? ""))) : [],
    nets: readable(nets).filter(({ pour }) => pours.some(({ id }) => id === pour)),
    materials: await readMaterials(recipe ?? null, pours),
  };
}

/** Whether a pour's record is of one of these recipes. @param {string[]} recipes @returns {(record: Plain) => boolean} */
const isOfOne =
  (recipes) =>
  ({ sheet }) =>
    recipes.includes(sheet?.recipe);

/** A recipe that can't be reckoned was not tested as it is. @param {Plain} recipe */
async function testedOrOpen(recipe) {
  try {
    return await readTested(recipe, await materials());
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return null;
  }
}

/** The labels that were made for it, the newest first. @param {Plain} product @param {Plain | undefined} label
 * @param {Pour[]} pours */
async function madeOf(product, label, pours) {
  const [all, labels] = await Promise.all([findings("made_label"), store.all("label")]);
  const ids = new Set(label ? [label.id] : labels.flatMap((each) => (each.recipe === product.recipe ? [each.id] : [])));
  const batches = new Set(pours.map(({ id }) => id));
  return all
    .filter((each) => each.asked && each.made_at && (ids.has(each.label) || (!label && batches.has(each.pour))))
    .sort((a, b) => b.made_at - a.made_at);
}

/** The materials of a recipe, and what was poured in its place. @param {Plain | null} recipe @param {Pour[]} pours
 * @returns {Promise<Material[]>} */
async function readMaterials(recipe, pours) {
  const poured = ofEach(pours, (pour) => usesOf(pour).map(({ kind, id }) => ({ kind, id })));
  const named = new Map([...materialsOf(recipe), ...poured].map((each) => [`${each.kind},${each.id}`, each]));
  const used = new Set(ofEach(pours, lotsOf));
  const [lots, sheets, attached] = await Promise.all([
    store.living("lot"),
    store.living("safety_sheet"),
    store.living("attachment"),
  ]);
  const papers = attached.filter(({ what }) => what === "certificate" || what === "sheet");
  const papersOf = (/** @type {string} */ kind, /** @type {string} */ id) =>
    papers.filter(({ of }) => Array.isArray(of) && of[0] === kind && of[1] === id).length;
  const isOf = (/** @type {Plain} */ each, /** @type {{kind: string, id: string}} */ material) => {
    const [kind, id] = materialOf(each);
    return kind === material.kind && id === material.id;
  };
  return Promise.all(
    [...named.values()].map(async (each) => {
      const record = await store.get(each.kind, each.id);
      const own = lots.filter((lot) => used.has(lot.id) && isOf(lot, each));
      return {
        ...{ kind: each.kind, id: each.id, name: String(record?.name ?? ""), record },
        ...{ sheets: sheets.filter((sheet) => isOf(sheet, each)), lots: own, papers: papersOf(each.kind, each.id) },
        shown: new Set(own.flatMap((lot) => (lot.certificate || papersOf("lot", lot.id) > 0 ? [lot.id] : []))),
      };
    }),
  );
}

/** @param {Pour} pour */
const lotsOf = (pour) => usesOf(pour).flatMap(({ lot }) => lot ?? []);

/** The complaints of a product: by its name, or by the code of one of its batches. @param {Plain} product @param {Pour[]} pours
 * @param {Plain[]} all records of pours @returns {Promise<Complaint[]>} the newest first */
async function complaintsOf(product, pours, all) {
  const ids = new Set(pours.map(({ id }) => id));
  const codes = new Set(pours.map(codeOf));
  const isKnown = (/** @type {unknown} */ id) => all.some((pour) => pour.id === id);
  // The pour may have come from another phone since.
  const own = (await store.living("complaint")).filter(
    ({ product: of, pour, code }) => ids.has(pour) || (!isKnown(pour) && (of === product.id || codes.has(code))),
  );
  return readComplaints(own);
}

/** @param {Plain[]} records @returns {Promise<Complaint[]>} the newest first */
export async function readComplaints(records) {
  const found = await Promise.all(
    records.map(async (record) => {
      const events = await store.events("complaint", record.id);
      return { record, state: foldComplaint(events), events };
    }),
  );
  return found.sort((a, b) => (dayOf(a.record) < dayOf(b.record) ? 1 : -1));
}

/** The day by which a complaint is sorted; "" where none is told. @param {Fields} record @returns {string} */
export const dayOf = ({ heard_on, happened_on }) => String(heard_on || happened_on || "");

/** What `partsOf` asks of it. @param {Sources} sources @returns {import("../products/parts.js").Holds} */
export function holdsOf({ product, recipe, maker, label, made, pours, tested, ...rest }) {
  const { hazard, hazardChanges, labelChanges, nets, complaints } = rest;
  const [newest] = made;
  return {
    ...{ product, recipe, maker, states: Boolean(label?.states_g), label: label?.id ?? "" },
    materials: rest.materials.map(({ kind, id, name, sheets, papers, lots, shown }) => ({
      ...{ kind, id, name, sheets: sheets.length + papers },
      lots: lots.map((lot) => ({ id: lot.id, name: String(lot.name ?? ""), shown: shown.has(lot.id) })),
    })),
    hazard: hazard && { changed: hazardChanges.length > 0, undecided: hazard.found.undecided.length > 0 },
    isUnclassed: Boolean(label?.no_hazard),
    batches: pours.map((pour) => ({ id: pour.id, code: codeOf(pour), net: netOf(pour.id, nets, label?.states_g) })),
    made: newest
      ? {
          ...{ id: newest.id, changed: labelChanges.length > 0 },
          finished: isFinished(newest.found?.report, newest.found?.answers),
        }
      : null,
    tested: tested?.stands ?? "never",
    risks: questions(),
    complaints: complaints.map(({ record, state }) => ({
      ...{ id: record.id, name: String(record.name ?? ""), unreported: isUnreported(record, state) },
      open: state.closed_at === null,
    })),
  };
}

/** What the newest finding says of the weight that the label states. @param {string} pour @param {Plain[]} nets
 * @param {number | undefined} states_g @returns {"yes" | "no" | "undecided" | null} */
function netOf(pour, nets, states_g) {
  const own = nets.filter(({ pour: of }) => of === pour).sort((a, b) => b.made_at - a.made_at);
  const told = own.map(({ found }) => found?.stated).find((stated) => stated && stated.g === states_g);
  return told?.verdict ?? null;
}

// ---- how long it is kept -----------------------------------------------------------------------

/** Every product, those that were deleted too, with what belongs to its file. @param {string} [only] the id of one
 * @returns {Promise<File[]>} */
export async function readFiles(only) {
  const products = await store.stored([only ? ["product", only] : store.ofKind("product")]);
  if (products.length === 0) return [];
  const { living, gone } = await store.apart("pour");
  const isOne = isOfOne(products.flatMap(recipesOf));
  const deleted = await Promise.all(gone.filter(isOne).map(({ id }) => readOrNone(id)));
  const own = await poursOf(living.filter(isOne).map(({ id }) => id));
  const all = await withCandles([...own, ...deleted.flat()]);
  // Of a pour that made none, nothing came on the market.
  const pours = ofEach(all, (pour) => (madeSome(candlesOf(pour)) ? [pour] : []));
  const batches = await Promise.all(pours.map(batchOf));
  return Promise.all(
    products.map(async (stored) => {
      const product = plainRecord(stored);
      const recipes = recipesOf(stored);
      const recipe = (product.recipe && (await store.get("recipe", product.recipe))) || null;
      return { product, recipe, recipes, batches: batches.filter((_, at) => recipes.includes(pours[at].sheet.recipe)) };
    }),
  );
}

/** @param {import("../shelf/candles.js").Candles} candles */
const madeSome = ({ made, out }) => made > 0 || out.length > 0;

/** A deleted pour, where it can be read. @param {string} id @returns {Promise<Pour[]>} */
async function readOrNone(id) {
  try {
    const pour = await readPour(id, true);
    return pour === null ? [] : [pour];
  } catch (error) {
    if (!(error instanceof TypeError)) throw error;
    return [];
  }
}

/** @param {Pour} pour @returns {Promise<import("../products/kept_for.js").Batch>} */
async function batchOf(pour) {
  const [uses = []] = ofEach([pour], (each) => [usesOf(each)]);
  return {
    ...{ id: pour.id, code: codeOf(pour), started_at: pour.record.started_at, last_out_ms: lastOut(pour) },
    materials: uses.map(({ kind, id }) => ({ kind, id })),
    lots: uses.flatMap(({ lot }) => lot ?? []),
  };
}

/** @param {Pour} pour */
const lastOut = (pour) => candlesOf(pour).out.at(-1)?.at_ms ?? null;
