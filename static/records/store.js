/**
 * What is kept on this phone, in IndexedDB: records, pour events, and the device's own clock.
 *
 * A write is on disk before its promise resolves, and the screen says nothing before that. Every
 * write takes its stamp inside its own transaction, so two tabs can't make the same one.
 */
import { mergeRecords, plainRecord, withValues } from "./merge.js";
import { EARLIEST, nextStamp } from "./stamp.js";

/** @typedef {import("./merge.js").Plain} Plain */
/** @typedef {import("./merge.js").Stored} Stored */
/**
 * @typedef {object} PourEvent
 * @property {string} id its stamp: events sort by it
 * @property {string} pour
 * @property {string} type
 * @property {number} at wall clock, milliseconds since 1970
 */
/** @typedef {PourEvent & Record<string, any>} AnyEvent */

/** Nothing can be kept here. The message is a sentence for the maker. */
export class StoreError extends Error {}

/** The pour has moved on elsewhere, and what was on this screen was old. */
export class MovedOn extends Error {}

const NAME = "pour-bench";
const VERSION = 1;
const FULL =
  "The phone has no room left, so nothing was saved. Free some space, then do it again: what " +
  "you typed is still here.";
const NOWHERE =
  "This window can keep nothing: it may be a private one, or storage is switched off. Open the " +
  "bench in an ordinary window, so that a pour can't be lost.";

/** @type {Promise<IDBDatabase> | undefined} */
let opening;
/** @type {Set<(change: {kind: string, id: string}) => void>} */
const listeners = new Set();
const channel = typeof BroadcastChannel === "undefined" ? null : new BroadcastChannel(NAME);
channel?.addEventListener("message", (event) => tell(event.data));

/** Hear of every change, made here or in another tab. @param {(change: {kind: string, id: string}) => void} listener
 * @returns {() => void} stop hearing */
