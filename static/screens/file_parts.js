/** The parts of a product's file, each as the blocks that the desk sets on paper. */

import { eventWords } from "../bench/event_words.js";
import { ofEach } from "../bench/pours.js";
import { answerOf, partsOf } from "../products/parts.js";
import { RULES } from "../products/rules.js";
import { versionsOf } from "../products/versions.js";
import { codeOf } from "../shelf/batches.js";
import { candlesOf } from "../shelf/candles.js";
import { listed, message, plural, t, worded } from "../words/door.js";
import { findingBlocks, labelBlocks, testBlocks } from "./file_proof.js";
import { materialBlocks, recipeBlocks } from "./file_recipe.js";
import { facts, heading, line, list, onDay, tableOf } from "./file_words.js";
import { aboutKind } from "./kinds.js";
import { holdsOf, questions } from "./product_sources.js";
import { answerText, complaintFacts, dayOrNone, partText } from "./product_words.js";
import { statusText } from "./test_words.js";

/** @typedef {import("./file_blocks.js").Block} Block */
/** @typedef {import("./product_sources.js").Sources} Sources */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {Record<string, any>} Fields */
/** @typedef {{title: string, state: "there" | "older" | "missing" | "", lacks: string[], blocks: Block[]}} Drawn */

/** All parts of the file, in its order. @param {Sources} sources @param {DisplayUnits} units
 * @param {{gone: Fields[], recalls: Fields[]}} also what was deleted of it, and what was called back @returns {Promise<Drawn[]>} */
export async function drawParts(sources, units, { gone, recalls }) {
  /** @type {Record<import("../products/parts.js").Key, Block[]>} */
  const blocks = {
    what: whatBlocks(sources),
    recipe: await recipeBlocks(sources, units),
    materials: await materialBlocks(sources),
    findings: findingBlocks(sources, units),
    label: await labelBlocks(sources),
    tests: testBlocks(sources, units),
    risks: riskBlocks(sources),
    batches: batchBlocks(sources),
    complaints: complaintBlocks(sources),
  };
  const parts = partsOf(holdsOf(sources)).map(({ key, state, lacks }) => ({
    ...{ title: partText(key), state, lacks: lacks.map(({ text }) => worded(text)), blocks: blocks[key] },
  }));
  const others = [
    { title: t("Called back"), blocks: recallBlocks(recalls) },
    { title: t("Deleted from this file"), blocks: goneBlocks(gone) },
    { title: t("What the law is said to want"), blocks: ruleBlocks() },
  ];
  return [...parts, ...others.map((each) => ({ ...each, state: /** @type {const} */ (""), lacks: [] }))];
}

/** @param {Sources} sources @returns {Block[]} */
function whatBlocks({ product, recipe, maker, label, materials: all }) {
  const packaging = all.filter(({ kind }) => kind === "packaging").map(({ name }) => name);
  return [
    facts([
      [t("Product"), product.name],
      [t("What it is, and what it is for"), product.says],
      [t("What makes it safer"), product.safety],
      [t("Standards that were applied"), product.standards],
      [t("Recipe"), recipe?.name],
      [t("Label"), label?.name],
      [t("Packaging"), packaging.length > 0 && listed(packaging)],
      [t("Sold since"), dayOrNone(product.sold_from)],
      [t("No longer sold since"), dayOrNone(product.stopped_on)],
      [t("Notes"), product.notes],
    ]),
    heading(t("Who makes it")),
    facts([
      [t("Name"), maker?.called],
      [t("Postal address"), maker?.address],
      [t("Mail or website"), maker?.electronic],
      [t("Telephone"), maker?.telephone],
    ]),
  ];
}

/** @param {Sources} sources @returns {Block[]} */
function riskBlocks({ product }) {
  return questions().flatMap(({ field, asks }) => {
    const answer = answerOf(product[field]);
    const { why, how, done, shows } = product[field] ?? {};
    return [
      heading(asks),
      facts([
        [t("Answer"), answerText(answer)],
        [t("Why not"), answer !== "yes" && why],
        [t("How it may happen"), how],
        [t("What was done about it"), done],
        [t("What shows it"), shows],
      ]),
    ];
  });
}

/** @param {Sources} sources @returns {Block[]} */
function batchBlocks({ pours }) {
  const versions = versionsOf(pours);
  const rows = ofEach(pours, (pour) => {
    const { made, here, out, came_back } = candlesOf(pour);
    const gone = out.reduce((sum, { n }) => sum + n, 0);
    const state = versions.findIndex(({ pours: of }) => of.some(({ id }) => id === pour.id)) + 1;
    const counts = [state, made, gone, came_back, here].map(String);
    return [[codeOf(pour) ?? t("none"), onDay(pour.record.started_at), ...counts]];
  });
  const counted = [t("State of the recipe"), t("Candles made"), t("Went out"), t("Came back"), t("Still here")];
  const head = [t("Batch code"), t("Poured on"), ...counted];
  return rows.length > 0 ? [tableOf(head, rows)] : [];
}

/** @param {Sources} sources @returns {Block[]} */
function complaintBlocks({ complaints }) {
  if (complaints.length === 0) return [line(t("None was written down."))];
  return [
    line(
      plural(
        complaints.length,
        "{n} was written down. Who complained is kept apart, and is not in this file.",
        "{n} were written down. Who complained is kept apart, and is not in this file.",
      ),
    ),
    ...complaints.flatMap(({ record, state }) => [
      heading(String(record.name ?? "")),
      line(String(record.what ?? "")),
      facts([
        ...complaintFacts(record),
        [t("Stands"), state.closed_at === null ? t("open") : t("closed on {day}", { day: onDay(state.closed_at) })],
      ]),
      list(state.counted.map((event) => `${onDay(event.at)}: ${eventWords(event, {})}`)),
    ]),
  ];
}

/** @param {Fields[]} recalls @returns {Block[]} */
function recallBlocks(recalls) {
  if (recalls.length === 0) return [line(t("Nothing of it was called back."))];
  return recalls.map(({ name, risk, remedy }) =>
    facts([[String(name ?? ""), [risk, remedy].filter(Boolean).join("\n")]]),
  );
}

/** @param {Fields[]} gone @returns {Block[]} */
function goneBlocks(gone) {
  if (gone.length === 0) return [line(t("Nothing was deleted from it."))];
  const rows = gone.map(({ kind, name, deleted_why }) => [kindText(kind), name ?? "", deleted_why || t("not said")]);
  return [tableOf([t("What"), t("Name"), t("Why")], rows)];
}

/** What a kind without a form is called. @type {Record<string, import("../words/door.js").Message>} */
const KINDS = {
  pour: message("pour"),
  burn_test: message("burn test"),
  made_label: message("made label"),
  attachment: message("photo or paper"),
  hazard_finding: message("hazard class"),
  net_finding: message("net content"),
};

/** @param {string} kind */
const kindText = (kind) => aboutKind(kind).one ?? (KINDS[kind] ? worded(KINDS[kind]) : kind);

/** @returns {Block[]} */
function ruleBlocks() {
  const items = RULES.map(({ says, article, status }) => `${worded(says)} ${article} (${statusText({ status })}).`);
  return [list(items), line(t("The law in force where it is sold and a qualified person have the last word."))];
}
