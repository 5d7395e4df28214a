/**
 * What can be found again, kept beside what it is made from: a row of each record, by kind and id, in the store of what
 * has come to rest (`settled.js`).
 *
 * Whatever happens to a record puts an empty row in the place of what was known of it, in the same transaction; so
 * nothing that was erased is found, and nothing that changed is found as it was. Rows can be made anew at any time.
 */
import { answer, open, read } from "./database.js";

/** @typedef {import("./settled.js").Row} Row */

/** The kind of these rows; as `settled.js` puts them in. */
export const FOUND = "find";

/** The kind of the one row that says how they were made. */
const MADE = "find made";

/** What a row is known by: kind and id of its record. @param {string} kind @param {string} id */
export const rowId = (kind, id) => `${kind} ${id}`;

const ALL = IDBKeyRange.bound([FOUND], [FOUND, []]);

/** Let all be read anew, unless it was made this way already. @param {string} version how it is made
 * @param {string[]} kinds of the records that are found */
export async function beginWith(version, kinds) {
  const made = await read(["settled"], ({ settled }) => answer(settled.get([MADE, MADE])));
  if (made?.version === version) return;
  const db = await open();
  const transaction = db.transaction(["records", "settled"], "readwrite");
  const [records, settled] = ["records", "settled"].map((name) => transaction.objectStore(name));
  await answer(settled.delete(ALL));
  for (const kind of kinds) {
    const keys = await answer(records.getAllKeys(IDBKeyRange.bound([kind], [kind, []])));
    for (const [, id] of /** @type {[string, string][]} */ (keys)) {
      settled.put({ kind: FOUND, id: rowId(kind, id), open: 1, mark: Math.random() });
    }
  }
  await answer(settled.put({ kind: MADE, id: MADE, version }));
}

/** All rows, those that are to be read anew too. @returns {Promise<Row[]>} */
export function rows() {
  return read(["settled"], ({ settled }) => answer(settled.getAll(ALL)));
}

/** Some of them, as far as they are there. @param {string[]} ids @returns {Promise<Row[]>} */
export async function rowsOf(ids) {
  const found = await read(["settled"], ({ settled }) =>
    Promise.all(ids.map((id) => answer(settled.get([FOUND, id])))),
  );
  return found.filter(Boolean);
}

/** Keep what was read, but of those to which something happened meanwhile.
 * @param {{row: Row, told: Record<string, any> | null}[]} read as they were to be read anew, and what is to be known of
 *   each; null: nothing */
export async function keepRows(read) {
  const db = await open();
  const settled = db.transaction(["settled"], "readwrite").objectStore("settled");
  await Promise.all(
    read.map(async ({ row: { kind, id, mark }, told }) => {
      const now = await answer(settled.get([kind, id]));
      if (now?.mark !== mark) return;
      if (told === null) settled.delete([kind, id]);
      else settled.put({ ...told, kind, id });
    }),
  );
}
