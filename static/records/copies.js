/**
 * A copy of everything in one JSON file, the same from the phone and from the server; its format is
 * told in `DEVELOPERS.md`. It is checked as the server checks what a phone sends
 * (`benchapp/records/shapes.py`): a file from elsewhere must not spoil what is kept.
 */

import { InputError } from "../words/door.js";
import { currentEvent } from "./database.js";
import { eventType, holds, isReadable, MOMENT } from "./events.js";
import { versions } from "./merge.js";
import { isStamp, readStamp } from "./stamp.js";

/** @typedef {import("./merge.js").Stored} Stored */
/** @typedef {import("./store.js").AnyEvent} AnyEvent */
/** @typedef {{made_ms: number, name: string, records: Stored[], events: AnyEvent[], attachments: any[], unreadable: number}} Copy
 * the bytes of attachments are not looked at yet */

const FORMAT = "pour-bench-copy";
/** Of the copies that are written; those of version 1 are read too. */
const VERSION = 2;
const MOST_DEPTH = 12;

/** Bytes of a copy that is read, at most. */
export const MOST_BYTES = 64_000_000;

/** The copy in parts, one after the other. @param {{records: Stored[], events: AnyEvent[]}} kept
 * @param {string} name of the workshop @param {number} made_ms @param {string[]} [attachments] JSON of their bytes
 * @returns {string[]} */
export function makeCopy({ records, events }, name, made_ms, attachments = []) {
  const text = JSON.stringify({ format: FORMAT, version: VERSION, made_ms, workshop: { name }, records, events });
  if (attachments.length === 0) return [text];
  return [text.slice(0, -1), ', "attachments": [\n', ...attachments, "\n]}"];
}

/**
 * What a copy holds. Items that can't be read are left out and counted.
 * @param {string} text @param {number} latest_ms what was changed later has a wrong clock, and can't be read
 * @returns {Copy}
 * @throws {InputError} a sentence: it is no copy, is damaged, or newer than this bench
 */
export function readCopy(text, latest_ms) {
  let copy;
  try {
    copy = JSON.parse(text);
  } catch {
    // Told below.
  }
  if (copy?.format === FORMAT && copy.version > VERSION) {
    throw new InputError("This copy was made by a newer version of the bench. Update this one first.");
  }
  const { format, version, made_ms, workshop, records, events, attachments = [] } = copy ?? {};
  const isOurs =
    format === FORMAT && [1, VERSION].includes(version) && isTime(made_ms) && typeof workshop?.name === "string";
  if (!isOurs || ![records, events, attachments].every(Array.isArray)) {
    throw new InputError("This file is not a complete copy of a bench: it is damaged, too large, or something else.");
  }
  const isTimely = (/** @type {string} */ stamp) => readStamp(stamp).ms <= latest_ms;
  const good = {
    records: records.filter(safely((each) => isRecord(each) && stampsOf(each).every(isTimely))),
    events: events.map(currentEvent).filter(safely((each) => isEvent(each) && isTimely(each.id))),
  };
  const unreadable = records.length + events.length - good.records.length - good.events.length;
  return { made_ms, name: workshop.name, ...good, attachments, unreadable };
}

/** What can't even be looked at is not what it should be. @param {(given: any) => boolean} check */
function safely(check) {
  return (/** @type {any} */ given) => {
    try {
      return check(given);
    } catch {
      return false;
    }
  };
}

/** @param {Stored} record */
function stampsOf({ fields }) {
  return Object.values(fields).flatMap((field) => versions(field).map(({ stamp }) => stamp));
}

const KIND = /^[a-z_]{1,32}$/;
const NAME = /^[a-z][a-z0-9_]{0,39}$/;
const ID = /^[A-Za-z0-9._-]{1,64}$/;

/** @param {any} given */
function isRecord(given) {
  const { kind, id, fields } = given;
  const all = Object.entries(fields);
  return (
    hasOnly(given, ["kind", "id", "fields"]) &&
    isLike(kind, KIND) &&
    isLike(id, ID) &&
    all.length > 0 &&
    all.length <= 100 &&
    all.every(([name, field]) => isLike(name, NAME) && isField(field))
  );
}

/** @param {any} field */
function isField(field) {
  const all = versions(field);
  return (
    Array.isArray(field.past ?? []) &&
    all.every((each, index) => isVersion(each) && (index === 0 || each.stamp < all[index - 1].stamp))
  );
}

/** @param {any} given */
function isVersion(given) {
  const { value, stamp, over = [] } = given;
  return (
    hasOnly(given, ["value", "stamp", "over"]) &&
    isSound(value, MOST_DEPTH) &&
    Array.isArray(over) &&
    [stamp, ...over].every((each) => typeof each === "string" && isStamp(each))
  );
}

/** @param {any} given */
function isEvent(given) {
  const { id, of, type, at } = given;
  return (
    typeof id === "string" &&
    isStamp(id) &&
    Array.isArray(of) &&
    of.length === 2 &&
    isLike(of[0], KIND) &&
    isLike(of[1], ID) &&
    isLike(type, KIND) &&
    isTime(at) &&
    isSound(given, MOST_DEPTH) &&
    isReadableAs(eventType(of[0], type), given) &&
    Object.keys(given).every((name) => isLike(name, NAME))
  );
}

/** @param {import("./events.js").EventType | undefined} type undefined: a newer bench made it @param {object} given */
const isReadableAs = (type, given) => type === undefined || isReadable(type, given);

/** Whether every number in it can be read back as it is, and nothing lies too deep.
 * @param {any} value @param {number} depth @returns {boolean} */
function isSound(value, depth) {
  if (typeof value === "number") return Math.abs(value) <= 2 ** 53;
  if (value === null || typeof value !== "object") return value !== undefined;
  return depth > 0 && Object.values(value).every((each) => isSound(each, depth - 1));
}

/** @param {object} given @param {string[]} names */
function hasOnly(given, names) {
  return Object.keys(given).every((name) => names.includes(name));
}

/** @param {any} text @param {RegExp} form */
function isLike(text, form) {
  return typeof text === "string" && form.test(text);
}

/** @param {unknown} ms */
function isTime(ms) {
  return Number.isInteger(ms) && holds(MOMENT, ms);
}
