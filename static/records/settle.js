/** What two devices wrote apart, settled: what she chooses stands. */
import { replaced, replacedBy, unreplaced } from "./merge.js";
import { change } from "./store.js";

/** @import { Stored } from "./merge.js" */

/** Let `value` stand in a field, over all that was written apart.
 * @param {string} kind @param {string} id @param {string} field @param {any} value */
export function settle(kind, id, field, value) {
  return change(kind, id, (record, stamp) => settled(record, field, value, stamp));
}

/**
 * The record with a field's clashes settled: `value` stands over all that was written apart.
 * @param {Stored} record @param {string} name @param {any} value @param {string} stamp @returns {Stored}
 */
export function settled(record, name, value, stamp) {
  const before = record.fields[name];
  const apart = unreplaced(before).map((each) => each.stamp);
  const over = [...new Set([before.stamp, ...replacedBy(record.fields, name, value), ...apart])];
  return { ...record, fields: { ...record.fields, [name]: replaced(before, value, stamp, over) } };
}
