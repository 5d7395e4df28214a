/** What was found of a product, on paper: its hazard class and net content, its labels, its burn tests. */
import { ofEach } from "../bench/pours.js";
import { resultsOf } from "../burns/results.js";
import { verdictOf } from "../burns/verdict.js";
import { isFinished } from "../labels/answers.js";
import { foldPrints } from "../labels/prints.js";
import { finding } from "../records/findings.js";
import * as store from "../records/store.js";
import { codeOf } from "../shelf/batches.js";
import { InputError, listed, t } from "../words/door.js";
import { blocksOf } from "./file_blocks.js";
import { facts, heading, line, list, onDay, tableOf } from "./file_words.js";
import { foundInShort, foundSections } from "./hazard_found.js";
import { restOf } from "./label_report.js";
import { findingParts } from "./net_words.js";
import { testFacts } from "./test.js";
import { limitLines, wickSection } from "./test_wicks.js";

/** @typedef {import("./file_blocks.js").Block} Block */
/** @typedef {import("./product_sources.js").Sources} Sources */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** @typedef {Record<string, any>} Fields */

/** Labels of which a picture stands in the file; each has its record in it. */
const MOST_PICTURES = 12;

/** @param {Sources} sources @param {DisplayUnits} units @returns {Block[]} */
export function findingBlocks({ hazard, hazards, hazardChanges, nets, pours, label }, units) {
  /** @type {Block[]} */
  const found = [];
  if (hazard) {
    found.push(heading(t("Hazard class, worked out on {day}", { day: onDay(hazard.made_at) })));
    if (hazardChanges.length > 0)
      found.push(line(t("Since then has changed: {what}.", { what: listed(hazardChanges) })));
    found.push({ is: "symbols", names: hazard.found.pictograms }, ...blocksOf(foundSections(hazard.found)));
  } else if (label?.no_hazard)
    found.push(line(t("It needs no hazard class, you said: {why}", { why: label.no_hazard })));
  const earlier = hazards
    .filter((each) => each !== hazard)
    .map((each) => `${onDay(each.made_at)}: ${foundInShort(each.found)}`);
  if (earlier.length > 0) found.push(heading(t("Worked out before, or by other rules")), list(earlier));
  const newest = [...nets].sort((a, b) => b.made_at - a.made_at);
  if (newest.length === 0) return found;
  const codes = new Map(pours.map((pour) => [pour.id, codeOf(pour)]));
  const rows = ofEach(newest, (each) => [
    [
      ...[codes.get(each.pour) ?? "", onDay(each.made_at), each.found.mean],
      ...[each.found.stated?.stated ?? t("none"), verdictText(each.found.stated?.verdict)],
    ],
  ]);
  found.push(
    heading(t("Net content of its batches")),
    tableOf([t("Batch"), t("Worked out"), t("Mean"), t("States"), t("May it")], rows),
    heading(t("The newest of them: {code}", { code: codes.get(newest[0].pour) ?? "" })),
    ...ofEach(newest.slice(0, 1), (each) => blocksOf(findingParts(each, units))),
  );
  return found;
}

/** @param {unknown} verdict */
function verdictText(verdict) {
  switch (verdict) {
    case "yes":
      return t("yes");
    case "no":
      return t("no");
    default:
      return t("undecided");
  }
}

/** @param {Sources} sources @returns {Promise<Block[]>} */
export async function labelBlocks({ made }) {
  if (made.length === 0) return [];
  const prints = await Promise.all(made.map(async ({ id }) => foldPrints(await store.events("made_label", id))));
  const rows = made.map(({ made_at, name, asked, found }, at) => [
    ...[onDay(made_at), name ?? "", asked.batch ?? t("none")],
    ...[isFinished(found?.report, found?.answers) ? t("yes") : t("no"), String(prints[at].label)],
  ]);
  const head = [t("Made on"), t("Label"), t("Batch code"), t("Finished"), t("Printed")];
  // What was printed was seen by buyers; of the rest the newest will do.
  const shown = made.filter((_, at) => at === 0 || prints[at].label > 0).slice(0, MOST_PICTURES);
  const pictures = await Promise.all(shown.map(pictureBlocks));
  const report = ofEach(made.slice(0, 1), ({ found }) => blocksOf(restOf(/** @type {any} */ (found))));
  return [
    ...pictures.flat(),
    ...report,
    heading(t("All labels that were made")),
    tableOf(head, rows),
    line(t("What stands on each of them is in the records beside this paper.")),
  ];
}

/** @param {store.Plain} made @returns {Promise<Block[]>} */
async function pictureBlocks({ id, name, made_at, asked }) {
  const kept = await finding("label_picture", id);
  const pictures = Array.isArray(kept?.drawn?.pictures) ? kept.drawn.pictures : [];
  const caption = [name, asked.batch, onDay(made_at)].filter(Boolean).join(", ");
  return pictures.map((/** @type {Fields} */ { png, width_mm, height_mm }) => ({
    ...{ is: "picture", png: String(png), width_mm, height_mm, caption },
  }));
}

/** @param {Sources} sources @param {DisplayUnits} units @returns {Block[]} */
export function testBlocks({ tests, tested, recipe }, units) {
  const told = tested ? [line(tested.text)] : [];
  const all = ofEach(tests, (test) => {
    const results = resultsOf(test).map((result) => wickBlocks(test, result, units));
    return [
      heading(t("Burn test {name}, begun on {day}", { name: test.sheet.title, day: onDay(test.record.started_at) })),
      facts(testFacts(test, recipe ?? undefined, units)),
      ...results.flat(),
      ...test.state.notes.map(({ at, text }) => line(`${onDay(at)}: ${text}`)),
    ];
  });
  const limits = tests.length > 0 ? [heading(t("What they are held against")), ...listOf(limitLines(units))] : [];
  return [...told, ...all, ...limits];
}

/** @param {HTMLElement[]} lines @returns {Block[]} */
function listOf(lines) {
  const list = document.createElement("ul");
  list.append(...lines);
  return blocksOf([list]);
}

/** @param {Sources["tests"][number]} test @param {import("../burns/results.js").WickResult} result @param {DisplayUnits} units */
function wickBlocks(test, result, units) {
  try {
    return blocksOf([wickSection(test.sheet, result, verdictOf(result, test.sheet, units), units, false)]);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return [line(error.message)];
  }
}
