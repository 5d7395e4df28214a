/** What this phone knows of itself and of its server: its clock, and how far it has heard. */
import { answer } from "./database.js";
import { EARLIEST, nextStamp } from "./stamp.js";

/**
 * @typedef {object} Clock
 * @property {"clock"} key
 * @property {string} name of this device, at the end of its stamps
 * @property {string} last the latest stamp it has made or seen
 * @property {number} [offset_ms] what the server's clock is ahead of this phone's
 */
/**
 * @typedef {object} Server
 * @property {"server"} key
 * @property {{id: string, name: string}} workshop
 * @property {{id: string, name: string}} device
 * @property {string | null} era of the server's records, as last heard
 * @property {number} cursor the number of the last change heard of
 * @property {number | null} heard_at wall clock, when it last answered
 * @property {boolean} [out] it lets this device in no more
 */

const LETTERS = "0123456789abcdefghijklmnopqrstuvwxyz";

/** @param {IDBObjectStore} device @returns {Promise<Clock>} */
export async function clockOf(device) {
  return (await answer(device.get("clock"))) ?? { key: "clock", name: randomText(8), last: EARLIEST };
}

/** The time by the server's clock, as far as it was heard; else by this phone's. @param {Clock} clock */
export function timeBy({ offset_ms = 0 }) {
  return Math.floor(Date.now()) + offset_ms;
}

/** The next stamp, kept as the last one. @param {IDBObjectStore} device @returns {Promise<string>} */
export async function takeStamp(device) {
  const clock = await clockOf(device);
  clock.last = nextStamp(clock.last, timeBy(clock), clock.name);
  device.put(clock);
  return clock.last;
}

/** The next stamp comes after these, even if the clock they were made by runs ahead of ours.
 * @param {IDBObjectStore} device @param {Iterable<string>} stamps */
export async function seeStamps(device, stamps) {
  const clock = await clockOf(device);
  for (const stamp of stamps) if (stamp > clock.last) clock.last = stamp;
  device.put(clock);
}

/** The server that this phone is paired with. @param {IDBObjectStore} device @returns {Promise<Server | undefined>} */
export function serverOf(device) {
  return answer(device.get("server"));
}

/** Text that no other device makes. @param {number} length */
export function randomText(length) {
  const bytes = crypto.getRandomValues(new Uint8Array(length));
  return Array.from(bytes, (byte) => LETTERS[byte % LETTERS.length]).join("");
}
