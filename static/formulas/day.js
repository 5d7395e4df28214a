/**
 * A time of day on a day, in the maker's own time zone, as a moment; and quiet hours.
 *
 * Zones are those of the IANA time zone database, by the names that it publishes, in capitals or not:
 * `Factory`, which stands for none, and what else a browser knows (`BST`, `SystemV/…`) the server does
 * not. A time that the clocks skip counts as if they had not been put forward yet (02:30 becomes
 * 03:30); of one that comes twice the first is meant.
 */

import { InputError, message } from "../words/door.js";
import { whole } from "./checks.js";
import { ready } from "./cure.js";

export const DAY_MINUTES = 24 * 60;
export const FIRST_YEAR = 1973;
export const FIRST_MS = 94_780_800_000;
export const LAST_MS = 32_503_507_200_000;

const DAY_MS = 86_400_000;
/** What a browser knows beyond the IANA database's names: most are three letters long. */
const NO_ZONE =
  /^(?!([CEMW]ET|[EHM]ST|GMT|PRC|RO[CK]|U[CT]C)$)[a-z]{3}$|^(\W|Factory|SystemV|Canada\/East-|US\/Pacific-N)/i;

/**
 * Milliseconds since 1970 of a time of day.
 * @param {string} day such as '2026-11-25' @param {number} minute since midnight by the clock on the wall
 * @param {string} zone such as 'Europe/Lisbon'
 */
export function instant(day, minute, zone) {
  const there = ready(day, 0);
  const minutes = whole(minute, message("The time of day"), 0, DAY_MINUTES - 1, "minute");
  const [year, month, date] = there.split("-").map(Number);
  if (year < FIRST_YEAR) throw new InputError("“{day}” is too long ago.", { day: there }, "day");
  const offset = offsetIn(zone);
  const naive_ms = Date.UTC(year, month - 1, date) + minutes * 60_000;
  // No zone is further from UTC than 14 hours: these two lie before and after whatever changes there.
  const before = offset(naive_ms - DAY_MS);
  const after = offset(naive_ms + DAY_MS);
  if (offset(naive_ms - before) !== before && offset(naive_ms - after) === after) return naive_ms - after;
  return naive_ms - before;
}

/** The calendar day in a zone. @param {number} at_ms @param {string} zone */
export function dayOf(at_ms, zone) {
  return local(at_ms, zone).day;
}

/**
 * `at_ms` itself, or the end of the quiet hours that it falls into.
 * @param {number} at_ms @param {number} quiet_from minutes since midnight @param {number} quiet_to the
 *   same; the next day where that is earlier; equal: never quiet @param {string} zone
 */
export function afterQuiet(at_ms, quiet_from, quiet_to, zone) {
  const begin = whole(quiet_from, message("Quiet from"), 0, DAY_MINUTES - 1, "quiet_from");
  const end = whole(quiet_to, message("Quiet until"), 0, DAY_MINUTES - 1, "quiet_to");
  const { day, minute } = local(at_ms, zone);
  const overMidnight = begin > end;
  const quiet = overMidnight ? minute >= begin || minute < end : begin <= minute && minute < end;
  if (!quiet) return at_ms;
  const tomorrow = overMidnight && minute >= begin ? 1 : 0;
  // Where that time of day comes twice, the first one may be over already.
  return Math.max(at_ms, instant(ready(day, tomorrow), end, zone));
}

/** @param {number} at_ms @param {string} zone */
function local(at_ms, zone) {
  if (typeof at_ms !== "number" || !(at_ms >= FIRST_MS && at_ms <= LAST_MS)) {
    throw new InputError("The moment must be from the year 1973 to 2999.", {}, "at_ms");
  }
  const at = new Date(Math.floor(at_ms / 1000) * 1000 + offsetIn(zone)(at_ms));
  return { day: at.toISOString().slice(0, 10), minute: at.getUTCHours() * 60 + at.getUTCMinutes() };
}

/** @type {Map<string, (at_ms: number) => number>} */
const known = new Map();

/** What a zone's clocks are ahead of UTC, in milliseconds, at a moment. @param {string} zone */
function offsetIn(zone) {
  const before = known.get(zone);
  if (before) return before;
  let format;
  try {
    if (NO_ZONE.test(zone)) throw new RangeError(zone);
    format = new Intl.DateTimeFormat("en-GB", {
      timeZone: zone,
      hourCycle: "h23",
      year: "numeric",
      month: "numeric",
      day: "numeric",
      hour: "numeric",
      minute: "numeric",
      second: "numeric",
    });
  } catch {
    throw new InputError("“{typed}” is not a time zone: write it as Europe/Lisbon.", { typed: zone }, "zone");
  }
  const found = (/** @type {number} */ at_ms) => {
    /** @type {Record<string, number>} */
    const part = {};
    for (const { type, value } of format.formatToParts(at_ms)) part[type] = Number(value);
    const wall_ms = Date.UTC(part.year, part.month - 1, part.day, part.hour, part.minute, part.second);
    return wall_ms - Math.floor(at_ms / 1000) * 1000;
  };
  known.set(zone, found);
  return found;
}
