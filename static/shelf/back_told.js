/**
 * What looking back needs of one pour, in a few numbers, so that ten years of them are soon read. Pure.
 *
 * Only what was read counts as read: a mark that she touched tells the mark, and no spread; a temperature is that of a
 * dip. What was not read is null, and is counted as such.
 */
import { filledOf } from "../bench/fold.js";
import { effectiveEvents } from "../records/events.js";
import { localDate } from "../words/dates.js";
import { candlesOf, currencyOf } from "./candles.js";
import { usesOf } from "./uses.js";
import { touchedOf } from "./weights.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/fold.js").JugState} JugState */
/** @typedef {import("../bench/fold.js").Dip} Dip */
/** @typedef {"sold" | "given" | "broken" | "destroyed" | "test_burned" | "returned" | "handed_out"} Way how candles went, or
 *   came back; `handed_out`: they went out, and an older bench did not ask how */
/**
 * @typedef {object} Moves what became of candles in one month
 * @property {Partial<Record<Way, number>>} n candles
 * @property {Record<string, number>} earned minor units, by the code of their currency; '' where none was said
 * @property {number} unpriced sold candles of which no price is kept
 */
/**
 * @typedef {object} Told
 * @property {string} month in which it was poured, such as '2026-11', in her time zone
 * @property {number} at when it was begun, ms since 1970
 * @property {string} recipe its id @property {string} title its name at the time
 * @property {boolean} given_up
 * @property {number} planned vessels @property {number} filled vessels, those that were not planned too
 * @property {number | null} made candles; null until they are put away
 * @property {[planned: number, reached: number | null][]} loads of each jug with fragrance, as fractions of the wax
 * @property {[weighed_g: number, filled_g: number] | null} grams what was weighed into its jugs, and what came into vessels;
 *   null where not all of it was read
 * @property {[read_c: number | null, target_c: number][]} added of each jug with fragrance the last reading before it went in
 * @property {(number | null)[]} poured_c of each jug the last reading before its first vessel
 * @property {number} room_c as it stood in the plan
 * @property {string | null} tops as they are kept
 * @property {[kind: string, lot: string][]} lots that it took from, as far as they are known
 * @property {Record<string, Moves>} moves by month
 */

/** A reading that is older than this tells nothing of what follows (ms; our choice): wax falls by a degree a minute. */
export const FRESH_MS = 600_000;

/** Which lots may have to do with how the tops came out. */
const TELLING = ["wax", "additive", "fragrance", "vessel"];

/** By what settled pours are found in which something happened in a year; without one: all of them. @param {string} [year] */
export const backOf = (year = "") => `back ${year}`;

/** @param {Pour} pour that has left the bench, with what happened to its candles @returns {Told} */
export function backTold(pour) {
  const { sheet, state, record, stage } = pour;
  const touched = touchedOf(pour.events);
  const { planned, filled, others } = filledOf(state);
  const scented = sheet.load > 0 ? state.jugs.filter(({ added_at }) => added_at !== null) : [];
  const lots = usesOf(pour).flatMap(({ kind, lot }) => (lot && TELLING.includes(kind) ? [`${kind} ${lot}`] : []));
  return {
    month: (state.set_on ?? localDate(record.started_at)).slice(0, 7),
    at: record.started_at,
    recipe: sheet.recipe,
    title: sheet.title,
    given_up: stage === "abandoned",
    planned,
    filled: filled + others,
    made: stage === "curing" ? candlesOf(pour).made : null,
    loads: scented.map((jug) => [sheet.load, loadOf(jug, touched)]),
    grams: gramsOf(state.jugs, touched),
    added: scented.map((jug) => [addedAt(jug), sheet.fragrance.target_c]),
    poured_c: state.jugs.map(pouredAt),
    room_c: sheet.room_c,
    tops: state.tops,
    lots: [...new Set(lots)].map((each) => /** @type {[string, string]} */ (each.split(" "))),
    moves: stage === "curing" ? movesOf(pour) : {},
  };
}

