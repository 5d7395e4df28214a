/**
 * What waits for the server, and what its answers bring.
 *
 * A row of the outbox names a stamp that the server has not confirmed: of a record's fields, or of an
 * event. It is written with the change itself and goes when the server has said that it is on disk,
 * so a change made while a message is under way waits on. A row that was refused is held back until
 * its record changes, or until she says to try again.
 */

import { localDate } from "../words/dates.js";
import { announce, changesOf } from "./changes.js";
import { answer, read, write } from "./database.js";
import { clockOf, seeStamps, serverOf, timeBy } from "./device.js";
import { mergeRecords, versions } from "./merge.js";
import { putEvent, putRecord } from "./settled.js";
import { AHEAD_MS, EARLIEST, readStamp, setRight, startOf } from "./stamp.js";

/** @typedef {import("./database.js").Stores} Stores */
/** @typedef {import("./device.js").Server} Server */
/** @typedef {import("./merge.js").Stored} Stored */
/** @typedef {import("./store.js").AnyEvent} AnyEvent */
/** @typedef {{kind: string, id: string, reason: string, why: string, fields: Record<string, string[]>}} Refusal the
 * reason is for programs, as `Reason` in `benchapp/records/exchange.py`; `why` is a sentence */
/** @typedef {{n: number, kind: string, id: string, stamp: string, at: number, ready?: 1, held?: 1, refusal?: Refusal}} Row */
/** @typedef {{protocol: number, era: string | null, cursor: number, records: Stored[], events: AnyEvent[]}} Message */
/** @typedef {{message: Message, rows: number[], device: string}} Sent the rows that it answers for, and as whom */
/**
 * @typedef {object} Answer
 * @property {string} era
 * @property {number} cursor
 * @property {boolean} restart
 * @property {boolean} more
 * @property {number} now_ms the server's clock
 * @property {Refusal[]} refused
 * @property {Stored[]} records
 * @property {AnyEvent[]} events
 */

/** The protocol that this bench speaks. */
export const PROTOCOL = 2;

/** In the place of a stamp: all versions of all fields of the record. */
export const WHOLE = "*";

/** Two looks at the server's clock may differ by this. */
const NEAR_MS = 2000;
const MOST_ITEMS = 500;
const MOST_BYTES = 1_500_000;
/** So many are read together: one by one, each would wait for the last. */
const AT_ONCE = 50;

/** Let changes wait for the server, if there is one. @param {Stores} stores
 * @param {{kind: string, id: string, stamp: string}[]} changes */
export async function queue(stores, changes) {
  if (changes.length === 0 || (await serverOf(stores.device)) === undefined) return;
  const at = timeBy(await clockOf(stores.device));
  for (const change of changes) stores.outbox.add({ ...change, at, ready: 1 });
}

/**
 * The next message for the server, and the rows that it answers for; null without a server.
 * @returns {Promise<Sent | null>}
 */
export function nextMessage() {
  return read(["records", "events", "outbox", "device"], async (stores) => {
    const server = await serverOf(stores.device);
    if (server === undefined) return null;
    /** @type {Message} */
    const message = { protocol: PROTOCOL, era: server.era, cursor: server.cursor, records: [], events: [] };
    /** @type {Set<number>} */
    const rows = new Set();
    let bytes = 0;
    const fits = (/** @type {object} */ part) => {
      const size = new TextEncoder().encode(JSON.stringify(part)).length;
      // One alone is sent whatever its size: the server says so if it is too long.
      if (bytes > 0 && bytes + size > MOST_BYTES) return false;
      bytes += size;
      return true;
    };
    const { offset_ms } = await clockOf(stores.device);
    /** @type {Row[]} */
    const ready = await answer(stores.outbox.index("ready").getAll(1, MOST_ITEMS));
    // Before the server's clock was heard, nothing says when something happened.
    const sendable = ready.filter(({ kind }) => kind !== "event" || offset_ms !== undefined);
    const named = [...new Map(sendable.map((row) => [`${row.kind} ${row.id}`, row])).values()];
    let isFull = false;
    for (let from = 0; from < named.length && !isFull; from += AT_ONCE) {
      const read = await Promise.all(
        named.slice(from, from + AT_ONCE).map(async ({ kind, id }) => ({
          kind,
          kept: await answer(kind === "event" ? stores.events.get(id) : stores.records.get([kind, id])),
          // What was refused of it before goes along.
          waiting: await answer(stores.outbox.index("of").getAll([kind, id])),
        })),
      );
      for (const { kind, kept, waiting } of read) {
        const part = kept && (kind === "event" ? kept : partOf(kept, new Set(waiting.map(({ stamp }) => stamp))));
        isFull ||= Boolean(part) && !fits(part);
        if (isFull) break;
        if (part) message[kind === "event" ? "events" : "records"].push(part);
        for (const { n } of waiting) rows.add(n);
      }
    }
    return { message, rows: [...rows], device: server.device.id };
  });
}

/** A record with only the versions that carry one of the stamps.
 * @param {Stored} record @param {Set<string>} stamps @returns {Stored} */
