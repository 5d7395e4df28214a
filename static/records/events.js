/**
 * Reading events by their catalogue: which count, and what they say once they were set right.
 *
 * The catalogue is `benchapp/records/events.py`, of which `event_types.js` is made; this is the twin of
 * its `effective_events`.
 */
import { ready } from "../formulas/cure.js";
import { EVENT_TYPES } from "./event_types.js";
import { isStamp } from "./stamp.js";

/** @typedef {import("./event_types.js").AnyEvent} AnyEvent */
/** @typedef {"text" | "whole" | "quantity" | "choice" | "day" | "event" | "value"} FieldKind */
/**
 * @typedef {object} EventField what a field of an event may hold
 * @property {FieldKind} as
 * @property {boolean} [needed]
 * @property {number} [least] @property {number} [most]
 * @property {string} [dimension] of a quantity, in base units
 * @property {Record<string, string>} [choices] what may be chosen, and its words
 */
/**
 * @typedef {object} EventType
 * @property {string} log its line in the log, with places for its fields
 * @property {string} [log_bare] that line where such a field is not given
 * @property {string} [correctable] the field that may be corrected later
 * @property {boolean} [is_step] false: no work at the bench, so *Undo* passes it over
 * @property {boolean} [is_harmless] a knock or a word may do it
 * @property {boolean} [moves_reminders] after it the record's reminders may say something else
 * @property {Record<string, EventField>} fields
 */

/** @typedef {Record<string, Record<string, EventType>>} Catalogue types by the kind of record that they happen to */

/** Those that are known: the bench's, and what the shelf adds. @type {Catalogue} */
const CATALOGUE = { ...EVENT_TYPES };

/** Know more of them. @param {Catalogue} catalogue */
export function know(catalogue) {
  Object.assign(CATALOGUE, catalogue);
}

/** When something happened: up to the end of the year 9999. @type {EventField} */
export const MOMENT = { as: "quantity", least: 0, most: 253_402_300_799_999 };

/** The type of an event; undefined: this bench does not know it.
 * @param {string} kind of the record @param {string} type @returns {EventType | undefined} */
export function eventType(kind, type) {
  const types = own(CATALOGUE, kind);
  return types && own(types, type);
}

/** Whether it is work at the bench, so that undoing the last step takes it back.
 * @param {string} kind of the record @param {string} type */
export function isStep(kind, type) {
  return eventType(kind, type)?.is_step !== false;
}

/**
 * The events that count, as they were set right: without those that were undone, and without 'undone'
 * and 'corrected' themselves. What does not hold what its type must hold is passed over, so that a fold
 * may rely on it.
 * @template {AnyEvent} E
 * @param {string} kind of their record @param {E[]} events of one record, oldest first
 * @returns {E[]}
 */
export function effectiveEvents(kind, events) {
  const undone = undoneEvents(kind, events);
  const corrections = correctionsOf(kind, events);
  return events.flatMap((event) => {
    if (undone.has(event.id) || event.type === "undone" || event.type === "corrected") return [];
    if (!holds(MOMENT, event.at)) return [];
    const type = eventType(kind, event.type);
    if (type === undefined) return [event];
    const correction = corrections.get(event.id);
    const right = correction ? { ...event, [correction.field]: correction.value } : event;
    return fits(type, right) ? [right] : [];
  });
}

/** The ids of the events that were undone. @param {string} kind @param {AnyEvent[]} events @returns {Set<string>} */
export function undoneEvents(kind, events) {
  const type = eventType(kind, "undone");
  return new Set(events.flatMap((each) => (each.type === "undone" && type && fits(type, each) ? [each.event] : [])));
}

/** @typedef {Extract<AnyEvent, {type: "corrected"}>} Correction */

/** The correction that counts of each event that has one, by the event's id.
 * @param {string} kind @param {AnyEvent[]} events oldest first @returns {Map<string, Correction>} */
export function correctionsOf(kind, events) {
  const undone = undoneEvents(kind, events);
  const type = eventType(kind, "corrected");
  const types = new Map(events.map((each) => [each.id, eventType(kind, each.type)]));
  /** @type {Map<string, Correction>} */
  const found = new Map();
  for (const each of events) {
    if (each.type !== "corrected" || undone.has(each.id) || !type || !fits(type, each)) continue;
    const of = types.get(each.event);
    if (of && of.correctable === each.field && holds(of.fields[each.field], each.value)) found.set(each.event, each);
  }
  return found;
}

/** Whether every field holds what it must; how long a text is does not matter here.
 * @param {EventType} type @param {object} event */
export function fits(type, event) {
  const given = /** @type {Record<string, unknown>} */ (event);
  return Object.entries(type.fields).every(([name, field]) => {
    const value = own(given, name);
    return value === undefined || value === null || value === "" ? !field.needed : holds(field, value);
  });
}

/** Whether every field holds the kind of value that it must. A newer bench may allow more of them, and an
 * older one did not look at their range, so what is kept elsewhere is asked for no more.
 * @param {EventType} type @param {object} event */
export function isReadable({ fields, ...type }, event) {
  const loose = Object.entries(fields).map(([name, { as, needed = false }]) => [
    name,
    { as: as === "choice" ? "text" : as, needed },
  ]);
  return fits({ ...type, fields: Object.fromEntries(loose) }, event);
}

/** @param {EventField} field @param {unknown} value @returns {boolean} */
export function holds({ as, least = -Infinity, most = Infinity, choices = {} }, value) {
  const isNumber = typeof value === "number" && Number.isFinite(value) && least <= value && value <= most;
  const isText = typeof value === "string";
  switch (as) {
    case "text":
      return isText;
    case "whole":
      return isNumber && Number.isInteger(value);
    case "quantity":
      return isNumber;
    case "choice":
      return isText && Object.hasOwn(choices, value);
    case "day":
      return isText && isDay(value);
    case "event":
      return isText && isStamp(value);
    case "value":
      return isNumber || (isText && isDay(value));
    default:
      return false;
  }
}

/** @param {string} text */
function isDay(text) {
  try {
    return ready(text, 0) === text;
  } catch {
    return false;
  }
}

/** @template T @param {Record<string, T>} given @param {string} name @returns {T | undefined} */
function own(given, name) {
  return Object.hasOwn(given, name) ? given[name] : undefined;
}
