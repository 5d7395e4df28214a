/**
 * Records merge field by field, and a field is a set of versions that only grows.
 *
 * A version is named by its stamp and never changes; `over` names the versions that its writer saw
 * and replaced. The latest stamp stands, the others lie behind it in `past`, newest first. A merge is
 * the union of both sides' versions, so it is commutative, associative and idempotent. A version that
 * nobody has replaced, and that does not stand, was written apart: a clash, kept until she settles
 * it (`settle.js`).
 *
 * A delete is the field `deleted`, and replaces what its writer saw of all fields. Of a delete and a
 * change of any other field the later one stands; written apart, they clash as well.
 *
 * Where a version of the field `erased` is true, a person asked to be forgotten: of such a record nothing is kept but
 * that it was erased and deleted, whatever it is merged with.
 *
 * Its twin is `benchapp/records/merge.py`.
 */

/** @typedef {{value: any, stamp: string, over?: string[]}} Version */
/** @typedef {Version & {past?: Version[]}} Field */
/** @typedef {{kind: string, id: string, fields: Record<string, Field>}} Stored */
/** @typedef {{fields: Record<string, Version>}} Seen */
/** @typedef {{kind: string, id: string, [field: string]: any}} Plain */

/** All versions of a field, newest first. @param {Field} field @returns {Version[]} */
export function versions({ past = [], ...latest }) {
  return [latest, ...past];
}

/**
 * Both sides' knowledge of one record. Should a faulty device have given one stamp to two values,
 * what `one` holds stands.
 * @param {Stored} one @param {Stored} other the same record @returns {Stored}
 */
export function mergeRecords(one, other) {
  /** @type {Record<string, Field>} */
  const fields = { ...one.fields };
  for (const [name, field] of Object.entries(other.fields)) {
    fields[name] = Object.hasOwn(fields, name) ? mergeFields(fields[name], field) : field;
  }
  return { kind: one.kind, id: one.id, fields: withoutErased(fields) };
}

/** The fields, or what is left of them where they were erased. @param {Stored["fields"]} fields @returns {Stored["fields"]} */
function withoutErased(fields) {
  const { erased, deleted } = fields;
  if (!erased || versions(erased).every(({ value }) => value !== true)) return fields;
  return { erased, ...(deleted && { deleted }) };
}

/** The union of two fields' versions; `one` itself where `other` adds nothing.
 * @param {Field} one @param {Field} other @returns {Field} */
export function mergeFields(one, other) {
  if (one.stamp === other.stamp && one.past === undefined && other.past === undefined) return one;
  const known = new Set(versions(one).map(({ stamp }) => stamp));
  const added = versions(other).filter(({ stamp }) => !known.has(stamp));
  return added.length === 0 ? one : ranked([...versions(one), ...added]);
}

/** @param {Version[]} all @returns {Field} */
function ranked(all) {
  const [latest, ...past] = all.sort((a, b) => (a.stamp > b.stamp ? -1 : 1));
  return past.length === 0 ? latest : { ...latest, past };
}

/**
 * The record with `values` set by one stamp, later than all that it holds; the record itself where
 * nothing changes. A value replaces what its writer was shown: what came to stand meanwhile, unseen,
 * was written apart.
 * @param {Stored} record @param {Record<string, any>} values @param {string} stamp
 * @param {Seen} [seen] the record as its writer was shown it @returns {Stored}
 */
export function withValues(record, values, stamp, seen = record) {
  const fields = { ...record.fields };
  let changed = false;
  for (const [name, value] of Object.entries(values)) {
    const before = Object.hasOwn(fields, name) ? fields[name] : null;
    if (before !== null && isSame(standing(record.fields, name).value, value)) continue;
    const over = replacedBy(seen.fields, name, value);
    fields[name] = replaced(before, value, stamp, over);
    changed = true;
  }
  return changed ? { ...record, fields: withoutErased(fields) } : record;
}

