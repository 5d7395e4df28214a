/**
 * The bytes of photos and papers on this phone: a database of their own, beside the records.
 *
 * | store | holds                                              | by   |
 * |-------|----------------------------------------------------|------|
 * | bytes | the bytes themselves                               | hash |
 * | held  | what is known of them: how many, and who has them  | hash |
 *
 * Both are written in one transaction: what is in one is in the other.
 */
import { answer, StoreError } from "../records/database.js";

/**
 * @typedef {object} Held what is known of bytes that are here
 * @property {string} sha256
 * @property {number} size in bytes
 * @property {string} type
 * @property {number} at when they came here, wall clock
 * @property {string | null} era of the server's records in which it said that it has them
 * @property {string} refused the server's sentence, where it will never take them
 */

const NAME = "pour-bench-attachments";
/** @type {Promise<IDBDatabase> | undefined} */
let opening;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("bytes", { keyPath: "sha256" });
      request.result.createObjectStore("held", { keyPath: "sha256" });
    };
    request.onblocked = request.onerror = () => reject(unusable());
    request.onsuccess = () => {
      const { result } = request;
      result.onversionchange = () => {
        result.close();
        opening = undefined;
      };
      result.onclose = () => (opening = undefined);
      resolve(result);
    };
  });
  opening.catch(() => (opening = undefined));
  return opening;
}

/** @template T @param {IDBTransactionMode} mode @param {(bytes: IDBObjectStore, held: IDBObjectStore) => Promise<T>} work
 * @returns {Promise<T>} once it is on disk @throws {StoreError} */
async function inOne(mode, work) {
  const db = await open();
  const transaction = db.transaction(["bytes", "held"], mode, { durability: "strict" });
  const done = new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve(undefined);
    transaction.onabort = () => reject(transaction.error);
  });
  try {
    const result = await work(transaction.objectStore("bytes"), transaction.objectStore("held"));
    await done;
    return result;
  } catch (error) {
    done.catch(() => undefined);
    try {
      transaction.abort();
    } catch {
      // It had been aborted by what went wrong.
    }
    throw error instanceof DOMException && error.name === "QuotaExceededError" ? full() : error;
  }
}

/** Keep bytes, unless they are here. @param {{sha256: string, data: ArrayBuffer, type: string, era?: string | null}} given
 * `era`: they come from the server @throws {StoreError} nothing of them is kept */
export function keepBytes({ sha256, data, type, era = null }) {
  return inOne("readwrite", async (bytes, held) => {
    /** @type {Held | undefined} */
    const here = await answer(held.get(sha256));
    if (here !== undefined) {
      if (era !== null) held.put({ ...here, era });
      return;
    }
    // Asked for and waited for: a phone that is full says so here.
    await answer(bytes.put({ sha256, data }));
    await answer(held.put({ sha256, size: data.byteLength, type, at: Date.now(), era, refused: "" }));
  });
}

/** The bytes; undefined: they are not here. @param {string} sha256 @returns {Promise<ArrayBuffer | undefined>} */
export function bytesHere(sha256) {
  return inOne("readonly", async (bytes) => (await answer(bytes.get(sha256)))?.data);
}

/** What is here. @returns {Promise<Held[]>} */
export function allHeld() {
  return inOne("readonly", async (_, held) => answer(held.getAll()));
}

/** What the server said of some bytes. @param {string[]} hashes @param {Partial<Pick<Held, "era" | "refused">>} told */
export function note(hashes, told) {
  return inOne("readwrite", async (_, held) => {
    for (const sha256 of hashes) {
      const here = await answer(held.get(sha256));
      if (here !== undefined) held.put({ ...here, ...told });
    }
  });
}

/** Let go of bytes. @param {string[]} hashes */
export function dropBytes(hashes) {
  return inOne("readwrite", async (bytes, held) => {
    for (const sha256 of hashes) {
      bytes.delete(sha256);
      held.delete(sha256);
    }
  });
}

function full() {
  return new StoreError(
    "The phone has no room left, so the photo or paper was not kept. Let go of some under “Photos and papers” in the " +
      "workshop, or free some space, then add it again.",
  );
}

function unusable() {
  return new StoreError(
    "This window can't keep photos: open the bench in an ordinary window, and close its other tabs.",
  );
}
