/** What a file is, by its first bytes and never by its name; the server looks once more
 * (`benchapp/records/attachments/file_type.py`). */

/** @typedef {"picture" | "heic" | "pdf" | null} Found null: neither a photo nor a PDF */

/** Bytes of a PDF that is kept, at most. */
export const MOST_PDF = 20_000_000;

/** Bytes of a photo as it is chosen, at most: more than any phone's camera makes (from memory). It is made smaller. */
export const MOST_PHOTO = 60_000_000;

const HEADS = [
  { type: "picture", head: "ffd8ff" },
  { type: "picture", head: "89504e470d0a1a0a" },
  { type: "pdf", head: "255044462d" },
];
/** Names of HEIF in the box 'ftyp' (ISO/IEC 23008-12 annex B, from memory: verify). */
const HEIF = ["heic", "heix", "hevc", "heim", "heis", "mif1", "msf1"];

/** @param {Uint8Array} head the first 12 bytes @returns {Found} */
export function typeOf(head) {
  const digits = toHex(head);
  const found = HEADS.find((each) => digits.startsWith(each.head));
  if (found) return /** @type {Found} */ (found.type);
  const text = String.fromCharCode(...head);
  if (text.startsWith("RIFF") && text.slice(8, 12) === "WEBP") return "picture";
  if (text.slice(4, 8) === "ftyp") {
    if (text.slice(8, 12) === "avif") return "picture";
    if (HEIF.includes(text.slice(8, 12))) return "heic";
  }
  return null;
}

/** @param {Uint8Array} bytes */
export function toHex(bytes) {
  return Array.from(bytes, (each) => each.toString(16).padStart(2, "0")).join("");
}

/** The SHA-256 of bytes, as small hexadecimal digits. @param {BufferSource} bytes @returns {Promise<string>} */
export async function hashOf(bytes) {
  return toHex(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)));
}
