/**
 * An iCalendar file (RFC 5545) made on the phone: the reminders of one batch, or days.
 *
 * Moments are written in UTC (RFC 5545 section 3.3.5, form 2): each is one instant, which is right in
 * every time zone and over every change of the clocks, so the file needs no table of zones. `uid` and
 * `SEQUENCE` are those of the server's feed (`benchapp/reminders/calendar.py`), so that a calendar
 * which is told of a reminder twice, or of one that has moved, still shows it once.
 */
import { eventType } from "../records/events.js";
import { versions } from "../records/merge.js";
import { t, worded } from "../words/door.js";
import { remindersOf, summaryOf, TELLS } from "./due.js";

/** @typedef {import("./pours.js").Pour} Pour */
/** @typedef {import("../records/merge.js").Stored} Stored */

const LONG_MS = 15 * 60_000;
const MOST_OCTETS = 75;

/** Fields of her workshop's record, of which the same is true. */
const MOVING_FIELDS = ["remind_at", "quiet_from", "quiet_to", "time_zone"];

/**
 * The text of an .ics file with every reminder of a pour that is not done; null where there is none,
 * for a calendar must not be empty.
 * @param {Pick<Pour, "id" | "sheet" | "state" | "events">} pour
 * @param {import("./due.js").Settings} settings
 * @param {Stored | undefined} workshop her workshop's record with all its versions
 * @param {number} now_ms
 */
export function calendarOf(pour, settings, workshop, now_ms) {
  const sequence = sequenceOf(pour.events, workshop);
  const events = remindersOf(pour, settings)
    .filter(({ done }) => !done)
    .flatMap(({ kind, at_ms }) => {
      const summary = text(summaryOf(pour.sheet, kind));
      return [
        "BEGIN:VEVENT",
        `UID:${kind}.${pour.id}@pour-bench.invalid`,
        `DTSTAMP:${utc(now_ms)}`,
        `SEQUENCE:${sequence}`,
        `DTSTART:${utc(at_ms)}`,
        `DTEND:${utc(at_ms + LONG_MS)}`,
        `SUMMARY:${summary}`,
        `DESCRIPTION:${text(worded(TELLS[kind]))}`,
        "TRANSP:TRANSPARENT",
        "BEGIN:VALARM",
        "ACTION:DISPLAY",
        "TRIGGER:PT0S",
        `DESCRIPTION:${summary}`,
        "END:VALARM",
        "END:VEVENT",
      ];
    });
  return calendarFile(events);
}

/**
 * The text of an .ics file; null where nothing is in it. @param {string[]} events the lines of its events
 */
export function calendarFile(events) {
  if (events.length === 0) return null;
  const lines = [
    "BEGIN:VCALENDAR",
    "VERSION:2.0",
    "PRODID:-//Pour bench//Calendar//EN",
    "METHOD:PUBLISH",
    `NAME:${text(t("Pour bench"))}`,
    `X-WR-CALNAME:${text(t("Pour bench"))}`,
    ...events,
    "END:VCALENDAR",
  ];
  return lines.map((line) => `${folded(line)}\r\n`).join("");
}

/**
 * What lasts for a day, on that day wherever she is: without an end, one of a date lasts for it (section 3.6.1).
 * @param {{uid: string, sequence: number, day: string, summary: string, description: string}} what `uid`: of the
 *   bench alone; `day`: ISO 8601 @param {number} now_ms @returns {string[]} its lines
 */
export function dayEvent({ uid, sequence, day, summary, description }, now_ms) {
  return [
    "BEGIN:VEVENT",
    `UID:${uid}@pour-bench.invalid`,
    `DTSTAMP:${utc(now_ms)}`,
    `SEQUENCE:${sequence}`,
    `DTSTART;VALUE=DATE:${day.replaceAll("-", "")}`,
    `SUMMARY:${text(summary)}`,
    ...(description ? [`DESCRIPTION:${text(description)}`] : []),
    "TRANSP:TRANSPARENT",
    "END:VEVENT",
  ];
}

/** How often something has happened that may move a pour's reminders: it only grows, and is the same
 * wherever the same is known. @param {Pour["events"]} events @param {Stored | undefined} workshop */
function sequenceOf(events, workshop) {
  const moves = events.filter(({ type }) => eventType("pour", type)?.moves_reminders).length;
  const fields = MOVING_FIELDS.flatMap((name) => workshop?.fields[name] ?? []);
  return fields.reduce((sum, field) => sum + versions(field).length, moves);
}

// ---- how it is written -------------------------------------------------------------------------

/** @param {number} at_ms */
function utc(at_ms) {
  return new Date(at_ms).toISOString().replace(/[-:]|\.\d+/g, "");
}

/** A value of type TEXT, which holds no control character but a tab (section 3.3.11). @param {string} said */
function text(said) {
  return said
    .replace(/\r\n|[\r\v\f\x85\u2028\u2029]/g, "\n")
    .replace(/[\x00-\x08\x0e-\x1f\x7f-\x9f]|\p{Surrogate}/gu, "\ufffd")
    .replace(/[\\;,]/g, "\\$&")
    .replaceAll("\n", "\\n");
}

const utf8 = new TextEncoder();

/** A line in pieces of at most 75 octets (section 3.1), none of which ends within a character, or
 * within an escape, which some readers would not join again. @param {string} line */
function folded(line) {
  let whole = "";
  let octets = 0;
  for (const piece of line.match(/\\?./gsu) ?? []) {
    const size = utf8.encode(piece).length;
    if (octets + size > MOST_OCTETS) {
      whole += "\r\n ";
      octets = 1;
    }
    whole += piece;
    octets += size;
  }
  return whole;
}