/** A field whose versions so far lie behind a new one; `over` are those that it replaces.
 * @param {Field | null} before @param {any} value @param {string} stamp @param {string[]} over @returns {Field} */
export function replaced(before, value, stamp, over) {
  return { value, stamp, ...(over.length > 0 && { over }), ...(before && { past: versions(before) }) };
}

/** The stamps of what a value replaces, of what its writer saw. @param {Seen["fields"]} seen @param {string} name @param {any} value */
export function replacedBy(seen, name, value) {
  if (isDelete(name, value)) return [...new Set(Object.values(seen).map(({ stamp }) => stamp))];
  return Object.hasOwn(seen, name) ? [seen[name].stamp] : [];
}

/** @param {string} name @param {any} value */
const isDelete = (name, value) => name === "deleted" && value === true;

/** The version that stands in a field; for a delete that was followed by a change, that it does not stand.
 * @param {Stored["fields"]} fields @param {string} name @returns {Version} */
export function standing(fields, name) {
  const field = fields[name];
  const last = isDelete(name, field.value) ? (changesIn(fields).at(-1) ?? "") : "";
  return last > field.stamp ? { value: false, stamp: last } : field;
}

/** The stamps of what stands in the other fields than `deleted`, the latest last. @param {Stored["fields"]} fields */
function changesIn({ deleted: _, ...others }) {
  return Object.values(others)
    .map(({ stamp }) => stamp)
    .sort();
}

/** The versions that were written apart from the one that stands in a field, and say something else.
 * @param {Stored["fields"]} fields @param {string} name @returns {Version[]} */
export function clashes(fields, name) {
  const { value } = standing(fields, name);
  const apart = name === "deleted" ? apartFromDelete(fields) : [];
  return [...apart, ...unreplaced(fields[name])].filter((each) => !isSame(each.value, value));
}

/** What may have been written apart from a delete: the delete itself where a later change stands, and the last of
 * the changes before it that its writer did not see. @param {Stored["fields"]} fields @returns {Version[]} */
function apartFromDelete(fields) {
  const all = versions(fields.deleted);
  const [{ stamp, over = [] }] = all;
  // One that names nothing of other fields was written before deletes did: what it saw is not known.
  const isKnown = over.some((each) => all.every((own) => own.stamp !== each));
  const unseen = changesIn(fields).filter((each) => isKnown && each < stamp && !over.includes(each));
  return [all[0], ...unseen.slice(-1).map((each) => ({ value: false, stamp: each }))];
}

/** @param {Field} field @returns {Version[]} */
export function unreplaced(field) {
  if (field.past === undefined) return [];
  const seen = new Set(versions(field).flatMap(({ over = [] }) => over));
  return field.past.filter(({ stamp }) => !seen.has(stamp));
}

/** The record as its values alone. @param {Stored} record @returns {Plain} */
export function plainRecord(record) {
  /** @type {Plain} */
  const values = { kind: record.kind, id: record.id };
  for (const name of Object.keys(record.fields)) values[name] = standing(record.fields, name).value;
  return values;
}

/** Values without those that were left blank. @template {Record<string, any>} T @param {T | undefined} values @returns {T} */
export function filled(values) {
  return /** @type {T} */ (
    Object.fromEntries(Object.entries(values ?? {}).filter(([, value]) => (value ?? "") !== ""))
  );
}

/** What a record says: another device or version may have kept a blank as null, as "", or not at all.
 * @param {Stored} record @returns {Plain} */
export const plainOf = (record) => filled(plainRecord(record));

/** Whether two values say the same, in whatever order their parts stand. @param {any} one @param {any} other @returns {boolean} */
export function isSame(one, other) {
  if (one === other) return true;
  if (one === null || other === null || typeof one !== "object" || typeof other !== "object") return false;
  const names = Object.keys(one);
  return (
    Array.isArray(one) === Array.isArray(other) &&
    names.length === Object.keys(other).length &&
    names.every((name) => Object.hasOwn(other, name) && isSame(one[name], other[name]))
  );
}
