/** What the instruments read now: told by those that are connected, and shown or kept by the board. */
import { now } from "./clock.js";
import { FRESH_MS } from "./reading_checks.js";

/** @typedef {import("./reading_checks.js").Reading} Reading */
/** @typedef {Reading["kind"]} Kind */

/** Where the instruments that she chose are remembered. */
export const KEY = "instruments";

/** The last of each, while nothing is wrong with it. @type {Map<Kind, Reading>} */
const last = new Map();
/** @type {Set<(reading: Reading) => void>} */
const listeners = new Set();

/** Hear each reading. Few have an instrument: what reaches one comes when it is looked for.
 * @param {(reading: Reading) => void} listener @returns {() => void} unsubscribe */
export function onReading(listener) {
  listeners.add(listener);
  if (localStorage.getItem(KEY)) void import("./instruments.js").then((one) => one.reconnectKnown(), console.warn);
  return () => listeners.delete(listener);
}

/** What it reads now; null where that is not known. @param {Kind} kind */
export function live(kind) {
  const reading = last.get(kind);
  return reading && now() - reading.at < FRESH_MS ? reading : null;
}

/** Tell all who listen. @param {Reading} reading */
export function tell(reading) {
  last.set(reading.kind, reading);
  for (const listener of listeners) listener(reading);
}

/** What it read says nothing of now. @param {Kind} kind */
export function pass(kind) {
  last.delete(kind);
}
