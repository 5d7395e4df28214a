/**
 * How long a pour kept her hands busy, by what its own events show; waiting is told apart. Pure.
 *
 * An event is kept when something is done, so the time since the event before is what it took, or a wait for it. All
 * events at the bench, of all jugs, are taken in the order in which they happened, from the start of the pour on:
 *
 * - Before what is work (a weighing, a vessel filled, stirring done) the time counts as work, up to a limit. What is
 *   longer shows that she was away, and the rest counts as that.
 * - Before what ends a wait or falls into it (wax is liquid, a dip, back on the heat, warm enough, put away the morning
 *   after) all but the moment that it takes to look counts as waiting. While one jug waits and she weighs for another,
 *   it is the weighing that counts.
 *
 * So work, waiting and being away together are the time from the start to the last event. Notes, reminders and what
 * happens on the shelf take no time here. What no event shows is not in it: shopping, trimming, labels, cleaning. Two
 * who work at once at one pour are counted as one, and what two pours share is counted in both.
 */
import { effectiveEvents, eventType, isStep } from "../records/events.js";
import { inTime } from "./candles.js";

/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */
/** @typedef {{work_s: number, waiting_s: number, away_s: number}} HandsOn seconds, none below nothing */

/** What is done within this is done at one go: a weighing out of a sack, a vessel, two minutes of stirring (s; our choice). */
export const MOST_S = 300;

/** So for what is done to all vessels before it is said: wicks set, a whole jug poured (s; our choice). */
export const MOST_OF_MANY_S = 1200;

/** To dip a thermometer or look at a jug takes this (s; our choice). */
export const MOMENT_S = 30;

const OF_MANY = new Set(["ready", "emptied", "stopped"]);
const WAITED_FOR = new Set(["melted", "read", "warmed", "went_on", "finished"]);
const NO_WORK = new Set(["noted", "burned", "abandoned"]);

/** @param {{record: Record<string, any>, events: PourEvent[]}} pour @returns {HandsOn} up to its last event */
export function handsOn({ record, events }) {
  const done = inTime(effectiveEvents("pour", events)).filter(({ type }) => isWork(type));
  const found = { work_s: 0, waiting_s: 0, away_s: 0 };
  let before = Number.isFinite(record.started_at) ? record.started_at : done[0]?.at;
  for (const { type, at } of done) {
    const gap_s = Math.max(0, at - before) / 1000;
    const waited = WAITED_FOR.has(type);
    const most_s = waited ? MOMENT_S : OF_MANY.has(type) ? MOST_OF_MANY_S : MOST_S;
    const work_s = Math.min(gap_s, most_s);
    found.work_s += work_s;
    found[waited ? "waiting_s" : "away_s"] += gap_s - work_s;
    before = Math.max(before, at);
    // What comes after it was put away is no work at the bench.
    if (type === "finished") break;
  }
  return found;
}

/** What a newer version tells is passed over. @param {string} type */
const isWork = (type) => eventType("pour", type) !== undefined && isStep("pour", type) && !NO_WORK.has(type);
