/** What pours, and the candles of them, come to by month and by recipe. Pure. */
import { LARGEST } from "../formulas/checks.js";
import { meanOf } from "../formulas/means.js";
import { before, grouped } from "./lists.js";

/** @typedef {import("./back_told.js").Told} Told */
/** @typedef {import("./back_told.js").Moves} Moves */
/** @typedef {import("./back_told.js").Way} Way */
/** @typedef {{n: number, of: number, mean: number, low: number, high: number, sd: number | null}} Spread of `n` of `of`: the
 *   mean, the least and the most, and the standard deviation (of one value: null) */
/** @typedef {{from: string, to: string}} Period months such as '2026-01', both of them in it */
/** @typedef {"year" | "before" | "months" | "all"} PeriodName */
/**
 * @typedef {object} Sums
 * @property {number} pours that were poured, without those given up
 * @property {number} given_up
 * @property {number} filled vessels
 * @property {number} put_away pours of which the candles were put away
 * @property {number} planned vessels of these
 * @property {number} made candles of these
 * @property {Record<Way, number>} gone candles by how they went
 * @property {Map<string, number>} earned minor units by currency, by its code; they are never added together
 * @property {number} unpriced candles that were sold, and no price is kept
 * @property {{pours: number, weighed_g: number, filled_g: number}} grams of pours of which all was read
 * @property {Spread | null} load as a fraction of the wax; of all jugs with fragrance
 * @property {Spread | null} off_load what was reached less what was planned
 * @property {Spread | null} off_c °C: the last reading before the fragrance less what was aimed at
 */

/** The first and the last month there is. */
const EVER = { from: "0000-00", to: "9999-99" };

/** @param {PeriodName} name @param {string} today ISO 8601 @returns {Period} */
export function periodOf(name, today) {
  const [year, month] = today.split("-").map(Number);
  const whole = (/** @type {number} */ of) => ({ from: monthOf(of, 1), to: monthOf(of, 12) });
  if (name === "year") return whole(year);
  if (name === "before") return whole(year - 1);
  return name === "months" ? { from: monthOf(year, month - 11), to: monthOf(year, month) } : EVER;
}

/** The months of a period, each; none of one without end. @param {Period} period @returns {string[]} */
export function monthsOf({ from, to }) {
  if (from === EVER.from) return [];
  const [year, first] = from.split("-").map(Number);
  const months = [];
  for (let month = first; monthOf(year, month) <= to; month += 1) months.push(monthOf(year, month));
  return months;
}

/** The years in which anything of a period is. @param {Period} period @returns {string[] | null} null: all there are */
export const yearsOf = ({ from, to }) => (from === EVER.from ? null : [...new Set([from.slice(0, 4), to.slice(0, 4)])]);

/** @param {number} year @param {number} month from 1; beyond the year it goes on in the next or the one before */
function monthOf(year, month) {
  const whole = year * 12 + month - 1;
  return `${String(Math.floor(whole / 12)).padStart(4, "0")}-${String((whole % 12) + 1).padStart(2, "0")}`;
}

/** All of a period together. @param {Told[]} pours @param {Period} period @returns {Sums} */
export function sumsOf(pours, { from, to }) {
  const isIn = (/** @type {string} */ month) => from <= month && month <= to;
  const poured = pours.filter(({ month }) => isIn(month));
  const moves = pours.flatMap((pour) => Object.entries(pour.moves).flatMap(([month, of]) => (isIn(month) ? [of] : [])));
  return added(poured, moves);
}

/**
 * Part by part of a period: its months, or its years where it has no end and they are more than two.
 * @param {Told[]} pours @param {Period} period @returns {[part: string, sums: Sums][]} '2026-11' or '2026', the first first
 */