/** By what it is found once it is settled. @param {Told} told @returns {string[]} */
export function backKeys({ month, moves }) {
  const years = new Set([month, ...Object.keys(moves)].map((each) => each.slice(0, 4)));
  return [backOf(), ...[...years].map(backOf)];
}

/** The load that its readings come to; null where not all of it was read. @param {JugState} jug @param {Set<string>} touched */
const loadOf = (jug, touched) =>
  jug.wax_g > 0 && isAllRead(jug, ["wax", "restore", "fragrance"], touched) ? jug.load : null;

/** Whether all of these parts of a jug were read, each as a number. @param {JugState} jug @param {string[]} parts
 * @param {Set<string>} touched */
function isAllRead({ weighings }, parts, touched) {
  const those = weighings.filter(({ part }) => parts.includes(part));
  return (
    those.length > 0 && those.every(({ read_g, event }) => read_g !== null && event !== null && !touched.has(event))
  );
}

/** @param {JugState[]} jugs @param {Set<string>} touched @returns {[weighed_g: number, filled_g: number] | null} */
function gramsOf(jugs, touched) {
  let weighed_g = 0;
  let filled_g = 0;
  for (const jug of jugs) {
    if (!isAllRead(jug, ["wax", "restore", "additive", "fragrance"], touched) || jug.open.length > 0) return null;
    for (const { read_g } of jug.weighings) weighed_g += read_g ?? 0;
    for (const { read_g, event, unread, skipped } of jug.poured) {
      if (unread || (!skipped && touched.has(event))) return null;
      filled_g += read_g;
    }
    for (const { read_g } of jug.others) filled_g += read_g;
  }
  return weighed_g > 0 ? [weighed_g, filled_g] : null;
}

/** What the thermometer read last before the fragrance went in. @param {JugState} jug */
function addedAt({ all_dips, mixed_at, added_at }) {
  // Without one that still told something of this wax, none does.
  const first_ms = mixed_at[0]?.at ?? Infinity;
  return lastBefore(
    all_dips.filter(({ at }) => at >= first_ms),
    added_at,
  );
}

/** What it read last before the first vessel was filled; before cold oil went in tells nothing of it. @param {JugState} jug */
function pouredAt({ dips, poured }) {
  const times = poured.filter(({ skipped }) => !skipped).map(({ at }) => at);
  return lastBefore(dips, times.length > 0 ? Math.min(...times) : null);
}

/** @param {Dip[]} dips @param {number | null} at_ms @returns {number | null} */
function lastBefore(dips, at_ms) {
  if (at_ms === null) return null;
  const before = dips.filter(({ at }) => at <= at_ms).sort((a, b) => a.at - b.at);
  const last = before.at(-1);
  return last && last.at >= at_ms - FRESH_MS ? last.temp_c : null;
}

/** What became of its candles, by the month in which it did. @param {Pour} pour */
function movesOf({ events, candles = [] }) {
  /** @type {Record<string, Moves>} */
  const found = {};
  const inMonth = (/** @type {number} */ at_ms) => {
    const month = localDate(at_ms).slice(0, 7);
    found[month] ??= { n: {}, earned: {}, unpriced: 0 };
    return found[month];
  };
  const count = (/** @type {Way} */ way, /** @type {number} */ n, /** @type {number} */ at_ms) => {
    const moves = inMonth(at_ms);
    moves.n[way] = (moves.n[way] ?? 0) + n;
    return moves;
  };
  for (const event of effectiveEvents("pour", events))
    if (event.type === "handed_out" && event.n > 0) count("handed_out", event.n, event.at);
  for (const event of effectiveEvents("batch", candles)) {
    switch (event.type) {
      case "sold": {
        const moves = count("sold", event.n, event.at);
        const currency = currencyOf(event);
        if (typeof event.price !== "number") moves.unpriced += event.n;
        else moves.earned[currency] = (moves.earned[currency] ?? 0) + event.n * event.price;
        break;
      }
      case "given":
      case "broken":
      case "destroyed":
      case "test_burned":
      case "returned":
        count(event.type, event.n, event.at);
        break;
    }
  }
  return found;
}
