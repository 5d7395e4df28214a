/**
 * What a pour reminds of, and when: a pure function of its sheet and state, and her settings.
 *
 * The table of reminders stands at the top of `benchapp/reminders/due.py`, whose twin this is.
 */

import { ready } from "../formulas/cure.js";
import { afterQuiet, dayOf, FIRST_MS, instant } from "../formulas/day.js";
import { eventType } from "../records/events.js";
import { filled } from "../records/merge.js";
import { dayText, localDate } from "../words/dates.js";
import { InputError, message, t } from "../words/door.js";

/** @typedef {Extract<import("../records/event_types.js").NewPourEvent, {type: "seen_to"}>["reminder"]} ReminderKind */
/** @typedef {Pick<import("./sheet.js").Sheet, "cure_least_days" | "cure_best_days"> & {trim_days?: number, label_days?: number, burn_days?: number | null}} Days */
/** @typedef {{zone: string, remind_at: number, quiet_from: number, quiet_to: number, off: string[]}} Settings */
/**
 * @typedef {object} Reminder
 * @property {ReminderKind} kind
 * @property {string} day ISO 8601, on which it falls due by the sheet
 * @property {string} on the day on which it comes: later where it was put off
 * @property {number} at_ms when it comes
 * @property {boolean} done nothing is left to do
 */

/** What a workshop starts with: minutes since midnight. */
export const USUAL = { remind_at: 540, quiet_from: 1260, quiet_to: 480 };

/** A reminder this long past is shown no more, but for wax that was never trimmed. */
const STALE_MS = 30 * 86_400_000;

/** The later one of the same errand: once it is due, the earlier one says nothing new.
 * @type {Partial<Record<ReminderKind, ReminderKind>>} */
const AFTER = { trim: "label", cured: "best", burn: "reburn" };

/** What 'finished' says of it. */
const TICKS = /** @type {const} */ ({ trim: "trimmed", label: "labelled" });

/** The setting that switches it off. @type {Record<string, string>} */
const SWITCH = {
  trim: "remind_trim",
  label: "remind_trim",
  cured: "remind_cure",
  best: "remind_cure",
  burn: "remind_burn",
  reburn: "remind_burn",
};

/** What a reminder says of its batch, to be worded.
 * @type {Record<string, string>} */
export const SAYS = eventType("pour", "seen_to")?.fields.reminder.choices ?? {};

/** What there is to do, to be worded.
 * @type {Record<ReminderKind, import("../words/door.js").Message>} */
export const TELLS = {
  trim: message("Check that they are fully set and cold. Look at the tops, trim the wicks, and label them."),
  label: message("Trim the wicks and label them before you forget which is which."),
  cured: message("You can burn it and sell it from today on."),
  best: message("It has cured for its full time."),
  burn: message("Trim the wick first. Keep all that burns away. Never leave it alone."),
  reburn: message("Trim the wick first. Keep all that burns away. Never leave it alone."),
};

/** Her settings. @param {Record<string, any>} workshop its record @param {string} [zone] what this phone says,
 *   which counts where the record names none that is known
 * @returns {Settings} */
export function settingsOf(workshop, zone = Intl.DateTimeFormat().resolvedOptions().timeZone) {
  /** @type {Record<string, any>} */
  const { time_zone, remind_at, quiet_from, quiet_to } = { ...USUAL, ...filled(workshop) };
  return {
    zone: time_zone && orNull(() => dayOf(FIRST_MS, time_zone)) ? time_zone : zone,
    remind_at,
    quiet_from,
    quiet_to,
    off: Object.keys(SWITCH).filter((kind) => workshop[SWITCH[kind]] === "no"),
  };
}

/**
 * What a pour reminds of; empty before it is set aside. What can't be reckoned is left out.
 * @param {{sheet: Days, state: import("./fold.js").PourState}} pour @param {Settings} settings
 * @returns {Reminder[]}
 */
export function remindersOf({ sheet, state }, settings) {
  if (state.set_on === null) return [];
  const days = new Map(daysOf(sheet, state));
  return [...days].flatMap(([kind, day]) => {
    if (settings.off.includes(kind)) return [];
    const put_off = state.put_off[kind] ?? "";
    const on = put_off > day ? put_off : day;
    const at_ms = momentOf(on, settings);
    return at_ms === null ? [] : [{ kind, day, on, at_ms, done: isDone(kind, days, state) }];
  });
}

/** Those that are due: come, not done, and not superseded by a later one.
 * @param {Reminder[]} reminders @param {number} now_ms */
export function due(reminders, now_ms) {
  const there = reminders.filter((each) => !each.done && each.at_ms <= now_ms && !isStale(each, now_ms));
  const kinds = new Set(there.map(({ kind }) => kind));
  return there.filter(({ kind }) => {
    const later = AFTER[kind];
    return later === undefined || !kinds.has(later);
  });
}

