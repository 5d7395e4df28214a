/**
 * The database on this phone, and its transactions.
 *
 * | store   | holds                                        | by                            |
 * |---------|----------------------------------------------|-------------------------------|
 * | records | records, with every version of their fields  | kind and id                   |
 * | events  | what happened in pours                       | id; index by pour             |
 * | outbox  | what the server has not confirmed yet        | number; index by record       |
 * | device  | this phone's clock, and the server it knows  | key                           |
 */

/** @typedef {Record<string, IDBObjectStore>} Stores */

/** Nothing can be kept here. The message is a sentence for the maker. */
export class StoreError extends Error {}

const NAME = "pour-bench";
const VERSION = 2;
const FULL =
  "The phone has no room left, so nothing was saved. Free some space, then do it again: what " +
  "you typed is still here.";
const NOWHERE =
  "This window can keep nothing: it may be a private one, or storage is switched off. Open the " +
  "bench in an ordinary window, so that a pour can't be lost.";
const NEWER = "A newer version of the bench has been opened on this phone: reload this page to go on with it.";
const HELD = "Another tab holds an older version of the bench: close it, then reload.";

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
      reject(new StoreError(NOWHERE));
      return;
    }
    request.onupgradeneeded = ({ oldVersion }) => upgrade(request.result, oldVersion);
    request.onblocked = () => reject(new StoreError(HELD));
    request.onerror = () => reject(new StoreError(request.error?.name === "VersionError" ? NEWER : NOWHERE));
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

/** @param {IDBDatabase} db @param {number} from the version that was there, 0 for none */
function upgrade(db, from) {
  if (from < 1) {
    db.createObjectStore("records", { keyPath: ["kind", "id"] });
    db.createObjectStore("events", { keyPath: "id" }).createIndex("pour", ["pour", "id"]);
    db.createObjectStore("device", { keyPath: "key" });
  }
  if (from < 2) {
    const outbox = db.createObjectStore("outbox", { keyPath: "n", autoIncrement: true });
    outbox.createIndex("of", ["kind", "id"]);
    // Only rows that have the field are in these.
    outbox.createIndex("ready", "ready");
    outbox.createIndex("held", "held");
  }
}

/** Read in one transaction. @template T @param {string[]} names @param {(stores: Stores) => Promise<T>} work
 * @returns {Promise<T>} */
export async function read(names, work) {
  const db = await open();
  return work(storesOf(db.transaction(names), names));
}

/**
 * Write in one transaction that is on disk before this resolves, or leaves nothing behind. The
 * stores `device` and `outbox` are always in it: every change takes a stamp, and waits for the server.
 * @template T @param {string[]} names @param {(stores: Stores) => Promise<T>} work @returns {Promise<T>}
 */
export async function write(names, work) {
  const db = await open();
  const all = [...names, "device", "outbox"];
  const transaction = db.transaction(all, "readwrite", { durability: "strict" });
  const done = new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve(undefined);
    transaction.onabort = () => reject(transaction.error ?? new StoreError(NOWHERE));
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
  return name === "QuotaExceededError" ? new StoreError(FULL) : error;
}
