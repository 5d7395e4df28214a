/**
 * Hybrid logical clock: every field and every event carries a stamp, and a later stamp wins.
 *
 * A stamp is text that sorts as it ranks: milliseconds since 1970 (15 digits), a count within the
 * millisecond (4 digits, base 36), and the device, which settles a tie.
 */

/** @typedef {string} Stamp */

const MS_DIGITS = 15;
const COUNT_DIGITS = 4;
const MOST_COUNT = 36 ** COUNT_DIGITS - 1;

/** Older than any stamp a device makes: what was there from the start, such as a demo's records. */
export const EARLIEST = `${"0".repeat(MS_DIGITS)}.${"0".repeat(COUNT_DIGITS)}.0`;

/** How far ahead of the server a stamp may be; the server refuses what is further ahead. */
export const AHEAD_MS = 10 * 60_000;

/**
 * The next stamp: after the last one this device has seen, and not before the wall clock.
 * @param {Stamp} last @param {number} now_ms whole milliseconds since 1970 @param {string} device
 * @returns {Stamp}
 */
export function nextStamp(last, now_ms, device) {
  const seen = readStamp(last);
  if (now_ms > seen.ms) return writeStamp(now_ms, 0, device);
  if (seen.count < MOST_COUNT) return writeStamp(seen.ms, seen.count + 1, device);
  return writeStamp(seen.ms + 1, 0, device);
}

/** Before every stamp of a millisecond, and after all that are earlier. @param {number} ms */
export const startOf = (ms) => writeStamp(ms, 0, "");

/** @param {string} text */
export const isStamp = (text) => /^\d{15}\.[0-9a-z]{4}\.[0-9a-z]{1,16}$/.test(text);

/** @param {Stamp} stamp */
export function readStamp(stamp) {
  const [ms, count, device] = stamp.split(".");
  return { ms: Number(ms), count: parseInt(count, 36), device };
}

/**
 * Stamps from a clock that ran ahead, set right: as much earlier as the clock was ahead, in the same
 * order, none later than now, and after what comes before them.
 * @param {Stamp[]} stamps those that are wrong @param {Stamp} after what they come after
 * @param {number} offset_ms of the right clock to the wrong one @param {number} now_ms the right time
 * @param {string} device
 * @returns {Map<Stamp, Stamp>}
 */
export function setRight(stamps, after, offset_ms, now_ms, device) {
  /** @type {Map<Stamp, Stamp>} */
  const right = new Map();
  let last = after;
  for (const stamp of [...new Set(stamps)].sort()) {
    const ms = Math.max(0, Math.min(Math.round(readStamp(stamp).ms + offset_ms), now_ms));
    last = nextStamp(last, ms, device);
    right.set(stamp, last);
  }
  return right;
}

/** @param {number} ms @param {number} count @param {string} device @returns {Stamp} */
function writeStamp(ms, count, device) {
  const first = String(ms).padStart(MS_DIGITS, "0");
  return `${first}.${count.toString(36).padStart(COUNT_DIGITS, "0")}.${device}`;
}
