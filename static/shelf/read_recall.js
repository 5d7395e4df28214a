/** Recalls as they stand, and what may not be sold. */
import { now } from "../bench/clock.js";
import { effectiveEvents } from "../records/events.js";
import * as store from "../records/store.js";
import { allLeft, batchesOf, KINDS_OF_TRACE, lotsBehind, recordsKept } from "./read_trace.js";
import { foldRecall } from "./recall.js";

/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("./trace.js").Batch} Batch */
/** @typedef {import("./read_trace.js").What} What */
/** @typedef {import("./recall.js").RecallState} RecallState */
/** @typedef {{record: Plain, state: RecallState, what: What, of: string, isRehearsal: boolean}} Recall */
/** @typedef {{by: "batch" | "lot" | "recall", name: string, why: string}} Block why a batch may not be sold */

/** The kinds of record that a recall depends on. */
export const KINDS_OF_RECALL = [...KINDS_OF_TRACE, "recall", "buyer", "wanted", "maker"];

/** @param {string} id @returns {Promise<Recall | null>} */
export async function readRecall(id) {
  const record = await store.get("recall", id);
  if (record === undefined || record.deleted || !Array.isArray(record.of)) return null;
  const [what, of] = record.of;
  const state = foldRecall(await store.events("recall", id));
  return { record, state, what, of, isRehearsal: record.rehearsal === "yes" };
}

/** Those that are not over and no rehearsal. @returns {Promise<Recall[]>} */
export async function openRecalls() {
  const all = await Promise.all((await store.living("recall")).map(({ id }) => readRecall(id)));
  return all.flatMap((each) => (each !== null && each.state.closed === null && !each.isRehearsal ? [each] : []));
}

/**
 * Begin a recall: what it is of is withdrawn, but for a recipe, whose batches are held back by the recall itself. A
 * rehearsal withdraws nothing.
 * @param {What} what @param {string} of its id @param {{name: string, risk: string, remedy: string, rehearsal: boolean}} said
 * @returns {Promise<string>} its id
 */
export async function beginRecall(what, of, { name, risk, remedy, rehearsal }) {
  const id = store.newId();
  await store.save("recall", id, { name, of: [what, of], risk, remedy, rehearsal: rehearsal ? "yes" : "no" });
  if (rehearsal || what === "recipe") return id;
  const kind = what === "lot" ? "lot" : "batch";
  if ((await withdrawnOf(kind, of)) === null)
    await store.append(kind, of, { type: "withdrawn", why: risk.slice(0, MOST_WHY), at: now() });
  return id;
}

const MOST_WHY = 200;

/** Why a delivery or a batch was withdrawn; null: it was not. @param {"lot" | "batch"} kind @param {string} id
 * @returns {Promise<string | null>} */
export async function withdrawnOf(kind, id) {
  const said = effectiveEvents(kind, await store.events(kind, id)).findLast(
    ({ type }) => type === "withdrawn" || type === "released",
  );
  return said?.type === "withdrawn" ? said.why : null;
}

/**
 * Why candles of batches may not be sold: the batch was withdrawn, it is in a recall, or a delivery that is in it was
 * withdrawn, and she did not let the batch go since.
 * @param {Batch[]} batches @param {import("./trace.js").Parent[][]} [followed] the deliveries that are in each, where
 *   that is known already
 * @returns {Promise<Map<string, Block[]>>} by the pour's id; none where nothing was said
 */
export async function blocksOf(batches, followed) {
  const [recalls, parents] = await Promise.all([openRecalls(), followed ?? allParents(batches)]);
  const behind = parents.map((each) => each.map(({ lot }) => lot));
  const ids = [...new Set(behind.flat())];
  const names = new Map((await recordsKept("lot", ids)).map(({ id, name }) => [id, String(name ?? "")]));
  const whys = await Promise.all(ids.map((id) => withdrawnOf("lot", id)));
  /** @type {Map<string, Block>} */
  const ofLot = new Map();
  whys.forEach((why, index) => {
    const id = ids[index];
    if (why !== null) ofLot.set(id, { by: "lot", name: names.get(id) ?? "", why });
  });
  const found = batches.map(({ pour, candles }, index) => {
    const lots = behind[index];
    const called = recalls.filter(
      ({ what, of }) =>
        (what === "pour" && of === pour.id) ||
        (what === "recipe" && of === pour.sheet.recipe) ||
        (what === "lot" && lots.includes(of)),
    );
    /** @type {Block[]} */
    const recalled = called.map(({ record }) => ({ by: "recall", name: record.name, why: String(record.risk ?? "") }));
    const given = candles.withdrawn;
    /** @type {Block[]} */
    const ofBatch = given === null ? [] : [{ by: "batch", name: "", why: given }];
    const ofLots = given !== null || candles.isReleased ? [] : lots.flatMap((lot) => ofLot.get(lot) ?? []);
    // What was withdrawn for a recall is said with it.
    const isUnsaid = (/** @type {Block} */ { why }) =>
      recalled.every((recall) => recall.why.slice(0, MOST_WHY) !== why);
    return /** @type {[string, Block[]]} */ ([pour.id, [...recalled, ...[...ofBatch, ...ofLots].filter(isUnsaid)]]);
  });
  return new Map(found);
}

/** @param {Batch[]} batches */
async function allParents(batches) {
  const left = await allLeft();
  return Promise.all(batches.map(({ pour }) => lotsBehind(pour, left)));
}

/** The batches that a recall is of, the newest first. @param {Pick<Recall, "what" | "of">} recall @returns {Promise<Batch[]>} */
export const batchesIn = ({ what, of }) => batchesOf(what, of);
