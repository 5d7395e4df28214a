/** Bytes that this phone has let go of, or never had: from the server, piece by piece, checked by their hash. */
import { NoSignal, ServerError } from "../records/exchange.js";
import { literal } from "../words/door.js";
import { bytesHere, keepBytes } from "./bytes.js";
import { hashOf } from "./file_type.js";
import { serverEra } from "./server.js";

const PATIENCE_MS = 30_000;
const PIECE = 500_000;

/** What is shown of an attachment: its bytes, from here or from the server; once fetched they stay here.
 * @param {{sha256: string, type: string, bytes: number}} attachment @returns {Promise<Blob>}
 * @throws {NoSignal} @throws {ServerError} with a sentence */
export async function fileOf({ sha256, type, bytes }) {
  const here = await bytesHere(sha256);
  if (here !== undefined) return new Blob([here], { type });
  const era = await serverEra();
  if (era === null)
    throw new NoSignal("It is not on this phone. Pair the phone with the server, or look on the phone that took it.");
  const data = await fetched(sha256, bytes);
  // A phone that is full shows it all the same.
  await keepBytes({ sha256, data, type, era }).catch((error) => console.warn(error));
  return new Blob([data], { type });
}

/** @param {string} sha256 @param {number} size @returns {Promise<ArrayBuffer>} */
async function fetched(sha256, size) {
  const data = new Uint8Array(size);
  for (let far = 0; far < size; ) {
    const some = await piece(sha256, far, Math.min(size, far + PIECE));
    data.set(some, far);
    far += some.length;
  }
  if ((await hashOf(data)) !== sha256)
    throw new ServerError("What the server sent is not this photo or paper.", 502, 0, null);
  return data.buffer;
}

/** @param {string} sha256 @param {number} start @param {number} end @returns {Promise<Uint8Array>} at least one byte */
async function piece(sha256, start, end) {
  let response;
  let told;
  try {
    response = await fetch(`/api/attachments/${sha256}`, {
      headers: { Range: `bytes=${start}-${end - 1}` },
      cache: "no-store",
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    if (response.ok) {
      const some = new Uint8Array(await response.arrayBuffer());
      if (some.length > 0 && some.length <= end - start) return some;
    } else told = await response.json().catch(() => null);
  } catch {
    throw new NoSignal("It is on the server, and there is no signal. It is shown when there is.");
  }
  if (told?.error) throw new ServerError(literal(told.error), response.status, 0, told);
  throw new ServerError("The server gave an answer that the bench can't read.", response.status, 0, told);
}
