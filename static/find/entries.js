/** What is known of a record so that it is found, and can be shown without reading it: its entry. Pure. */
import { BURNS_EVENT_TYPES } from "../records/burns_event_types.js";
import { effectiveEvents, eventType, know } from "../records/events.js";
import { plainOf, versions } from "../records/merge.js";
import { PRODUCTS_EVENT_TYPES } from "../records/products_event_types.js";
import { readStamp } from "../records/stamp.js";
import { lineOf } from "./folding.js";
import { INDEXED } from "./kinds.js";
import { pourTold } from "./pour_told.js";

// Those of the shelf are known by who reads candles.
know({ ...BURNS_EVENT_TYPES, ...PRODUCTS_EVENT_TYPES });

/** @typedef {import("../records/merge.js").Stored} Stored */
/** @typedef {import("../records/event_types.js").AnyEvent} AnyEvent */
/**
 * @typedef {object} Entry
 * @property {string} [name] as it is shown; without it nothing is found
 * @property {string} [title] the same, folded
 * @property {string} [line] what else tells it, folded
 * @property {string[]} [notes] as they were written
 * @property {string} [noted] the same, folded
 * @property {string[]} [others] rows of other records by whose names it is found too
 * @property {string[]} [days] ISO 8601
 * @property {number} [at] when it was made, came or was last changed, ms
 * @property {string} [page] its address
 * @property {import("./pour_told.js").PourTold} [pour] of a pour
 * @property {[string, number][]} [of] by what it is found among the rows
 */

/** Made this way; another number, and all are made anew. */
export const VERSION = "3";

/** By what the newest pours are found, by what the deleted ones, and those that can't be read. */
export const POURS = "find pours";
export const GONE = "find gone";
export const UNREAD = "find unread";

/** Fields of events that hold words of hers. */
const WRITTEN = ["text", "why", "where", "whom", "to"];

/**
 * @param {Stored} stored the record @param {Record<string, AnyEvent[]>} events of its streams, oldest first
 * @returns {Entry | null} null: nothing of it is found
 */
export function entryOf(stored, events) {
  const { kind, id } = stored;
  const how = Object.hasOwn(INDEXED, kind) ? INDEXED[kind] : undefined;
  if (how === undefined) return null;
  const record = plainOf(stored);
  if (record.deleted) return kind === "pour" ? { of: [[GONE, 0]] } : null;
  const told = kind === "pour" ? pourTold(record, events) : undefined;
  if (told === null) return { of: [[UNREAD, 0]] };
  const name = text(told?.title) || text(record.name);
  if (name === "") return null;
  const written = Object.entries(events).flatMap(([of, each]) => writtenIn(of, each));
  const notes = [...new Set([text(record.notes), ...written])].filter(Boolean);
  const own = [name, ...(how.words ?? []).map((field) => record[field]), ...(how.parts?.(record) ?? [])];
  const others = (how.others?.(record) ?? []).flatMap(keyText);
  const days = (how.days ?? []).map((field) => text(record[field])).filter(Boolean);
  const at = momentOf(stored, record, how);
  return {
    name,
    title: lineOf(name),
    line: lineOf(...own.map(text), ...(told?.texts ?? [])),
    at,
    page: how.page(id, record),
    ...(notes.length > 0 && { notes, noted: lineOf(...notes) }),
    ...((others.length > 0 || told) && { others: [...new Set([...others, ...(told?.others ?? [])])] }),
    ...(days.length > 0 && { days }),
    ...(told && { pour: told.pour, of: [[POURS, -at]] }),
  };
}

/** @param {unknown} value @returns {string} */
const text = (value) => (typeof value === "string" ? value : "");

/** The row of another record. @param {unknown} key kind and id */
function keyText(key) {
  return Array.isArray(key) && text(key[0]) && text(key[1]) ? [key.join(" ")] : [];
}

/** @param {Stored} stored @param {import("../records/store.js").Plain} record @param {import("./kinds.js").Indexed} how */
function momentOf(stored, record, how) {
  const made = how.moment && record[how.moment];
  if (typeof made === "number" && Number.isFinite(made)) return made;
  const day = Date.parse(`${text(record[how.days?.[0] ?? ""])}T12:00:00`);
  if (!Number.isNaN(day)) return day;
  return Math.max(
    ...Object.values(stored.fields).flatMap((field) => versions(field).map(({ stamp }) => readStamp(stamp).ms)),
  );
}

/** What she wrote of what happened, as far as it counts, the newest first. @param {string} kind @param {AnyEvent[]} events */
function writtenIn(kind, events) {
  const counted = effectiveEvents(kind, events);
  return counted.reverse().flatMap((event) => {
    const fields = eventType(kind, event.type)?.fields ?? {};
    const given = /** @type {Record<string, unknown>} */ (/** @type {unknown} */ (event));
    return WRITTEN.flatMap((name) => (fields[name]?.as === "text" ? text(given[name]) || [] : []));
  });
}
