/** Every event of a kind's streams at once: for who asks seldom, and about all of them. */
import { answer, read } from "./database.js";

/** @template {keyof import("./event_types.js").EventByKind} K @param {K} kind
 * @returns {Promise<import("./event_types.js").EventByKind[K][]>} by record, oldest first */
export function allEventsOf(kind) {
  const keys = IDBKeyRange.bound([[kind]], [[kind, []]]);
  return read(["events"], ({ events }) => answer(events.index("of").getAll(keys)));
}
