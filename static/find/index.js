/**
 * What is kept, ready to be found: an index that follows from records and events, and can be made anew at any time.
 *
 * Its rows lie beside what they are made from (`static/records/found.js`) and are read once, when it is first asked for;
 * from then on it follows every change, made here, in another tab or on another phone.
 */
import { beginWith, FOUND, keepRows, rowId, rows, rowsOf } from "../records/found.js";
import * as store from "../records/store.js";
import { localDate } from "../words/dates.js";
import { entryOf, GONE, POURS, UNREAD, VERSION } from "./entries.js";
import { INDEXED } from "./kinds.js";

/** @typedef {import("./entries.js").Entry} Entry */
/** @typedef {import("../records/settled.js").Row} Row */
/** @typedef {import("../records/changes.js").Change} Change */
/** @typedef {Required<Pick<Entry, "name" | "title" | "line" | "noted" | "notes" | "days" | "others" | "at" | "page">>
 *   & Pick<Entry, "pour"> & {id: string, kind: string, own: string}} Found an entry with all it is compared by; `id`: of its
 *   row; `own`: its line without the names of others */

/** So many are read at once, and a touch comes in between. */
const AT_ONCE = 25;

/** All of it, once it was read. @type {Map<string, Found> | null} */
let found = null;
/** @type {Promise<Map<string, Found>> | null} */
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
    if (found) take(read.map(({ row, told }) => ({ id: row.id, told })));
    await pause(Math.max(0, open.length - from - AT_ONCE));
  }
}

/** The newest pours, without the rest of it. @param {number} most @returns {Promise<Found[]>} */
export async function newest(most) {
  const told = await store.settledOf(POURS, most);
  return told.flatMap((row) => whole(row.id, entryIn(row)) ?? []);
}

/** How many pours were deleted, at most one, and how many can't be read. */
export async function apart() {
  const [gone, unread] = await Promise.all([store.settledOf(GONE, 1), store.settledOf(UNREAD)]);
  return { gone: gone.length, unread: unread.length };
}

/** All that is found; it follows every change from now on. @returns {Promise<Map<string, Found>>} by row */
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
  const kept = await rows();
  found = together(kept.map((row) => [row.id, entryIn(row)]));
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
  take([
    ...kept.filter((row) => !row.open).map((row) => ({ id: row.id, told: entryIn(row) })),
    ...ids.filter((id) => !still.has(id)).map((id) => ({ id, told: null })),
  ]);
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
      const told = record ? entryOf(record, await streamsOf(kind, id)) : null;
      return { row, told };
    }),
  );
}

/** @param {string} kind @param {string} id */
async function streamsOf(kind, id) {
  const streams = INDEXED[kind].streams ?? [];
  const events = await Promise.all(streams.map((of) => store.events(/** @type {any} */ (of), id)));
  return Object.fromEntries(streams.map((of, index) => [of, events[index]]));
}

/** Put entries in the place of what was known. @param {{id: string, told: Entry | null}[]} entries */
function take(entries) {
  if (found === null || entries.length === 0) return;
  let isNamedOtherwise = false;
  for (const { id, told } of entries) {
    const before = found.get(id)?.title;
    const now = told && whole(id, told);
    if (now) found.set(id, now);
    else found.delete(id);
    isNamedOtherwise ||= before !== now?.title && !now?.pour;
  }
  if (isNamedOtherwise) joinAll(found);
  else for (const { id } of entries) join(found.get(id), found);
  for (const listener of listeners) listener();
}

/** What a row tells. @param {Row} row @returns {Entry} */
const entryIn = (row) => /** @type {Record<string, any>} */ (row);

/** Entries, each found by the names of the others that it tells of too. @param {[string, Entry | null][]} entries by row
 * @returns {Map<string, Found>} */
export function together(entries) {
  /** @type {Map<string, Found>} */
  const made = new Map();
  for (const [id, told] of entries) {
    const entry = told && whole(id, told);
    if (entry) made.set(id, entry);
  }
  joinAll(made);
  return made;
}

/** An entry with all it is compared by; null: nothing of it is found. @param {string} id @param {Entry} entry
 * @returns {Found | null} */
function whole(
  id,
  { name, title = "", line = "", noted = "", notes = [], days = [], others = [], at = 0, page, pour },
) {
  if (name === undefined || page === undefined) return null;
  const on = pour ? [localDate(at), ...days] : days;
  const kind = id.slice(0, id.indexOf(" "));
  return { id, kind, name, title, own: line, line, noted, notes, days: on, others, at, page, ...(pour && { pour }) };
}

/** @param {Map<string, Found>} entries */
function joinAll(entries) {
  for (const entry of entries.values()) join(entry, entries);
}

/** It is found by the names of others too. @param {Found | undefined} entry @param {Map<string, Found>} entries */
function join(entry, entries) {
  if (entry === undefined) return;
  let line = entry.own;
  for (const other of entry.others) line += entries.get(other)?.title ?? "";
  entry.line = line;
}