/** Those that are still to come, the next one first. @param {Reminder[]} reminders @param {number} now_ms */
export function coming(reminders, now_ms) {
  return reminders.filter(({ done, at_ms }) => !done && at_ms > now_ms).sort((a, b) => a.at_ms - b.at_ms);
}

/** @param {Reminder} reminder @param {number} now_ms */
function isStale({ kind, at_ms }, now_ms) {
  return kind !== "trim" && kind !== "label" && at_ms < now_ms - STALE_MS;
}

/** The day of each reminder. @param {Days} sheet @param {import("./fold.js").PourState} state */
function daysOf(sheet, { set_on, burns }) {
  const { trim_days = 1, label_days = 2, cure_least_days = null, cure_best_days = null } = sheet;
  const { burn_days = cure_best_days === null ? null : cure_best_days + 1 } = sheet;
  /** @type {[ReminderKind, number | null][]} */
  const waits = [
    ["trim", trim_days],
    ["label", label_days],
    ["cured", cure_least_days],
    ["best", cure_best_days === cure_least_days ? null : cure_best_days],
    ["burn", burn_days],
  ];
  const found = waits.flatMap(([kind, days]) => {
    const day = days === null ? null : orNull(() => ready(/** @type {string} */ (set_on), days));
    return day === null ? [] : [/** @type {[ReminderKind, string]} */ ([kind, day])];
  });
  const next_on = burns.at(-1)?.next_on;
  return next_on ? [...found, /** @type {[ReminderKind, string]} */ (["reburn", next_on])] : found;
}

/** @param {ReminderKind} kind @param {Map<string, string>} days @param {import("./fold.js").PourState} state */
function isDone(kind, days, { seen_to, finished, burns }) {
  // Who has seen to the later one of an errand has seen to the earlier.
  if (
    [kind, AFTER[kind]].some((each) => {
      const day = each && days.get(each);
      return day !== undefined && (seen_to[each ?? kind] ?? "") >= day;
    })
  )
    return true;
  // Where it does not say, as in older pours, all was done.
  if (kind === "trim" || kind === "label") return finished !== null && finished[TICKS[kind]] !== "no";
  return kind === "burn" && burns.length > 0;
}

/** Moments already reckoned: many pours share a day, and a browser is slow to tell a zone's clock.
 * @type {Map<string, number | null>} */
const moments = new Map();

/** @param {string} on @param {Settings} settings */
function momentOf(on, { zone, remind_at, quiet_from, quiet_to }) {
  const key = [on, zone, remind_at, quiet_from, quiet_to].join();
  let at_ms = moments.get(key);
  if (at_ms === undefined) {
    at_ms = orNull(() => afterQuiet(instant(on, remind_at, zone), quiet_from, quiet_to, zone));
    moments.set(key, at_ms);
  }
  return at_ms;
}

/** @template T @param {() => T} reckon @returns {T | null} */
function orNull(reckon) {
  try {
    return reckon();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return null;
  }
}

/** @typedef {{title: string, count: number, vessel: {name: string}, sizes?: {count: number, name: string}[]}} Named
 *   a sheet of any version */

/** What a batch is called, such as 'Wet slate, 12 × tin 120'. @param {Named} sheet */
export function nameOf(sheet) {
  return t("{title}, {vessels}", { title: sheet.title, vessels: vesselsOf(sheet) });
}

/** Such as '6 × tin 120 + 4 × tumbler 300'. @param {Omit<Named, "title">} sheet */
export function vesselsOf({ count, vessel, sizes = [{ count, name: vessel.name }] }) {
  return sizes.map((size) => t("{count} × {vessel}", { count: size.count, vessel: size.name })).join(" + ");
}

/** Such as 'Wet slate, 12 × tin 120: cured'. @param {Named} sheet @param {string} kind */
export function summaryOf(sheet, kind) {
  return t("{name}: {reminder}", { name: nameOf(sheet), reminder: t(SAYS[kind]) });
}

/** Of a batch by its name: such as 'Wet slate, 12 × tin 120: cured today', or 'cured since Tue 24 Nov'.
 * @param {string} name @param {string} kind @param {string} on ISO 8601, the day on which it came @param {number} now_ms */
export function headlineOf(name, kind, on, now_ms) {
  const isPast = on < localDate(now_ms);
  switch (kind) {
    case "cured":
      return isPast ? t("{name}: cured since {day}", { name, day: dayText(on) }) : t("{name}: cured today", { name });
    case "best":
      return isPast
        ? t("{name}: fully cured since {day}", { name, day: dayText(on) })
        : t("{name}: fully cured today", { name });
    default:
      return t("{name}: {reminder}", { name, reminder: t(SAYS[kind] ?? kind) });
  }
}
