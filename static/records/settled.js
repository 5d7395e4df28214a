/**
 * What has come to rest: pours of which nothing more is to be told, deliveries that are used up, burn tests that are
 * closed.
 *
 * After years most are. So that a screen need not read them all, a row is kept of each: marked `open` until something
 * that follows all of them has settled it, with what the shelf needs of it (`settling.js`); whatever happens to it
 * opens it again, in the transaction in which it happens. Rows follow from records and events, and can be made anew.
 *
 * | index | finds |
 * |-------|-------|
 * | open  | those that are not settled, by kind |
 * | lots  | settled pours, by each lot that they took from |
 * | of    | settled ones by what they are of, `[what, ms before 1970]`: a lot by its material, a pour by its tools,
 * |       | a test by its recipe |
 */
import { answer, read } from "./database.js";

/** @typedef {import("./database.js").Stores} Stores */
/** @typedef {{kind: string, id: string, open?: 1, mark?: number, lots?: string[]} & Record<string, any>} Row */

const RESTING = ["pour", "lot", "burn_test"];

/** What each transaction has opened already. @type {WeakMap<IDBTransaction, Set<string>>} */
const opened = new WeakMap();

/** @param {Stores} stores @param {import("./merge.js").Stored} record */
export function putRecord(stores, record) {
  stores.records.put(record);
  open(stores.settled, record.kind, record.id);
}

/** @param {Stores} stores @param {import("./event_types.js").AnyEvent} event */
export function putEvent(stores, event) {
  stores.events.put(event);
  const [kind, id] = event.of;
  // What happened to candles opens the pour that they are of.
  open(stores.settled, kind === "batch" ? "pour" : kind, id);
}

/** What a pour took no longer counts as it did, so its lots are opened with it.
 * @param {IDBObjectStore} settled @param {string} kind @param {string} id */
function open(settled, kind, id) {
  const known = opened.get(settled.transaction) ?? new Set();
  opened.set(settled.transaction, known);
  const key = `${kind} ${id}`;
  if (known.has(key)) return;
  known.add(key);
  // What is found of it is to be read anew (found.js).
  settled.put({ kind: "find", id: key, open: 1, mark: Math.random() });
  if (!RESTING.includes(kind)) return;
  const before = settled.get([kind, id]);
  before.onsuccess = () => {
    for (const lot of before.result?.lots ?? []) open(settled, "lot", lot);
    settled.put({ kind, id, open: 1, mark: Math.random() });
  };
}

/** Those of a kind that are not settled. @param {string} kind @returns {Promise<Row[]>} */
export function unsettled(kind) {
  return read(["settled"], ({ settled }) => answer(settled.index("open").getAll([kind, 1])));
}

/** The settled ones of something, the newest first. @param {string} of @param {number} [most] @returns {Promise<Row[]>} */
export function settledOf(of, most) {
  return read(["settled"], ({ settled }) =>
    answer(settled.index("of").getAll(IDBKeyRange.bound([of], [of, []]), most)),
  );
}
