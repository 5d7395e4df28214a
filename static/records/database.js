/**
 * The database on this phone, and its transactions.
 *
 * | store   | holds                                        | by                            |
 * |---------|----------------------------------------------|-------------------------------|
 * | records | records, with every version of their fields  | kind and id                   |
 * | events  | what happened to records                     | id; index by record           |
 * | outbox  | what the server has not confirmed yet        | number; index by record       |
 * | device  | this phone's clock, and the server it knows  | key                           |
 * | settled | what has come to rest (`settled.js`)         | kind and id                   |
 */
import { WordedError } from "../words/door.js";

/** @typedef {Record<string, IDBObjectStore>} Stores */

/** Nothing can be kept here. */
export class StoreError extends WordedError {}

const NAME = "pour-bench";
const VERSION = 4;
/** @type {Promise<IDBDatabase> | undefined} */
let opening;

/** Open the database, once. @returns {Promise<IDBDatabase>} */
export function open() {
  opening ??= new Promise((resolve, reject) => {
    /** @type {IDBOpenDBRequest} */
    let request;
    try {
      request = indexedDB.open(NAME, VERSION);
    } catch {
      reject(nowhere());
      return;
    }
    request.onupgradeneeded = ({ oldVersion }) => upgrade(request, oldVersion);
    request.onblocked = () => reject(held());
    request.onerror = () => reject(request.error?.name === "VersionError" ? newer() : nowhere());
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

/** Change what an older version of the bench left, in the transaction in which it is opened.
 * @param {IDBOpenDBRequest} request @param {number} from the version that was there, 0 for none */
function upgrade({ result: db, transaction }, from) {
  if (from < 1) {
    db.createObjectStore("records", { keyPath: ["kind", "id"] });
    db.createObjectStore("events", { keyPath: "id" });
    db.createObjectStore("device", { keyPath: "key" });
  }
  if (from < 2) {
    const outbox = db.createObjectStore("outbox", { keyPath: "n", autoIncrement: true });
    outbox.createIndex("of", ["kind", "id"]);
    // Only rows that have the field are in these.
    outbox.createIndex("ready", "ready");
    outbox.createIndex("held", "held");
  }
  if (from < 3) {
    const events = /** @type {IDBTransaction} */ (transaction).objectStore("events");
    if (events.indexNames.contains("pour")) events.deleteIndex("pour");
    events.createIndex("of", ["of", "id"]);
    // What was kept when only pours had events.
    events.getAll().onsuccess = ({ target }) => {
      for (const event of /** @type {IDBRequest<object[]>} */ (target).result) events.put(currentEvent(event));
    };
  }
  if (from < 4) {
    const settled = db.createObjectStore("settled", { keyPath: ["kind", "id"] });
    settled.createIndex("open", ["kind", "open"]);
    settled.createIndex("lots", "lots", { multiEntry: true });
    settled.createIndex("of", "of", { multiEntry: true });
    // Nothing is settled yet.
    const records = /** @type {IDBTransaction} */ (transaction).objectStore("records");
    records.getAllKeys(IDBKeyRange.bound(["pour"], ["pour", []])).onsuccess = ({ target }) => {
      for (const [kind, id] of /** @type {IDBRequest<any[]>} */ (target).result) settled.put({ kind, id, open: 1 });
    };
  }
}

/** An event as it is kept now. One that was kept when only pours had events names its pour as `pour`;
 * anything else is answered as it is. @param {any} event */
export function currentEvent(event) {
  if (typeof event?.pour !== "string" || "of" in event) return event;
  const { pour, ...rest } = event;
  return { ...rest, of: ["pour", pour] };
}

/** Read in one transaction. @template T @param {string[]} names @param {(stores: Stores) => Promise<T>} work
 * @returns {Promise<T>} */
export async function read(names, work) {
  const db = await open();
  return work(storesOf(db.transaction(names), names));
}

/**
 * Write in one transaction that is on disk before this resolves, or leaves nothing behind. The
 * stores `device`, `outbox` and `settled` are always in it: every change takes a stamp, waits for the server, and opens
 * what had come to rest.
 * @template T @param {string[]} names @param {(stores: Stores) => Promise<T>} work @returns {Promise<T>}
 */
export async function write(names, work) {
  const db = await open();
  const all = [...names, "device", "outbox", "settled"];
  const transaction = db.transaction(all, "readwrite", { durability: "strict" });
  const done = new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve(undefined);
    transaction.onabort = () => reject(transaction.error ?? nowhere());
  });
  let result;
  try {
    result = await work(storesOf(transaction, all));
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
  return result;
}

/** @template T @param {IDBRequest<T>} request @returns {Promise<T>} */
export function answer(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** @param {IDBTransaction} transaction @param {string[]} names @returns {Stores} */
function storesOf(transaction, names) {
  return Object.fromEntries(names.map((name) => [name, transaction.objectStore(name)]));
}

/** @param {unknown} error */
function inWords(error) {
  const name = error instanceof DOMException ? error.name : "";
  return name === "QuotaExceededError" ? full() : error;
}

function full() {
  return new StoreError(
    "The phone has no room left, so nothing was saved. Free some space, then do it again: what you typed is still here.",
  );
}

function nowhere() {
  return new StoreError(
    "This window can't save anything: it may be a private one, or storage is switched off. Open the bench in an " +
      "ordinary window, so that a pour can't be lost.",
  );
}

function newer() {
  return new StoreError(
    "A newer version of the bench has been opened on this phone: reload this page to go on with it.",
  );
}

function held() {
  return new StoreError("Another tab holds an older version of the bench: close it, then reload.");
}
