/** All that is kept of a buyer: what they got, gave back, were told and complained of. */
import { poursOf } from "../bench/pours.js";
import { effectiveEvents } from "../records/events.js";
import * as store from "../records/store.js";
import { allEventsOf } from "../records/streams.js";
import { codeOf } from "./batches.js";
import { grouped } from "./lists.js";

/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("../records/event_types.js").BatchEvent} BatchEvent */
/** @typedef {import("../records/event_types.js").RecallEvent} RecallEvent */
/** @typedef {{event: BatchEvent, title: string, code: string | null}} Got candles that went to them or came from them */
/**
 * @typedef {object} OfBuyer
 * @property {Plain} record
 * @property {Got[]} got the latest first
 * @property {RecallEvent[]} told
 * @property {Plain[]} complaints
 */

/** The kinds of record that it depends on. */
export const KINDS_OF_BUYER = ["buyer", "batch", "pour", "recall", "complaint"];

/** @param {string} id @returns {Promise<OfBuyer | null>} null: there is none, or no longer */
export async function readBuyer(id) {
  const [record, candles, recalls, complaints] = await Promise.all([
    store.get("buyer", id),
    allEventsOf("batch"),
    allEventsOf("recall"),
    store.living("complaint"),
  ]);
  if (record === undefined || record.erased) return null;
  const byPour = grouped(candles, ({ of }) => of[1]);
  const counted = [...byPour.values()].flatMap((events) =>
    events.some((event) => isOf(event, id)) ? effectiveEvents("batch", events).filter((event) => isOf(event, id)) : [],
  );
  const pours = new Map((await poursOf([...new Set(counted.map(({ of }) => of[1]))])).map((pour) => [pour.id, pour]));
  const got = counted.map((event) => {
    const pour = pours.get(event.of[1]);
    return { event, title: pour?.sheet.title ?? "", code: pour ? codeOf(pour) : null };
  });
  return {
    record,
    got: got.sort((a, b) => b.event.at - a.event.at),
    told: effectiveEvents("recall", recalls).filter((event) => isOf(event, id)),
    complaints: complaints.filter(({ buyer }) => buyer === id),
  };
}

/** @param {BatchEvent | RecallEvent} event @param {string} id */
const isOf = (event, id) => "buyer" in event && event.buyer === id;

/**
 * Forget a buyer on this phone, and on every other with the next exchange: name, addresses and notes are gone for good.
 * What they bought stays, as bought by somebody.
 * @param {string} id
 */
export function erase(id) {
  return store.save("buyer", id, { erased: true, deleted: true });
}

/** What is kept of them, for them to read. @param {OfBuyer} found */
export function exported({ record, got, told, complaints }) {
  const { kind: _, id: _id, deleted: _deleted, ...about } = record;
  const dated = (/** @type {{at: number}} */ { at }) => new Date(at).toISOString();
  return {
    about,
    candles: got.map(({ event, title, code }) => {
      const { id: _of, of: _record, by: _by, offset_ms: _offset, at: _at, ...said } = event;
      return { ...said, at: dated(event), candle: title, batch_code: code };
    }),
    told_of_recalls: told.map((event) => ({
      at: dated(event),
      ...("how" in event && event.how && { how: event.how }),
    })),
    complaints: complaints.map(({ kind: _kind, ...complaint }) => complaint),
  };
}
