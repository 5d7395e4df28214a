/** Letting what has come to rest rest, for who follows all of it: see `settled.js`. */
import { answer, open, read } from "./database.js";

/** @typedef {import("./settled.js").Row} Row */

/** Settle some, but for those to which something happened since they were read.
 * @param {{row: Row, told: Record<string, any>}[]} rows as they were read, and what is to be known of each */
export async function settle(rows) {
  const db = await open();
  const transaction = db.transaction(["settled"], "readwrite");
  const settled = transaction.objectStore("settled");
  await Promise.all(
    rows.map(async ({ row: { kind, id, mark }, told }) => {
      const now = await answer(settled.get([kind, id]));
      if (now?.open && now.mark === mark) settled.put({ ...told, kind, id });
    }),
  );
}

/** Open all again: what was settled was told otherwise, or by a clock that was wrong. */
export async function openAll() {
  const db = await open();
  const settled = db.transaction(["settled"], "readwrite").objectStore("settled");
  const keys = await answer(settled.getAllKeys());
  for (const [kind, id] of /** @type {[string, string][]} */ (keys))
    settled.put({ kind, id, open: 1, mark: Math.random() });
}

/** Settled pours by the lots that they took from. @param {string[]} lots @returns {Promise<Row[]>} each once */
export async function settledFrom(lots) {
  const found = await read(["settled"], ({ settled }) =>
    Promise.all(lots.map((lot) => answer(settled.index("lots").getAll(lot)))),
  );
  return [...new Map(found.flat().map((row) => [row.id, row])).values()];
}
