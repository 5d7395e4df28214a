/**
 * Records merge field by field: the later stamp wins, a delete is the field `deleted`.
 * The merge is commutative, associative and idempotent.
 */

/** @typedef {{value: any, stamp: string}} Kept */
/** @typedef {{kind: string, id: string, fields: Record<string, Kept>}} Stored */

/**
 * Both sides' knowledge of one record.
 * @param {Stored} one @param {Stored} other the same record @returns {Stored}
 */
export function mergeRecords(one, other) {
  /** @type {Record<string, Kept>} */
  const fields = { ...one.fields };
  for (const [name, kept] of Object.entries(other.fields)) {
    if (!Object.hasOwn(fields, name) || isLater(kept, fields[name])) fields[name] = kept;
  }
  return { kind: one.kind, id: one.id, fields };
}

/**
 * Stamps are unique, so equal stamps carry equal values; should a faulty device break that, the
 * larger text wins on every side alike.
 * @param {Kept} one @param {Kept} other
 */
function isLater(one, other) {
  if (one.stamp !== other.stamp) return one.stamp > other.stamp;
  return JSON.stringify(one.value) > JSON.stringify(other.value);
}

/**
 * The record with `values` set by one stamp; values that do not change keep their stamp.
 * @param {Stored} record @param {Record<string, any>} values @param {string} stamp @returns {Stored}
 */
export function withValues(record, values, stamp) {
  const fields = { ...record.fields };
  for (const [name, value] of Object.entries(values)) {
    const before = fields[name];
    if (before !== undefined && JSON.stringify(before.value) === JSON.stringify(value)) continue;
    fields[name] = { value, stamp };
  }
  return { ...record, fields };
}

/** @typedef {{kind: string, id: string, [field: string]: any}} Plain */

/** The record as its values alone. @param {Stored} record @returns {Plain} */
export function plainRecord(record) {
  /** @type {Plain} */
  const values = { kind: record.kind, id: record.id };
  for (const [name, { value }] of Object.entries(record.fields)) values[name] = value;
  return values;
}
