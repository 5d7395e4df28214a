/**
 * An event in words, for the log: its line, and what was read.
 *
 * The lines stand in the catalogue of events (`benchapp/records/events.py`), with places for the fields of
 * the event. Only what an event does not hold itself, such as the name of the wax that was weighed, is
 * found here, in the record that it happened to.
 */
import { eventType, holds } from "../records/events.js";
import { dayText } from "../words/dates.js";
import { t } from "../words/door.js";

/** @typedef {import("../records/event_types.js").AnyEvent} AnyEvent */
/** @typedef {import("../records/events.js").EventField} EventField */
/** @typedef {import("./display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {{sheet?: import("./sheet.js").Sheet} & Record<string, unknown>} RecordOf the record that it happened to */

/** Her units read a weight to this where nothing says which scale was used, in base units. */
const USUAL_STEP = 0.1;

/** What happened, in a line: such as 'Weighed Dune, jug 2'. @param {AnyEvent} event @param {RecordOf} record */
export function eventWords(event, record) {
  const type = eventType(event.of[0], event.type);
  if (type === undefined) return t("A newer version of the bench did this ({type})", { type: event.type });
  const given = fieldsOf(event);
  /** @type {Record<string, string>} */
  const values = {};
  for (const [name, field] of Object.entries(type.fields)) {
    const value = given[name];
    if (isGiven(value) && holds(field, value)) values[name] = wordOf(event, name, field, value, record);
  }
  const isWhole = (type.log.match(/\{\w+\}/g) ?? []).every((place) => place.slice(1, -1) in values);
  const words = isWhole || !type.log_bare ? t(type.log, blanksIn(type.log, values)) : t(type.log_bare, values);
  const jugs = record.sheet?.jugs.length ?? 0;
  return jugs > 1 && "jug" in values ? t("{what}, jug {jug}", { what: words, jug: Number(values.jug) + 1 }) : words;
}

/** The field of an event that can be corrected, if it has one. @param {AnyEvent} event */
export function correctableField({ of, type }) {
  return eventType(of[0], type)?.correctable ?? null;
}

/** A value of an event's field, in her units; "" where it is none.
 * @param {AnyEvent} event @param {string} name of the field @param {unknown} value @param {RecordOf} record
 * @param {DisplayUnits} units */
export function valueText(event, name, value, record, units) {
  const field = eventType(event.of[0], event.type)?.fields[name];
  if (field === undefined || !isGiven(value) || !holds(field, value)) return "";
  const { dimension } = field;
  if (dimension === "mass" || dimension === "temperature") {
    return units.text(Number(value), dimension, readStep(event, dimension, record));
  }
  return wordOf(event, name, field, value, record);
}

/** What the instrument reads to with which a value was read.
 * @param {AnyEvent} event @param {"mass" | "temperature"} dimension @param {RecordOf} record */
export function readStep(event, dimension, { sheet }) {
  if (!sheet) return USUAL_STEP;
  if (dimension === "temperature") return sheet.thermometer_step_c;
  const part = "part" in event ? event.part : "wax";
  return part === "additive" || part === "fragrance" ? sheet.fine_step_g : sheet.step_g;
}

/** @param {AnyEvent} event @param {string} name @param {EventField} field @param {unknown} value @param {RecordOf} record */
function wordOf(event, name, field, value, record) {
  if (name === "part") return partName(event, record) ?? choiceName(field, value);
  if (field.as === "choice") return choiceName(field, value);
  return field.as === "day" ? dayText(String(value)) : String(value);
}

/** @param {EventField} field @param {unknown} value */
function choiceName({ choices }, value) {
  const name = choices?.[String(value)];
  return name === undefined ? "" : t(name);
}

/** The name of what was weighed, from the pour sheet. @param {AnyEvent} event @param {RecordOf} record */
function partName(event, { sheet }) {
  if (!sheet || !("part" in event)) return undefined;
  const lists = { wax: sheet.waxes, additive: sheet.extras, fragrance: sheet.oils, restore: [] };
  return lists[event.part]?.[event.index]?.name;
}

/** @param {AnyEvent} event @returns {Record<string, unknown>} */
const fieldsOf = (event) => event;

/** @param {unknown} value */
const isGiven = (value) => value !== undefined && value !== null && value !== "";

/** Places without a value say nothing. @param {string} template @param {Record<string, string>} values */
function blanksIn(template, values) {
  const places = (template.match(/\{\w+\}/g) ?? []).map((place) => [place.slice(1, -1), ""]);
  return { ...Object.fromEntries(places), ...values };
}
