/**
 * Photos and papers of a record. The attachment's record travels with all others; its bytes are kept first, so that a
 * record never names what nobody has.
 *
 * Its id is the other record's and the hash of the file that was chosen: all of one record's are next to each other, and
 * the same file from two phones is one.
 */
import { plainRecord } from "../records/merge.js";
import * as store from "../records/store.js";
import { keepBytes } from "./bytes.js";
import { hashOf, MOST_PDF } from "./file_type.js";
import { prepare } from "./prepare.js";

/** @typedef {"top" | "melt_pool" | "label" | "certificate" | "sheet" | "receipt" | "vessel" | "other"} What */
/**
 * @typedef {object} Attachment
 * @property {string} id
 * @property {string} name of the file, as it was chosen
 * @property {[kind: string, id: string]} of
 * @property {What} what it shows
 * @property {string} sha256
 * @property {number} bytes
 * @property {string} type
 * @property {number} [width] @property {number} [height]
 * @property {number} taken_at when it was added
 * @property {string} [small]
 * @property {boolean} [deleted]
 */

export const KIND = "attachment";
/** What a PDF may show. @type {What[]} */
const PAPERS = ["certificate", "sheet", "receipt", "label"];
/** The end of the year 9999. */
const LATEST_MS = 253_402_300_799_999;
/** Characters of the hash in an id; with a dot and the rest an id has 64 at most. */
const HASH = 24;
const MOST_ID = 64 - HASH - 1;

/** Keep a file with a record. @param {string} kind @param {string} id @param {File} file @param {What} what
 * @returns {Promise<boolean>} whether it is new there
 * @throws {import("../words/door.js").InputError} it can't be kept, and why
 * @throws {import("../records/store.js").StoreError} nothing was kept */
export async function attach(kind, id, file, what) {
  const { data, source, ...made } = await prepare(file);
  await keepBytes({ sha256: made.sha256, data, type: made.type });
  const own = `${await prefixOf(id)}${source.slice(0, HASH)}`;
  const before = await store.get(KIND, own);
  if (before && !before.deleted) return false;
  const shows = made.type === "application/pdf" && !PAPERS.includes(what) ? "other" : what;
  await store.save(KIND, own, {
    ...{ name: file.name.slice(0, 200) || "photo", of: [kind, id], what: shows, bytes: data.byteLength },
    ...{ taken_at: await store.timeNow(), ...made, ...(before && { deleted: false }) },
  });
  return true;
}

/** All of a record, the newest first; those that were deleted apart.
 * @param {string} kind @param {string} id @returns {Promise<{living: Attachment[], gone: Attachment[]}>} */
export async function attachmentsOf(kind, id) {
  const prefix = await prefixOf(id);
  // A slash comes right after a dot.
  const range = IDBKeyRange.bound([KIND, prefix], [KIND, `${prefix.slice(0, -1)}/`], false, true);
  const all = (await store.stored([range])).map(readable).filter((each) => each?.of[0] === kind && each.of[1] === id);
  const sorted = /** @type {Attachment[]} */ (all).sort((a, b) => b.taken_at - a.taken_at || (a.id < b.id ? -1 : 1));
  return { living: sorted.filter(({ deleted }) => !deleted), gone: sorted.filter(({ deleted }) => deleted) };
}

/** All that are kept, of all records, with when they were deleted. @returns {Promise<(Attachment & {deleted_at: number | null})[]>} */
export async function allAttachments() {
  const all = await store.stored([store.ofKind(KIND)]);
  return all.flatMap((record) => {
    const found = readable(record);
    if (found === null) return [];
    const deleted_at = found.deleted ? Number.parseInt(record.fields.deleted.stamp, 10) : null;
    return [{ ...found, deleted_at }];
  });
}

/** What a record says; null: what it says makes no sense here. @param {store.Stored} record @returns {Attachment | null} */
function readable(record) {
  const { name, of, what, sha256, bytes, type, taken_at, ...rest } = plainRecord(record);
  const makesSense =
    Array.isArray(of) && /^[0-9a-f]{64}$/.test(sha256) && isWithin(bytes, MOST_PDF) && isWithin(taken_at, LATEST_MS);
  if (!makesSense) return null;
  const small = typeof rest.small === "string" && /^[A-Za-z0-9+/]+=*$/.test(rest.small) ? rest.small : undefined;
  return /** @type {any} */ ({ ...rest, name: String(name ?? ""), of, what, sha256, bytes, type, taken_at, small });
}

/** @param {unknown} value @param {number} most */
const isWithin = (value, most) => Number.isInteger(value) && Number(value) >= 0 && Number(value) <= most;

/** What the ids of a record's attachments begin with. @param {string} id of the record */
async function prefixOf(id) {
  if (id.length <= MOST_ID) return `${id}.`;
  return `${(await hashOf(new TextEncoder().encode(id))).slice(0, HASH)}.`;
}
