/**
 * What is kept, ready to be found: an index that follows from records and events, and can be made anew at any time.
 *
 * Its rows lie beside what they are made from (`static/records/found.js`) and are read once, when it is first asked for;
 * from then on it follows every change, made here, in another tab or on another phone.
 */
import { beginWith, FOUND, keepRows, rowId, rows, rowsOf } from "../records/found.js";
import * as store from "../records/store.js";
import { entryOf, GONE, POURS, UNREAD, VERSION } from "./entries.js";
import { AllFound } from "./found.js";
import { INDEXED } from "./kinds.js";

/** @typedef {import("./entries.js").Entry} Entry */
/** @typedef {import("../records/settled.js").Row} Row */
/** @typedef {import("../records/changes.js").Change} Change */

/** So many are read at once, and a touch comes in between. */
const AT_ONCE = 10;

/** All of it, once it was read. @type {AllFound | null} */
let found = null;
/** @type {Promise<AllFound> | null} */
let reading = null;
/** @type {Set<() => void>} */
const listeners = new Set();

/** Hear whenever something else is found, or in other words. @param {() => void} listener @returns {() => void} */
export function onFound(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** What changed since it was last read. @returns {Promise<Row[]>} */
export async function behind() {
  await beginWith(VERSION, Object.keys(INDEXED));
  return store.unsettled(FOUND);
}

/** Read anew what has changed. @param {Row[]} open as `behind` gives them
 * @param {(left: number) => Promise<void>} [pause] lets a touch come between; told how many are left */
export async function catchUp(open, pause = async () => undefined) {
  for (let from = 0; from < open.length; from += AT_ONCE) {
    const read = await readAnew(open.slice(from, from + AT_ONCE));
    await keepRows(read);
    if (found) take(read.map(({ row, told }) => [row.id, told]));
    await pause(Math.max(0, open.length - from - AT_ONCE));
  }
}

/** The newest pours, without the rest of it. @param {number} most @returns {Promise<AllFound>} */
export async function newest(most) {
  return together(await store.settledOf(POURS, most));
}

/** How many pours were deleted, at most one, and how many can't be read. */
export async function apart() {
  const [gone, unread] = await Promise.all([store.settledOf(GONE, 1), store.settledOf(UNREAD)]);
  return { gone: gone.length, unread: unread.length };
}

/** All that is found, where it was read already; null: it was not. @returns {AllFound | null} */
export const atHand = () => found;

/** All that is found; it follows every change from now on. @returns {Promise<AllFound>} */
export function all() {
  reading ??= readAll().catch((error) => {
    reading = null;
    throw error;
  });
  return reading;
}

async function readAll() {
  /** @type {Set<string>} */
  const changed = new Set();
  const follow = store.oneAtATime(async () => {
    if (found === null) return;
    const ids = [...changed];
    changed.clear();
    await takeChanged(ids);
  });
  // Heard from before it is read: what changes meanwhile is not missed.
  store.onChange((changes) => {
    for (const each of changes) for (const id of rowsOfChange(each)) changed.add(id);
    if (changed.size > 0) follow();
  });
  found = together(await rows());
  if (changed.size > 0) follow();
  return found;
}

/** What happened to candles is told of their pour. @param {Change} change @returns {string[]} */
function rowsOfChange({ kind, id }) {
  if (kind === "batch") return [rowId("pour", id)];
  return Object.hasOwn(INDEXED, kind) ? [rowId(kind, id)] : [];
}

/** Follow what changed: read it anew, or take it as another tab has read it. @param {string[]} ids */
async function takeChanged(ids) {
  const kept = await rowsOf(ids);
  const open = kept.filter((row) => row.open);
  const still = new Set(kept.map(({ id }) => id));
  const taken = kept.filter((row) => !row.open).map((row) => entry(row.id, entryIn(row)));
  take([...taken, ...ids.filter((id) => !still.has(id)).map((id) => entry(id, null))]);
  await catchUp(open);
}

/** @param {Row[]} open @returns {Promise<{row: Row, told: Entry | null}[]>} */
async function readAnew(open) {
  const keys = open.map((row) => {
    const at = row.id.indexOf(" ");
    return { row, kind: row.id.slice(0, at), id: row.id.slice(at + 1) };
  });
  const known = keys.filter(({ kind }) => Object.hasOwn(INDEXED, kind));
  const records = await store.stored(known.map(({ kind, id }) => [kind, id]));
  const byKey = new Map(records.map((record) => [rowId(record.kind, record.id), record]));
  return Promise.all(
    keys.map(async ({ row, kind, id }) => {
      const record = byKey.get(rowId(kind, id));
      return { row, told: record ? toldOf(record, await streamsOf(kind, id)) : null };
    }),
  );
}

/** Its entry; one that no version of the bench wrote must not keep the others from being found.
 * @param {import("../records/merge.js").Stored} record @param {Record<string, import("../records/event_types.js").AnyEvent[]>} events
 * @returns {Entry | null} */
function toldOf(record, events) {
  try {
    return entryOf(record, events);
  } catch (error) {
    console.warn(`Nothing of the ${record.kind} ${record.id} can be found.`, error);
    return null;
  }
}

/** @param {string} kind @param {string} id */
async function streamsOf(kind, id) {
  const streams = INDEXED[kind].streams ?? [];
  const events = await Promise.all(streams.map((of) => store.events(/** @type {any} */ (of), id)));
  return Object.fromEntries(streams.map((of, index) => [of, events[index]]));
}

/** Put entries in the place of what was known. @param {[string, Entry | null][]} entries by row */
function take(entries) {
  if (found === null || entries.length === 0) return;
  found.take(entries);
  for (const listener of listeners) listener();
}

/** @param {Row[]} kept */
function together(kept) {
  const all = new AllFound();
  all.take(kept.map((row) => entry(row.id, entryIn(row))));
  return all;
}

/** @param {string} id @param {Entry | null} told @returns {[string, Entry | null]} */
const entry = (id, told) => [id, told];

/** What a row tells. @param {Row} row @returns {Entry} */
const entryIn = (row) => /** @type {Record<string, any>} */ (row);
