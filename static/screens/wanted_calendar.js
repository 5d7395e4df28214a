/**
 * The days of what is wanted, for a calendar: by when, when to pour, when to order.
 *
 * `wanted` and `pour-on` are those of the calendar's address on the server too (`benchapp/reminders/calendar.py`). The
 * last days to pour and to order follow from her shelf and her pours, which only the phone looks at: they are numbered by
 * the minute, so that a later file moves them.
 */
import { calendarFile, dayEvent } from "../bench/calendar.js";
import { versions } from "../records/merge.js";
import { listed, t } from "../words/door.js";
import { itemText, nameOf, whatText } from "./wanted_words.js";

/** @typedef {import("../records/merge.js").Stored} Stored */
/** @typedef {import("../shelf/wanted.js").Order} Order */

/** Fields after which its days may be others. */
const MOVING_FIELDS = ["by", "pour_on"];

/** @param {Order[]} orders @param {Stored[]} stored their records with all versions
 * @param {import("../bench/display_units.js").DisplayUnits} units @param {string} today @param {number} now_ms
 * @returns {string | null} null: nothing is wanted */
export function calendarOfWanted(orders, stored, units, today, now_ms) {
  const sequences = new Map(stored.map((record) => [record.id, sequenceOf(record)]));
  const minute = Math.floor(now_ms / 60_000);
  return calendarFile(
    orders
      .flatMap((order) => daysOf(order, sequences.get(order.record.id) ?? 0, minute, units, today))
      .flatMap((each) => dayEvent(each, now_ms)),
  );
}

/** @param {Stored} record */
function sequenceOf({ fields }) {
  return MOVING_FIELDS.flatMap((name) => fields[name] ?? []).reduce((sum, field) => sum + versions(field).length, 0);
}

/** @param {Order} order @param {number} sequence @param {number} minute
 * @param {import("../bench/display_units.js").DisplayUnits} units @param {string} today
 * @returns {Parameters<typeof dayEvent>[0][]} */
function daysOf(order, sequence, minute, units, today) {
  const { record, days, missing } = order;
  const { id } = record;
  const name = nameOf(record);
  const what = whatText(order);
  const found = [];
  if (record.by) {
    const summary = t("{name}: {what} wanted", { name, what });
    found.push({ uid: `wanted.${id}`, sequence, day: record.by, summary, description: "" });
  }
  if (record.pour_on) {
    const summary = t("{name}: pour {what}", { name, what });
    found.push({ uid: `pour-on.${id}`, sequence, day: record.pour_on, summary, description: "" });
  }
  for (const [index, { day, n }] of days.entries()) {
    if (day === record.pour_on) continue;
    const summary = t("{name}: pour {n} at the latest", { name, n });
    const uid = `last-pour${index === 0 ? "" : `-${index + 1}`}.${id}`;
    found.push({ uid, sequence: minute, day, summary, description: what });
  }
  /** @type {Map<string, string[]>} */
  const orders = new Map();
  for (const each of missing) {
    const day = each.order_by < today ? today : each.order_by;
    const said = itemText(each, units);
    orders.set(day, [...(orders.get(day) ?? []), said]);
  }
  for (const [index, [day, items]] of [...orders].entries()) {
    const summary = t("{name}: order {items}", { name, items: listed(items) });
    found.push({
      uid: `order${index === 0 ? "" : `-${index + 1}`}.${id}`,
      sequence: minute,
      day,
      summary,
      description: what,
    });
  }
  return found;
}
