/** The pours kept on this phone: starting one, reading it back, adding to it; and the clocks that run in it. */

import * as store from "../records/store.js";
import { answering } from "./answers.js";
import { alarmOf } from "./countdown.js";
import { fold, stageOf } from "./fold.js";
import { openSheet } from "./sheet_versions.js";

/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("./fold.js").PourState} PourState */
/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */
/** @typedef {import("../records/store.js").Plain} Plain */
/**
 * @typedef {object} Pour
 * @property {string} id
 * @property {Sheet} sheet
 * @property {PourState} state
 * @property {PourEvent[]} events
 * @property {Plain} record with `sheet` and `started_at`
 * @property {ReturnType<typeof stageOf>} stage
 * @property {import("../records/event_types.js").BatchEvent[]} [candles] what happened to its candles, where the shelf read it
 */

/** Keep a new pour and answer its id. @param {Sheet} sheet @param {number} now_ms
 * @param {object[]} [lots] which it is to come from, as the shelf pins them */
export async function startPour(sheet, now_ms, lots) {
  const id = store.newId();
  await store.save("pour", id, { name: sheet.title, sheet, started_at: now_ms, ...(lots && { lots }) });
  return id;
}

/** @param {string} id @param {boolean} [deleted] it may be deleted @returns {Promise<Pour | null>} */
export async function readPour(id, deleted = false) {
  const record = await store.get("pour", id);
  if (record === undefined || (record.deleted && !deleted)) return null;
  return folded(record, await store.events("pour", id));
}

/** Every pour, the newest first. @returns {Promise<Pour[]>} */
export async function allPours() {
  return inOrder(await store.living("pour"));
}

/** The pours that may still ask for something: those that are not settled. @returns {Promise<Pour[]>} newest first */
export async function openPours() {
  const rows = await store.unsettled("pour");
  return poursOf(rows.map(({ id }) => id));
}

/** Some pours, the newest first. @param {string[]} ids @returns {Promise<Pour[]>} */
export async function poursOf(ids) {
  return inOrder(await store.livingOf("pour", ids));
}

/** @param {Plain[]} records @returns {Promise<Pour[]>} */
const inOrder = (records) => foldAll(records, folded);

/**
 * What was begun, with what happened to it, the newest first. One that can't be made sense of must not hide the others.
 * @template {{record: Plain}} T @param {Plain[]} records @param {(record: Plain, events: any[]) => T} fold
 * @returns {Promise<T[]>}
 */
export async function foldAll(records, fold) {
  const found = await Promise.all(
    records.map(async (record) => {
      try {
        return [fold(record, await store.events(/** @type {any} */ (record.kind), record.id))];
      } catch (error) {
        if (error instanceof store.StoreError) throw error;
        passOver(record.id, error);
        return [];
      }
    }),
  );
  return found.flat().sort((a, b) => b.record.started_at - a.record.started_at);
}

/**
 * What `tell` says of each pour; one of which nothing can be said is passed over.
 * @template T @template {{id: string}} P @param {P[]} pours @param {(pour: P) => T[]} tell @returns {T[]}
 */
export function ofEach(pours, tell) {
  return pours.flatMap((pour) => {
    try {
      return tell(pour);
    } catch (error) {
      passOver(pour.id, error);
      return [];
    }
  });
}

/** @type {Set<string>} */
const passedOver = new Set();

/** Log that nothing can be said of a pour, once: some of it is asked several times a second.
 * @param {string} id @param {unknown} error */
export function passOver(id, error) {
  if (!passedOver.has(id)) console.warn(`The pour ${id} can't be read.`, error);
  passedOver.add(id);
}

/** Pours that still need her at the bench. @returns {Promise<Pour[]>} */
export async function poursOnBench() {
  return (await openPours()).filter(isOnBench).reverse();
}

/** @param {{stage: string}} pour */
export function isOnBench({ stage }) {
  return stage === "ready" || stage === "jugs" || stage === "set";
}

/**
 * Add an event to a pour as the screen last showed it.
 * @param {Pour} pour @param {import("./prompt_shape.js").NewEvent} event @param {number} now_ms
 */
export function addEvent(pour, event, now_ms) {
  return addEvents(pour, [event], now_ms);
}

/** Add some, or none of them. @param {Pour} pour @param {import("./prompt_shape.js").NewEvent[]} events @param {number} now_ms */
function addEvents({ id, state }, events, now_ms) {
  const named = events.map((event) => ({ ...answering(state, event), at: now_ms }));
  return store.appendAll("pour", id, named, state.last);
}

/** Let some events not count. @param {Pour} pour @param {string[]} ids @param {number} now_ms */
export function undo(pour, ids, now_ms) {
  return addEvents(
    pour,
    ids.map((event) => ({ type: "undone", event })),
    now_ms,
  );
}

/** Take back the last thing that counts in this jug (or in the whole pour), whoever said it.
 * @param {Pour} pour @param {number} jug @param {number} now_ms */
export async function undoLast(pour, jug, now_ms) {
  const last = lastUndoable(pour, jug);
  if (last) await undo(pour, [last.id, ...(pour.state.same.get(last.id) ?? [])], now_ms);
}

/** @param {Pour} pour @param {number} jug */
export function lastUndoable(pour, jug) {
  return pour.state.counted.findLast((event) => !("jug" in event) || event.jug === jug) ?? null;
}

/** @typedef {import("./session.js").Clock<Pour> & {what: "temperature" | "stir" | "warm" | "hot"}} JugClock */

/** The clocks that run in a pour, jug by jug. @param {Pour} pour @param {number} now_ms @returns {JugClock[]} */
export function clocksOf(pour, now_ms) {
  if (pour.stage !== "jugs") return [];
  return pour.state.jugs.flatMap((jug, part) => {
    const alarm = alarmOf(pour.sheet, jug, now_ms);
    return alarm ? [{ ...alarm, item: pour, part, key: `${pour.id} ${part} ${alarm.key}` }] : [];
  });
}

/** Pours as the bench session follows them. @type {import("./session.js").Stream<Pour>} */
export const pourStream = {
  kind: "pour",
  read: (/** @type {string} */ id) => readPour(id),
  readBench: poursOnBench,
  isOnBench,
  clocks: clocksOf,
};

/** @param {Plain} record @param {PourEvent[]} events @returns {Pour} @throws {TypeError} no version wrote its sheet */
export function folded(record, events) {
  const sheet = openSheet(record.sheet);
  const state = fold(sheet, events);
  return { id: record.id, sheet, state, events, record, stage: stageOf(state) };
}