function partOf(record, stamps) {
  if (stamps.has(WHOLE)) return record;
  /** @type {Stored["fields"]} */
  const fields = {};
  for (const [name, field] of Object.entries(record.fields)) {
    const [latest, ...past] = versions(field).filter(({ stamp }) => stamps.has(stamp));
    if (latest !== undefined) fields[name] = past.length > 0 ? { ...latest, past } : latest;
  }
  return { ...record, fields };
}

/**
 * Take the server's answer to a message: what it has confirmed waits no more, what it refused is held,
 * and what others have made is merged; all of it, and how far it was heard, or nothing.
 * An answer to a message of another era, or of before it was paired anew, is passed over.
 * @param {Sent} sent @param {Answer} heard
 * @param {number} offset_ms what the server's clock is ahead of this phone's
 * @param {import("./changes.js").Change[]} [came] what came before and is not told yet: it is told with the last answer,
 *   so that no screen reads years again and again while they come in
 * @returns {Promise<boolean>} whether it was taken
 */
export async function takeAnswer(sent, heard, offset_ms, came = []) {
  const taken = await write(["records", "events"], async (stores) => {
    const server = await serverOf(stores.device);
    if (server?.device.id !== sent.device || server.era !== sent.message.era) return null;
    const clock = await clockOf(stores.device);
    const off_ms = clock.offset_ms ?? Infinity;
    // What the network makes of it moves no countdown.
    if (Math.abs(offset_ms - off_ms) > NEAR_MS) stores.device.put({ ...clock, offset_ms });
    const set = off_ms === Infinity ? await setTimesRight(stores, offset_ms, clock.name) : [];
    if (heard.restart) {
      stores.device.put({ ...server, era: heard.era, cursor: 0 });
      await queueAll(stores);
      return set;
    }
    await settleRows(stores, sent.rows, heard.refused);
    await mergeIn(stores, heard.records, heard.events);
    stores.device.put({
      ...server,
      era: heard.era,
      cursor: Math.max(server.cursor, heard.cursor),
      heard_at: Date.now() + offset_ms,
      out: false,
    });
    return set;
  });
  if (taken) {
    came.push(...changesOf(heard.records, [...heard.events, ...taken], "server"));
    if (!heard.more) announce(came.splice(0));
    if (heard.refused.some(({ reason }) => reason === "ahead")) await setClockRight(heard.now_ms, offset_ms);
  }
  return taken !== null;
}

/** The server's clock is heard for the first time: what this phone has kept by its own happened by so much later, or
 * earlier. Nothing of it is known elsewhere yet.
 * @param {Stores} stores @param {number} offset_ms @param {string} name of this device in its stamps
 * @returns {Promise<AnyEvent[]>} as they are now */
async function setTimesRight(stores, offset_ms, name) {
  /** @type {Row[]} */
  const rows = await answer(stores.outbox.getAll());
  const set = [];
  for (const { kind, id } of rows) {
    if (kind !== "event" || readStamp(id).device !== name) continue;
    /** @type {AnyEvent | undefined} */
    const event = await answer(stores.events.get(id));
    if (event === undefined || event.offset_ms !== undefined) continue;
    const at = Math.max(0, event.at + offset_ms);
    const isDay = event.type === "set" && event.on === localDate(event.at);
    const right = { ...event, at, offset_ms, ...(isDay && { on: localDate(at) }) };
    putEvent(stores, right);
    set.push(right);
  }
  return set;
}

/** @param {Stores} stores @param {number[]} rows @param {Refusal[]} refused */
async function settleRows(stores, rows, refused) {
  const why = new Map(refused.map((refusal) => [`${refusal.kind} ${refusal.id}`, refusal]));
  for (const n of rows) {
    if (why.size === 0) {
      stores.outbox.delete(n);
      continue;
    }
    /** @type {Row | undefined} gone if another tab has heard the same */
    const row = await answer(stores.outbox.get(n));
    if (row === undefined) continue;
    const refusal = why.get(`${row.kind} ${row.id}`);
    if (refusal === undefined) {
      stores.outbox.delete(n);
    } else {
      const { ready, ...rest } = row;
      stores.outbox.put({ ...rest, held: 1, refusal });
    }
  }
}

/** @param {Stores} stores @param {Stored[]} records @param {AnyEvent[]} events */
async function mergeIn(stores, records, events) {
  const here = await Promise.all(records.map(({ kind, id }) => answer(stores.records.get([kind, id]))));
  records.forEach((record, index) => {
    // The server's word stands where one stamp should name two values.
    putRecord(stores, here[index] ? mergeRecords(record, here[index]) : record);
  });
  for (const event of events) putEvent(stores, event);
  let latest = EARLIEST;
  for (const { fields } of records) for (const { stamp } of Object.values(fields)) if (stamp > latest) latest = stamp;
  for (const { id } of events) if (id > latest) latest = id;
  await seeStamps(stores.device, [latest]);
}

/**
 * Let everything that is kept here wait for the server. Pours come last: of one that is heard of before what happened to
 * it, others would think that it is on the bench.
 * @param {Stores} stores
 */