export function onChange(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** @param {{kind: string, id: string}} change */
function tell(change) {
  for (const listener of listeners) listener(change);
}

/** @param {{kind: string, id: string}} change */
function announce(change) {
  tell(change);
  channel?.postMessage(change);
}

/** Open the store, once. @returns {Promise<IDBDatabase>} */
export function open() {
  opening ??= new Promise((resolve, reject) => {
    /** @type {IDBOpenDBRequest} */
    let request;
    try {
      request = indexedDB.open(NAME, VERSION);
    } catch {
      reject(new StoreError(NOWHERE));
      return;
    }
    request.onupgradeneeded = () => {
      const db = request.result;
      db.createObjectStore("records", { keyPath: ["kind", "id"] });
      db.createObjectStore("events", { keyPath: "id" }).createIndex("pour", ["pour", "id"]);
      db.createObjectStore("device", { keyPath: "key" });
    };
    request.onblocked = () =>
      reject(new StoreError("Another tab holds an older version of the bench: close it, then reload."));
    request.onerror = () => reject(new StoreError(NOWHERE));
    request.onsuccess = () => {
      // A newer version in another tab must not wait for this one for ever.
      request.result.onversionchange = () => {
        request.result.close();
        opening = undefined;
      };
      // Closed by the browser, as when storage is cleared under an open page: opened afresh.
      request.result.onclose = () => (opening = undefined);
      resolve(request.result);
    };
  });
  opening.catch(() => (opening = undefined));
  return opening;
}

/** All living records of a kind, by name. @param {string} kind @returns {Promise<Plain[]>} */
export async function all(kind) {
  const db = await open();
  const range = IDBKeyRange.bound([kind], [kind, []]);
  const found = await answer(db.transaction("records").objectStore("records").getAll(range));
  return found
    .map(plainRecord)
    .filter((record) => !record.deleted)
    .sort((a, b) => String(a.name ?? "").localeCompare(String(b.name ?? "")) || (a.id < b.id ? -1 : 1));
}

/** One record, deleted ones too; undefined if it was never there.
 * @param {string} kind @param {string} id @returns {Promise<Plain | undefined>} */
export async function get(kind, id) {
  const db = await open();
  const found = await answer(db.transaction("records").objectStore("records").get([kind, id]));
  return found && plainRecord(found);
}

/** Set some fields of a record, making it if need be.
 * @param {string} kind @param {string} id @param {Record<string, any>} values */
export async function save(kind, id, values) {
  await write(["records"], async (stores, stamp) => {
    const before = (await answer(stores.records.get([kind, id]))) ?? { kind, id, fields: {} };
    stores.records.put(withValues(before, values, await stamp()));
  });
  announce({ kind, id });
}

/** @param {string} kind @param {string} id */
export function remove(kind, id) {
  return save(kind, id, { deleted: true });
}

/** Put records that carry their own stamps beside what is here; nothing newer is lost, and what
 * she changes from then on is later than all of them.
 * @param {Stored[]} records @param {AnyEvent[]} events */
export async function bringIn(records, events) {
  await write(["records", "events"], async (stores, _stamp, see) => {
    for (const record of records) {
      const before = await answer(stores.records.get([record.kind, record.id]));
      stores.records.put(before ? mergeRecords(before, record) : record);
    }
    for (const event of events) stores.events.put(event);
    await see([
      ...records.flatMap(({ fields }) => Object.values(fields).map(({ stamp }) => stamp)),
      ...events.map(({ id }) => id),
    ]);
  });
  for (const { kind, id } of records) announce({ kind, id });
}

/** How many records there are, of any kind. @returns {Promise<number>} */
export async function count() {
  const db = await open();
  return answer(db.transaction("records").objectStore("records").count());
}

/** A pour's events, oldest first. @param {string} pour @returns {Promise<AnyEvent[]>} */
export async function events(pour) {
  const db = await open();
  const index = db.transaction("events").objectStore("events").index("pour");
  return answer(index.getAll(IDBKeyRange.bound([pour], [pour, []])));
}

/**
 * Add one event to a pour. Events are never changed and never removed.
 * @param {string} pour
 * @param {{type: string, at: number} & Record<string, any>} event
 * @param {string | null} [after] id of the last event that the screen showed: if the pour has
 *   moved on since (in another tab), nothing is written
 * @returns {Promise<AnyEvent>} the event as kept
 * @throws {MovedOn} the pour has moved on
 * @throws {StoreError} nothing could be kept
 */
export async function append(pour, event, after) {
  /** @type {AnyEvent | undefined} */
  let kept;
  await write(["events"], async (stores, stamp) => {
    if (after !== undefined) {
      const range = IDBKeyRange.bound([pour], [pour, []]);
      const last = await answer(stores.events.index("pour").openKeyCursor(range, "prev"));
      if ((last?.primaryKey ?? null) !== after) throw new MovedOn();
    }
    kept = { ...event, pour, id: await stamp() };
    stores.events.put(kept);
  });
  announce({ kind: "event", id: pour });
  return /** @type {AnyEvent} */ (kept);
}

/** A new id that no other device makes. */
export function newId() {
  return randomText(16);
}

/**
 * One transaction that is durable before this resolves, or leaves nothing behind.
 * @param {string[]} names
 * @param {(stores: Record<string, IDBObjectStore>, stamp: () => Promise<string>,
 *   see: (stamps: string[]) => Promise<void>) => Promise<void>} work
 */
async function write(names, work) {
  const db = await open();
  const transaction = db.transaction([...names, "device"], "readwrite", { durability: "strict" });
  const done = new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve(undefined);
    transaction.onabort = () => reject(transaction.error ?? new StoreError(NOWHERE));
  });
  /** @type {Record<string, IDBObjectStore>} */
  const stores = {};
  for (const name of names) stores[name] = transaction.objectStore(name);
  const device = transaction.objectStore("device");
  try {
    await work(stores, () => takeStamp(device), (stamps) => seeStamps(device, stamps));
  } catch (error) {
    done.catch(() => undefined);
    try {
      transaction.abort();
    } catch {
      // It had already been aborted by what went wrong.
    }
    throw inWords(error);
  }
  await done.catch((error) => {
    throw inWords(error);
  });
}

/** @param {IDBObjectStore} device @returns {Promise<string>} */
async function takeStamp(device) {
  const clock = await clockOf(device);
  clock.last = nextStamp(clock.last, Date.now(), clock.name);
  device.put(clock);
  return clock.last;
}

/** The next stamp comes after these, even if the clock they were made by runs ahead of ours.
 * @param {IDBObjectStore} device @param {string[]} stamps */
async function seeStamps(device, stamps) {
  const clock = await clockOf(device);
  for (const stamp of stamps) if (stamp > clock.last) clock.last = stamp;
  device.put(clock);
}

/** @param {IDBObjectStore} device @returns {Promise<{key: string, name: string, last: string}>} */
async function clockOf(device) {
  return (await answer(device.get("clock"))) ?? { key: "clock", name: randomText(8), last: EARLIEST };
}

/** @param {unknown} error */
function inWords(error) {
  const name = error instanceof DOMException ? error.name : "";
  return name === "QuotaExceededError" ? new StoreError(FULL) : error;
}

/** @template T @param {IDBRequest<T>} request @returns {Promise<T>} */
function answer(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** @param {number} length */
function randomText(length) {
  const letters = "0123456789abcdefghijklmnopqrstuvwxyz";
  const bytes = crypto.getRandomValues(new Uint8Array(length));
  return Array.from(bytes, (byte) => letters[byte % letters.length]).join("");
}
