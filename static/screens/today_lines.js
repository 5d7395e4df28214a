/** Today, line by line: what each batch that left the bench asks for. Words out, no page. */
import { coming, due, SAYS, vesselsOf } from "../bench/due.js";
import { daysLeft } from "../formulas/cure.js";
import { dayText } from "../words/dates.js";
import { plural, t } from "../words/door.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/due.js").Reminder} Reminder */
/**
 * @typedef {object} Line
 * @property {string} href @property {string} name @property {string} [line]
 * @property {string} [state] @property {string} [tone] as of a chip
 * @property {string} [right] @property {string} [under]
 * @property {import("../bench/sheet.js").Sheet} [of] which never changes
 * @property {import("./dom.js").Cure} [cure]
 * @property {number} [at_ms] when it is due
 * @property {Answerable} [answerable] it is due, and this is what she can answer
 */
/**
 * @typedef {object} Answerable a reminder
 * @property {string} pour @property {import("../bench/due.js").ReminderKind} reminder
 * @property {string} day on which it was due
 * @property {boolean} done 'OK' is an answer
 * @property {boolean} wanted she wants to be told of it
 */

/** What a batch that is set aside asks for now; else what comes next.
 * @param {{pour: Pour, reminders: Reminder[]}} batch @param {string[]} off what she does not want to be told
 * @param {string} today @param {number} now_ms @returns {Line[]} */
export function awayLines({ pour: { sheet, stage, id, state }, reminders }, off, today, now_ms) {
  const [next] = coming(reminders, now_ms);
  const setting = stage === "setting";
  const base = {
    href: setting ? `#/trim/${id}` : `#/entry/${id}`,
    name: sheet.title,
    line: vesselsOf(sheet),
    of: sheet,
  };
  const then = next && t("{reminder} {day}", { reminder: t(SAYS[next.kind]), day: dayText(next.on) });
  const asked = due(reminders, now_ms).map(({ kind, day, on, at_ms }) => {
    const trim = isTrim(kind) && setting;
    const late = on < today;
    const ready = kind === "cured" || kind === "best";
    return {
      ...base,
      right: trim ? t("setting") : t(SAYS[kind]),
      state: ready ? undefined : late ? t("overdue") : trim ? t("now") : t("today"),
      tone: late && !ready ? "past" : "now",
      under: late ? t("since {day}", { day: dayText(on) }) : trim ? t("trim and label") : then,
      at_ms,
      // What is trimmed is said on its own screen, where the tops are looked at.
      answerable: { pour: id, reminder: kind, day, done: !trim, wanted: !off.includes(kind) },
    };
  });
  if (asked.length > 0 || next === undefined) return asked;
  const stands = setting ? t("setting") : isTrim(next.kind) || next.kind === "cured" ? t("curing") : t("cured");
  const under = setting && isTrim(next.kind) ? t("trim and label") : then;
  const days = -daysLeft(state.set_on ?? today, 0, today);
  const whole = { cured: sheet.cure_least_days, best: sheet.cure_best_days }[String(next.kind)];
  const cure = setting || !whole ? undefined : { days, whole };
  return [{ ...base, state: stands, right: daysText(daysLeft(next.on, 0, today)), under, cure, at_ms: next.at_ms }];
}

/** @param {number} days from today */
function daysText(days) {
  if (days <= 0) return t("today");
  return days === 1 ? t("tomorrow") : plural(days, "{n} day", "{n} days");
}

/** @param {string} reminder */
function isTrim(reminder) {
  return reminder === "trim" || reminder === "label";
}
