/** Entries put together, so that they can be searched: in their order, and with the names of those that they tell of. Pure. */
import { localDate } from "../words/dates.js";
import { INDEXED } from "./kinds.js";

/** @typedef {import("./entries.js").Entry} Entry */
/** @typedef {Required<Pick<Entry, "name" | "title" | "line" | "noted" | "notes" | "days" | "others" | "at" | "page">>
 *   & Pick<Entry, "pour"> & {id: string, kind: string, own: string}} Found an entry with all it is compared by; `id`: of its
 *   row; `own`: its line without the names of others */

/** All that can be found. */
export class AllFound {
  /** @type {Map<string, Found>} */
  byId = new Map();
  /** in which they come where they are found equally well @type {Found[]} */
  inOrder = [];

  /** Put some in the place of what was known of them. @param {[string, Entry | null][]} entries by row; null: nothing of
   *   it is found any more */
  take(entries) {
    const renamed = new Set();
    for (const [id, told] of entries) {
      const before = this.byId.get(id);
      const now = told && whole(id, told);
      if (now) this.byId.set(id, now);
      else this.byId.delete(id);
      if (before?.title !== now?.title) renamed.add(id);
      if (now) this.#join(now);
    }
    if (renamed.size > 0) {
      for (const entry of this.byId.values()) {
        if (entry.others.some((other) => renamed.has(other))) this.#join(entry);
      }
    }
    // Nearly in order, which is soon put right.
    const touched = new Set(entries.map(([id]) => id));
    const others = this.inOrder.filter(({ id }) => !touched.has(id));
    this.inOrder = [...others, ...[...touched].flatMap((id) => this.byId.get(id) ?? [])].sort(byOrder);
  }

  /** It is found by the names of others too. @param {Found} entry */
  #join(entry) {
    // Joined at once: a text that was put together bit by bit is only made one by the first search.
    entry.line = [entry.own, ...entry.others.map((other) => this.byId.get(other)?.title ?? "")].join("");
  }
}

/** What there is little of comes first, and then the newest. @param {Found} a @param {Found} b */
function byOrder(a, b) {
  return INDEXED[a.kind].before - INDEXED[b.kind].before || b.at - a.at || (a.id < b.id ? -1 : 1);
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
