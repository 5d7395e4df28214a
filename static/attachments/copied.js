/** The bytes of attachments in a copy, each as `{"sha256", "base64"}`; the server writes the same
 * (`benchapp/records/copied_attachments.py`). */
import { allHeld, bytesHere, keepBytes } from "./bytes.js";
import { hashOf, typeOf } from "./file_type.js";
import { waiting } from "./sending.js";

/** @typedef {{sha256: string, base64: string}} Item */

/** What is between the items takes room as well. */
const SPARE = 200;

/** How much of what is here goes into a copy, and how many of all that are named do not: they are too many, or not on
 * this phone. @param {number} room bytes of the copy that are left
 * @returns {Promise<{hashes: string[], size: number, left_out: number}>} the newest first */
export async function fitting(room) {
  const { held, named } = await waiting();
  const here = held.filter(({ sha256 }) => named.has(sha256)).sort((a, b) => b.at - a.at);
  const hashes = [];
  let size = 0;
  let packed = 0;
  for (const each of here) {
    packed += Math.ceil((each.size * 4) / 3) + SPARE;
    if (packed > room) break;
    hashes.push(each.sha256);
    size += each.size;
  }
  return { hashes, size, left_out: named.size - hashes.length };
}

/** Their bytes as parts of the copy's JSON, one at a time: together they may be more than one text can hold.
 * @param {string[]} hashes @returns {Promise<string[]>} none where there are none */
export async function written(hashes) {
  const parts = [];
  for (const sha256 of hashes) {
    const data = await bytesHere(sha256);
    if (data !== undefined) parts.push(JSON.stringify({ sha256, base64: base64Of(new Uint8Array(data)) }));
  }
  return parts.flatMap((part, index) => [index > 0 ? ",\n" : "", part]);
}

/** Keep what a copy holds. @param {any[]} items @returns {Promise<{count: number, wrong: number}>} how many are new here,
 * and how many are none @throws {import("../records/store.js").StoreError} the phone is full */
export async function bringInBytes(items) {
  const here = new Set((await allHeld()).map(({ sha256 }) => sha256));
  let count = 0;
  let wrong = 0;
  for (const item of items) {
    const found = await read(item);
    if (found === null) wrong += 1;
    else if (!here.has(found.sha256)) {
      await keepBytes(found);
      count += 1;
    }
  }
  return { count, wrong };
}

/** @param {any} item */
async function read(item) {
  try {
    const data = Uint8Array.from(atob(item.base64), (each) => each.charCodeAt(0));
    const type = TYPES[/** @type {string} */ (typeOf(data.subarray(0, 12)))];
    const sha256 = await hashOf(data);
    return sha256 === item.sha256 && type ? { sha256, data: data.buffer, type: type(data) } : null;
  } catch {
    return null;
  }
}

/** What they are served as. @type {Record<string, ((data: Uint8Array) => string) | undefined>} */
const TYPES = {
  pdf: () => "application/pdf",
  picture: ([first]) => ({ 255: "image/jpeg", 137: "image/png" })[first] ?? "image/webp",
};

/** @param {Uint8Array} bytes */
function base64Of(bytes) {
  let text = "";
  // So many at a time: an engine takes only so many arguments.
  for (let at = 0; at < bytes.length; at += 8192) text += String.fromCharCode(...bytes.subarray(at, at + 8192));
  return btoa(text);
}
