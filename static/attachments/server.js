/** The server that this phone is paired with, as far as attachments ask. */
import { read } from "../records/database.js";
import { serverOf } from "../records/device.js";
import { ask } from "../records/exchange.js";

const MOST_HASHES = 500;

/** The era of the server's records, in which it says what it has: null without a server, or before it was heard.
 * @returns {Promise<string | null>} */
export async function serverEra() {
  const server = await read(["device"], ({ device }) => serverOf(device));
  return server && !server.out ? server.era : null;
}

/** Which bytes the server has, and how far it is with others. @param {string[]} hashes
 * @returns {Promise<{kept: Set<string>, begun: Map<string, number>}>}
 * @throws {import("../records/exchange.js").NoSignal} @throws {import("../records/exchange.js").ServerError} */
export async function askHave(hashes) {
  const kept = new Set();
  const begun = new Map();
  for (let start = 0; start < hashes.length; start += MOST_HASHES) {
    const told = await ask("/api/attachments/have", { hashes: hashes.slice(start, start + MOST_HASHES) });
    for (const each of told.kept) kept.add(each);
    for (const [each, far] of Object.entries(told.begun)) begun.set(each, far);
  }
  return { kept, begun };
}
