/**
 * What a table brings: row by row, whether it is new, changes what is here, says what is here already, or is refused.
 * Pure.
 *
 * A row is known by what names it. The id of a new record is reckoned from that, so that the same table makes the same
 * records on every phone, and a second time none.
 */
import { InputError } from "../words/door.js";

/** @typedef {import("../records/merge.js").Plain} Plain */
/** @typedef {{kind: string, id: string, values: Record<string, any>}} Made a record to be kept */
/** @typedef {{number: number, cells: Record<string, string>}} Row its number in the spreadsheet; cells by field */
/**
 * @typedef {object} Read a row as it would be kept
 * @property {string} id
 * @property {boolean} is_new
 * @property {Record<string, any>} values what is to be set
 * @property {Record<string, any>} given what its cells say, set or not
 * @property {string[]} unfit columns whose cell does not go with the others, and is left out
 * @property {Made[]} needs records that it names, and that are to be made with it
 */
/** @typedef {Read & {number: number, state: "new" | "changed" | "same"}} Taken */
/** @typedef {{number: number, state: "refused", why: InputError}} Refused */
/** @typedef {Taken | Refused} Planned */
/**
 * @typedef {object} Ways
 * @property {(row: Row) => Plain[]} candidates the records that a row may be about
 * @property {(row: Row, record: Plain | null) => Read} read a row as a change of a record, or as a new one;
 *   throws InputError where it can't be kept
 */

/** @param {Iterable<Row>} rows @param {Ways} ways @returns {Generator<Planned>} */
export function* planned(rows, ways) {
  /** Row numbers by id. @type {Map<string, number>} */
  const taken = new Map();
  for (const row of rows) {
    try {
      yield place(row, ways, taken);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      yield { number: row.number, state: "refused", why: error };
    }
  }
}

/** @param {Row} row @param {Ways} ways @param {Map<string, number>} taken @returns {Taken} @throws {InputError} */
function place(row, { candidates, read }, taken) {
  const records = candidates(row);
  const free = records.filter(({ id }) => !taken.has(id));
  const found = records.length > 1 ? sameOf(free, (each) => read(row, each)) : read(row, records[0] ?? null);
  if (found === null) {
    throw new InputError("{n} that are here have this name: give them different names first.", { n: records.length });
  }
  const earlier = taken.get(found.id);
  if (earlier !== undefined) {
    throw new InputError("Row {n} has the same name: leave one of the two out.", { n: earlier });
  }
  taken.set(found.id, row.number);
  return { number: row.number, state: found.is_new ? "new" : isSame(found) ? "same" : "changed", ...found };
}

/** The one of several records that a row says nothing new of. @param {Plain[]} records
 * @param {(record: Plain) => Read} read @returns {Read | null} */
function sameOf(records, read) {
  for (const record of records) {
    try {
      const found = read(record);
      if (isSame(found)) return found;
    } catch (error) {
      // It may be about another one.
      if (!(error instanceof InputError)) throw error;
    }
  }
  return null;
}

/** @param {Read} read */
const isSame = ({ is_new, values }) => !is_new && Object.keys(values).length === 0;

/** The values that say something else than the record. @param {Plain} record @param {Record<string, any>} values */
export function changesIn(record, values) {
  return Object.fromEntries(Object.entries(values).filter(([name, value]) => !saysSame(record[name], value)));
}

/** Tables hold ten figures of a number, and no spaces around a text. @param {any} one @param {any} other */
function saysSame(one, other) {
  if (typeof one === "number" && typeof other === "number")
    return Math.abs(one - other) <= 1e-9 * Math.max(Math.abs(one), Math.abs(other));
  const text = (/** @type {any} */ value) =>
    String(value ?? "")
      .replace(/\r\n?/g, "\n")
      .trim();
  return text(one) === text(other);
}

// ---- names -------------------------------------------------------------------------------------

/** What a name is known by: capitals and spaces don't matter. @param {unknown} name */
export function nameKey(name) {
  return String(name ?? "")
    .normalize("NFC")
    .replace(/\s+/g, " ")
    .trim()
    .toLowerCase();
}

const PRIME = 0x1000000000000000000013bn;
const BASIS = 0x6c62272e07bb014262b821756295c58dn;

/** FNV-1a of 128 bits (draft-eastlake-fnv) as 32 hexadecimal digits. @param {string} text */
export function hashOf(text) {
  let hash = BASIS;
  for (const byte of new TextEncoder().encode(text)) hash = BigInt.asUintN(128, (hash ^ BigInt(byte)) * PRIME);
  return hash.toString(16).padStart(32, "0");
}

/** The id of a record that a table makes. @param {string} kind @param {string[]} names what names it, as `nameKey` has it */
export function idFrom(kind, names) {
  return hashOf([kind, ...names].join("\n"));
}
