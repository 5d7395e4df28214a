/** How much photos and papers take, here and on the server; and letting go of what the server has. */
import { ask } from "../records/exchange.js";
import { allHeld, dropBytes, note } from "./bytes.js";
import { waiting } from "./sending.js";
import { askHave, serverEra } from "./server.js";

/** @typedef {{count: number, size: number}} Amount */
/**
 * @typedef {object} Stored
 * @property {Amount} here
 * @property {Amount} waits for the server
 * @property {Amount} spare what may be let go of
 * @property {string[]} refused sentences of the server
 * @property {boolean} isPaired
 */

/** So many of the newest stay here (our choice). */
export const NEWEST = 20;

/** @param {{size: number}[]} some @returns {Amount} */
const amountOf = (some) => ({ count: some.length, size: some.reduce((sum, { size }) => sum + size, 0) });

/** @returns {Promise<Stored>} */
export async function stored() {
  const { waiting: left, held, era } = await waiting();
  return {
    here: amountOf(held),
    waits: amountOf(left),
    spare: amountOf(spareOf(held, era)),
    refused: [...new Set(held.map(({ refused }) => refused).filter(Boolean))],
    isPaired: era !== null,
  };
}

/** What the server has, but for the newest. @param {import("./bytes.js").Held[]} held @param {string | null} era */
function spareOf(held, era) {
  const byAge = [...held].sort((a, b) => b.at - a.at);
  return byAge.slice(NEWEST).filter((each) => era !== null && each.era === era);
}

/** How much the workshop keeps on the server, and how much it may.
 * @returns {Promise<{count: number, bytes: number, room_bytes: number}>}
 * @throws {import("../records/exchange.js").NoSignal} @throws {import("../records/exchange.js").ServerError} */
export const onServer = () => ask("/api/attachments");

/** Let go of what the server has, the newest excepted; it is asked whether it still has them.
 * @returns {Promise<Amount>} what was let go of
 * @throws {import("../records/exchange.js").NoSignal} @throws {import("../records/exchange.js").ServerError} */
export async function letGo() {
  const [held, era] = await Promise.all([allHeld(), serverEra()]);
  const spare = spareOf(held, era);
  const hashes = spare.map(({ sha256 }) => sha256);
  const { kept } = await askHave(hashes);
  // What it has no more is sent once more.
  await note(
    hashes.filter((each) => !kept.has(each)),
    { era: null },
  );
  await dropBytes([...kept]);
  return amountOf(spare.filter(({ sha256 }) => kept.has(sha256)));
}