export function partsOf(pours, period) {
  const { from, to } = period;
  const whole = monthsOf(period);
  const months = whole.length > 0 ? whole : monthsIn(pours, period);
  const years = new Set(months.map((month) => month.slice(0, 4)));
  const long = years.size > 2 ? 4 : 7;
  const poured = grouped(
    pours.filter(({ month }) => from <= month && month <= to),
    ({ month }) => month.slice(0, long),
  );
  const moved = grouped(
    pours.flatMap(({ moves }) => Object.entries(moves)).filter(([month]) => from <= month && month <= to),
    ([month]) => month.slice(0, long),
  );
  const parts = [...new Set(months.map((month) => month.slice(0, long)))];
  return parts.map((part) => [
    part,
    added(
      poured.get(part) ?? [],
      (moved.get(part) ?? []).map(([, moves]) => moves),
    ),
  ]);
}

/** The months of a period in which anything happened, the first first. @param {Told[]} pours @param {Period} period */
export function monthsIn(pours, { from, to }) {
  const all = pours.flatMap(({ month, moves }) => [month, ...Object.keys(moves)]);
  return [...new Set(all)].filter((month) => from <= month && month <= to).sort(before);
}

/**
 * Recipe by recipe, that of which most was filled first; those of which nothing happened are left out.
 * @param {Told[]} pours @param {Period} period @returns {{recipe: string, title: string, sums: Sums}[]} by the newest title
 */
export function recipesOf(pours, period) {
  const found = [...grouped(pours, ({ recipe }) => recipe)].map(([recipe, own]) => {
    const [newest] = [...own].sort((a, b) => b.at - a.at);
    return { recipe, title: newest.title, sums: sumsOf(own, period) };
  });
  return found
    .filter(({ sums }) => sums.pours > 0 || sums.given_up > 0 || Object.values(sums.gone).some((n) => n > 0))
    .sort((a, b) => b.sums.filled - a.sums.filled || before(a.title, b.title));
}

/** @param {Told[]} poured @param {Moves[]} moved @returns {Sums} */
function added(poured, moved) {
  const kept = poured.filter(({ given_up }) => !given_up);
  const made = kept.filter((pour) => pour.made !== null);
  const read = kept.flatMap(({ grams }) => (grams === null ? [] : [grams]));
  const loads = kept.flatMap((pour) => pour.loads);
  const temps = kept.flatMap((pour) => pour.added);
  return {
    pours: kept.length,
    given_up: poured.length - kept.length,
    filled: total(kept.map(({ filled }) => filled)),
    put_away: made.length,
    planned: total(made.map(({ planned }) => planned)),
    made: total(made.map((pour) => pour.made ?? 0)),
    ...moves(moved),
    grams: {
      pours: read.length,
      weighed_g: total(read.map(([weighed_g]) => weighed_g)),
      filled_g: total(read.map(([, filled_g]) => filled_g)),
    },
    load: spreadOf(loads.map(([, reached]) => reached)),
    off_load: spreadOf(loads.map(([planned, reached]) => (reached === null ? null : reached - planned))),
    off_c: spreadOf(temps.map(([read_c, target_c]) => (read_c === null ? null : read_c - target_c))),
  };
}

/** @param {Moves[]} moved */
function moves(moved) {
  /** @type {Record<Way, number>} */
  const gone = { sold: 0, given: 0, broken: 0, destroyed: 0, test_burned: 0, returned: 0, handed_out: 0 };
  /** @type {Map<string, number>} */
  const earned = new Map();
  let unpriced = 0;
  for (const each of moved) {
    for (const [way, n] of Object.entries(each.n)) gone[/** @type {Way} */ (way)] += n;
    for (const [currency, minor] of Object.entries(each.earned))
      earned.set(currency, (earned.get(currency) ?? 0) + minor);
    unpriced += each.unpriced;
  }
  return { gone, earned, unpriced };
}

/** @param {(number | null)[]} values null: not read @returns {Spread | null} null: none was read */
function spreadOf(values) {
  const read = values.flatMap((value) => (value !== null && Math.abs(value) <= LARGEST ? [value] : []));
  if (read.length === 0) return null;
  const { mean, sd } = meanOf(read);
  return { n: read.length, of: values.length, mean, sd, low: Math.min(...read), high: Math.max(...read) };
}

/** @param {number[]} numbers */
const total = (numbers) => numbers.reduce((sum, each) => sum + each, 0);
