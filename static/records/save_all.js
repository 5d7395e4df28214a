/** Many records, kept in one write: all of them, or none. */
import { announce } from "./changes.js";
import { answer, write } from "./database.js";
import { takeStamp } from "./device.js";
import { withValues } from "./merge.js";
import { queue } from "./outbox.js";
import { putRecord } from "./settled.js";

/**
 * Set some fields of each record, making it if need be.
 * @param {{kind: string, id: string, values: Record<string, any>, seen?: import("./merge.js").Seen}[]} changes each of
 *   another record; `seen`: as it was shown to who sets them, without: as it stands
 * @returns {Promise<number>} how many were new or changed
 * @throws {import("./database.js").StoreError} nothing could be kept
 */
export async function saveAll(changes) {
  const told = await write(["records"], async (stores) => {
    // One stamp names one version in each record.
    const stamp = await takeStamp(stores.device);
    const told = [];
    for (const { kind, id, values, seen } of changes) {
      const before = (await answer(stores.records.get([kind, id]))) ?? { kind, id, fields: {} };
      const after = withValues(before, values, stamp, seen);
      if (after === before) continue;
      putRecord(stores, after);
      told.push({ kind, id, stamp });
    }
    await queue(stores, told);
    return told;
  });
  announce(told.map(({ kind, id }) => ({ kind, id })));
  return told.length;
}
