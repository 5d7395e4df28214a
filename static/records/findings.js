/**
 * Records of what the desk worked out. What they hold is kept as JSON text: sentences lie within sentences, deeper than
 * the exchange takes objects.
 */
import * as store from "./store.js";

/** @typedef {store.Plain} Plain */

/** The fields that hold what was asked and found. */
const HELD = ["asked", "found", "drawn"];

/** Those of a kind that live, opened. @param {string} kind @returns {Promise<Plain[]>} */
export const findings = async (kind) => (await store.living(kind)).map(opened);

/** One, opened, though it was deleted. @param {string} kind @param {string} id @returns {Promise<Plain | undefined>} */
export async function finding(kind, id) {
  const found = await store.get(kind, id);
  return found && opened(found);
}

/** Keep one, which is never changed. @param {string} kind @param {string} id @param {Record<string, unknown>} fields */
export function keepFinding(kind, id, fields) {
  const text = (/** @type {string} */ name) => (name in fields ? { [name]: JSON.stringify(fields[name]) } : {});
  return store.save(kind, id, Object.assign({}, fields, ...HELD.map(text)));
}

/** A record with what it holds; what can't be read is not there. @param {Plain} record @returns {Plain} */
export function opened(record) {
  return Object.assign({}, record, ...HELD.map((name) => (name in record ? { [name]: parsed(record[name]) } : {})));
}

/** @param {unknown} text */
function parsed(text) {
  try {
    return JSON.parse(String(text));
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    return undefined;
  }
}
