/**
 * What is kept on this phone: records, and the events that happened to them.
 *
 * A write is on disk before its promise resolves, and the screen says nothing before that. Every
 * write takes its stamp inside its own transaction, so two tabs can't make the same one, and waits
 * there for the server, so no change can be forgotten.
 */
import { announce, changesOf } from "./changes.js";
import { answer, read, write } from "./database.js";
import { clockOf, randomText, seeStamps, serverOf, takeStamp, timeBy } from "./device.js";
import { mergeRecords, plainOf, versions, withValues } from "./merge.js";
import { queue, WHOLE } from "./outbox.js";
import { putEvent, putRecord } from "./settled.js";

export { onChange, oneAtATime } from "./changes.js";
export { StoreError } from "./database.js";
export { settledOf, unsettled } from "./settled.js";

/** @typedef {import("./merge.js").Plain} Plain */
/** @typedef {import("./merge.js").Stored} Stored */
/** @typedef {import("./merge.js").Version} Version */
/** @typedef {import("./event_types.js").AnyEvent} AnyEvent */
/** @typedef {import("./event_types.js").NewEvent} NewEvent */

/** The record's stream has moved on elsewhere, and what was on this screen was old. */
export class MovedOn extends Error {}

/** All living records of a kind, by name. @param {string} kind @returns {Promise<Plain[]>} */
export async function all(kind) {
  return (await living(kind)).sort(byName);
}

/** The same in no order: to compare the first two names costs as much as to read some dozen records.
 * @param {string} kind @returns {Promise<Plain[]>} */
export async function living(kind) {
  return (await apart(kind)).living;
}

/** Those of them that live, in no order. @param {string} kind @param {string[]} ids @returns {Promise<Plain[]>} */
export async function livingOf(kind, ids) {
  const found = await stored(ids.map((id) => [kind, id]));
  return found.map(plainOf).filter(({ deleted }) => !deleted);
}

/** The records of a kind that were deleted, by name. @param {string} kind @returns {Promise<Plain[]>} */
export async function deleted(kind) {
  return (await apart(kind)).gone.sort(byName);
}

/** Those that live and those that were deleted, but for what was erased, from one reading, in no order. @param {string} kind */
export async function apart(kind) {
  const all = (await stored([ofKind(kind)])).map(plainOf);
  return {
    living: all.filter(({ deleted }) => !deleted),
    gone: all.filter(({ deleted, erased }) => deleted && !erased),
  };
}

/** Records with every version of their fields, deleted ones too.
 * @param {(IDBKeyRange | [kind: string, id: string])[]} which `ofKind`, or single ones, as far as they are there
 * @returns {Promise<Stored[]>} */
export async function stored(which) {
  const found = await read(["records"], ({ records }) =>
    Promise.all(which.map((each) => answer(records.getAll(each)))),
  );
  return found.flat();
}

/** Whether there ever was one of a kind. @param {string} kind @returns {Promise<boolean>} */
export async function hasAny(kind) {
  return (await read(["records"], ({ records }) => answer(records.getKey(ofKind(kind))))) !== undefined;
}

/** @param {string} kind */
export function ofKind(kind) {
  return IDBKeyRange.bound([kind], [kind, []]);
}

/** @param {Plain} a @param {Plain} b */
function byName(a, b) {
  return String(a.name ?? "").localeCompare(String(b.name ?? "")) || (a.id < b.id ? -1 : 1);
}

/** One record, deleted ones too; undefined if it was never there.
 * @param {string} kind @param {string} id @returns {Promise<Plain | undefined>} */
export async function get(kind, id) {
  const found = await getStored(kind, id);
  return found && plainOf(found);
}

/** One record with every version of its fields.
 * @param {string} kind @param {string} id @returns {Promise<Stored | undefined>} */
export function getStored(kind, id) {
  return read(["records"], ({ records }) => answer(records.get([kind, id])));
}

/** Set some fields of a record, making it if need be.
 * @param {string} kind @param {string} id @param {Record<string, any>} values
 * @param {{seen?: import("./merge.js").Seen}} [shown] the record as it was shown to who sets them; without: as it stands */
export function save(kind, id, values, { seen } = {}) {
  return change(kind, id, (record, stamp) => withValues(record, values, stamp, seen));
}

/** @param {string} kind @param {string} id @param {{deleted_why?: string}} [why] */
export function remove(kind, id, why) {
  return save(kind, id, { deleted: true, ...why });
}

/** Keep what `make` makes of a record, and let it wait for the server; nothing where that is the record itself.
 * @param {string} kind @param {string} id @param {(record: Stored, stamp: string) => Stored} make */
export async function change(kind, id, make) {
  await write(["records"], async (stores) => {
    const before = (await answer(stores.records.get([kind, id]))) ?? { kind, id, fields: {} };
    const stamp = await takeStamp(stores.device);
    const after = make(before, stamp);
    if (after === before) return;
    putRecord(stores, after);
    await queue(stores, [{ kind, id, stamp }]);
  });
  announce([{ kind, id }]);
}