export async function queueAll(stores) {
  stores.outbox.clear();
  const records = /** @type {[kind: string, id: string][]} */ (await answer(stores.records.getAllKeys()));
  const events = await answer(stores.events.getAllKeys());
  const rows = records.map(([kind, id]) => ({ kind, id, stamp: WHOLE }));
  await queue(stores, [
    ...rows.filter(({ kind }) => kind !== "pour"),
    ...events.map((id) => ({ kind: "event", id: String(id), stamp: String(id) })),
    ...rows.filter(({ kind }) => kind === "pour"),
  ]);
}

/**
 * This phone's clock ran ahead: what waits for the server is stamped anew, in the same order, by the
 * server's clock. Nothing of it has been taken yet, so no one else knows the old stamps.
 * @param {number} now_ms the server's time when it refused @param {number} offset_ms
 */
async function setClockRight(now_ms, offset_ms) {
  const changed = await write(["records", "events"], async (stores) => {
    /** @type {Row[]} */
    const rows = await answer(stores.outbox.getAll());
    const records = /** @type {Stored[]} */ (
      await keptOf(rows, (row) => row.kind !== "event" && stores.records.get([row.kind, row.id]))
    );
    const events = /** @type {AnyEvent[]} */ (
      await keptOf(rows, (row) => row.kind === "event" && stores.events.get(row.id))
    );
    const stamps = [
      ...records.flatMap(({ fields }) =>
        Object.values(fields).flatMap((field) => versions(field).map(({ stamp }) => stamp)),
      ),
      ...events.map(({ id }) => id),
    ];
    const refused = startOf(Math.floor(now_ms + AHEAD_MS) + 1);
    const isWrong = (/** @type {string} */ stamp) => stamp >= refused;
    // Also after the steps that have been taken already: one set right must not fall on one of them.
    const taken = await answer(stores.events.openKeyCursor(IDBKeyRange.upperBound(refused, true), "prev"));
    const known = [...stamps.filter((stamp) => !isWrong(stamp)), String(taken?.key ?? EARLIEST)];
    const before = known.reduce((a, b) => (a > b ? a : b), EARLIEST);
    const clock = await clockOf(stores.device);
    const right = setRight(stamps.filter(isWrong), before, offset_ms, now_ms, clock.name);
    const now = (/** @type {string} */ stamp) => right.get(stamp) ?? stamp;
    for (const record of records) putRecord(stores, restamped(record, now));
    for (const event of events) {
      stores.events.delete(event.id);
      putEvent(stores, { ...event, id: now(event.id), ...namesIn(event, now) });
    }
    for (const { held, refusal, ...row } of rows) {
      stores.outbox.put({ ...row, id: row.kind === "event" ? now(row.id) : row.id, stamp: now(row.stamp), ready: 1 });
    }
    const last = [...right.values()].at(-1) ?? before;
    stores.device.put({ ...clock, last, offset_ms });
    return { records, events };
  });
  announce(changesOf(changed.records, changed.events, "server"));
}

/** Events that this one names, by their new stamps. @param {AnyEvent} event @param {(stamp: string) => string} now */
function namesIn(event, now) {
  return {
    ...("event" in event && { event: now(event.event) }),
    ...("over" in event && event.over && { over: now(event.over) }),
  };
}

/** What rows name, each once. @param {Row[]} rows @param {(row: Row) => IDBRequest<any> | false} ask */
async function keptOf(rows, ask) {
  const found = new Map();
  for (const row of rows) {
    const request = found.has(`${row.kind} ${row.id}`) ? false : ask(row);
    const kept = request && (await answer(request));
    if (kept) found.set(`${row.kind} ${row.id}`, kept);
  }
  return [...found.values()];
}

/** @param {Stored} record @param {(stamp: string) => string} now @returns {Stored} */
function restamped(record, now) {
  const fields = Object.entries(record.fields).map(([name, field]) => {
    const [latest, ...past] = versions(field).map(({ value, stamp, over }) => ({
      value,
      stamp: now(stamp),
      ...(over && { over: over.map(now) }),
    }));
    return [name, past.length > 0 ? { ...latest, past } : latest];
  });
  return { ...record, fields: Object.fromEntries(fields) };
}

/** What waits: how many changes, the oldest, and what was refused with its reason.
 * @returns {Promise<{count: number, since: number | null, refused: Refusal[]}>} */
export function waiting() {
  return read(["outbox"], async ({ outbox }) => {
    const [count, first, held] = await Promise.all([
      answer(outbox.count()),
      answer(outbox.openCursor()),
      answer(outbox.index("held").getAll()),
    ]);
    /** @type {Map<string, Refusal>} */
    const refused = new Map(held.map((row) => [`${row.kind} ${row.id}`, row.refusal]));
    return { count, since: first?.value.at ?? null, refused: [...refused.values()] };
  });
}

/** Send once more what was refused: the server may be a newer one now. @returns {Promise<number>} how many */
export function tryRefused() {
  return write([], async ({ outbox }) => {
    /** @type {Row[]} */
    const held = await answer(outbox.index("held").getAll());
    for (const { held: _, refusal, ...row } of held) outbox.put({ ...row, ready: 1 });
    return held.length;
  });
}