/** Put records that carry their own stamps beside what is here; nothing that is here is lost, and
 * what she changes from then on is later than all of them. Answers how many were new or changed.
 * @param {Stored[]} records @param {AnyEvent[]} events @returns {Promise<number>} */
export async function bringIn(records, events) {
  const changed = await write(["records", "events"], async (stores) => {
    const told = [];
    for (const record of records) {
      const before = await answer(stores.records.get([record.kind, record.id]));
      const after = before ? mergeRecords(before, record) : record;
      if (before && Object.entries(after.fields).every(([name, field]) => before.fields[name] === field)) continue;
      putRecord(stores, after);
      told.push({ kind: record.kind, id: record.id, stamp: WHOLE });
    }
    for (const event of events) {
      // What is kept of an event stands.
      if (await answer(stores.events.getKey(event.id))) continue;
      putEvent(stores, event);
      told.push({ kind: "event", id: event.id, stamp: event.id });
    }
    await seeStamps(stores.device, [
      ...records.flatMap(({ fields }) =>
        Object.values(fields).flatMap((field) => versions(field).map(({ stamp }) => stamp)),
      ),
      ...events.map(({ id }) => id),
    ]);
    await queue(stores, told);
    return told.length;
  });
  announce(changesOf(records, events));
  return changed;
}

/** How many records there are, of any kind. @returns {Promise<number>} */
export function count() {
  return read(["records"], ({ records }) => answer(records.count()));
}

/** Everything that is kept, as it is kept. @returns {Promise<{records: Stored[], events: AnyEvent[]}>} */
export function everything() {
  return read(["records", "events"], async (stores) => {
    const [records, events] = await Promise.all([answer(stores.records.getAll()), answer(stores.events.getAll())]);
    return { records, events };
  });
}

/** What happened to a record, oldest first.
 * @template {keyof import("./event_types.js").EventByKind} K
 * @param {K} kind @param {string} id @returns {Promise<import("./event_types.js").EventByKind[K][]>} */
export function events(kind, id) {
  return read(["events"], (stores) => answer(stores.events.index("of").getAll(streamOf(kind, id))));
}

/**
 * Add one event to a record's stream. Events are never changed and never removed.
 * @param {string} kind @param {string} id of the record
 * @param {NewEvent & {at?: number}} event at: when it happened, by the clock of the bench; without, now
 * @param {string | null} [after] id of the last event that the screen showed: if the stream has
 *   moved on since (in another tab, or on another phone), nothing is written
 * @returns {Promise<AnyEvent>} the event as kept
 * @throws {MovedOn} the stream has moved on
 * @throws {import("./database.js").StoreError} nothing could be kept
 */
export async function append(kind, id, event, after) {
  return (await appendAll(kind, id, [event], after))[0];
}

/** Add some events, or none of them: see `append`. They come in the order given.
 * @param {string} kind @param {string} id of the record @param {(NewEvent & {at?: number})[]} events
 * @param {string | null} [after] @returns {Promise<AnyEvent[]>} as kept
 * @throws {MovedOn} @throws {import("./database.js").StoreError} */
export async function appendAll(kind, id, events, after) {
  const kept = await write(["events"], async (stores) => {
    if (after !== undefined) {
      const last = await answer(stores.events.index("of").openKeyCursor(streamOf(kind, id), "prev"));
      if ((last?.primaryKey ?? null) !== after) throw new MovedOn();
    }
    const clock = await clockOf(stores.device);
    const server = await serverOf(stores.device);
    const { offset_ms } = clock;
    const common = {
      of: /** @type {[string, string]} */ ([kind, id]),
      ...(offset_ms !== undefined && { offset_ms }),
      ...(server && { by: server.device.name }),
    };
    /** @type {AnyEvent[]} */
    const whole = [];
    for (const event of events) {
      whole.push({ at: timeBy(clock), ...event, ...common, id: await takeStamp(stores.device) });
    }
    for (const each of whole) putEvent(stores, each);
    await queue(
      stores,
      whole.map(({ id }) => ({ kind: "event", id, stamp: id })),
    );
    return whole;
  });
  announce([{ kind, id, event: true }]);
  return kept;
}

/** The keys of a record's events, in the index. @param {string} kind @param {string} id */
function streamOf(kind, id) {
  return IDBKeyRange.bound([[kind, id]], [[kind, id], []]);
}

/** The time by the server's clock, as far as it was heard; else by this phone's. @returns {Promise<number>} */
export function timeNow() {
  return read(["device"], async ({ device }) => timeBy(await clockOf(device)));
}

/** This device, as its stamps have it; of one that keeps nothing yet, any. @returns {Promise<string>} */
export function deviceName() {
  return read(["device"], async ({ device }) => (await clockOf(device)).name);
}

/** A new id that no other device makes. */
export function newId() {
  return randomText(16);
}
