/**
 * Which lots and temperatures came with which tops: counts, and how far they tell anything. Pure.
 *
 * That something came with a lot is not that it came of it, and where many lots are looked at, one of ten stands out by
 * chance. So this counts, and says in which range the share of all such pours lies (`wilson`); it claims nothing.
 */
import { wilson } from "../formulas/wilson.js";
import { before, grouped } from "./lists.js";

/** @typedef {import("./back_told.js").Told} Told */
/** @typedef {{key: string, count: number, of: number, range: {low: number, high: number} | null}} Group `count` of `of`
 *   pours; range: of the share, 90 %; null: they are too few to say */

/** Of fewer pours nothing is said (our choice: the range of none of five still goes up to 35 %). */
export const LEAST = 6;

/** What is looked for. @typedef {(tops: string) => boolean} Fault */

/** Anything that is not smooth. @type {Fault} */
export const isPoor = (tops) => tops !== "smooth";

/** The pours of which the tops were told. @param {Told[]} pours */
export const looked = (pours) => pours.filter(({ tops, given_up }) => Boolean(tops) && !given_up);

/** What the tops of these pours were, and how often, the most first. @param {Told[]} pours @returns {[tops: string, n: number][]} */
export function topsOf(pours) {
  /** @type {Map<string, number>} */
  const found = new Map();
  for (const { tops } of looked(pours)) found.set(tops ?? "", (found.get(tops ?? "") ?? 0) + 1);
  return [...found].sort(([a, n], [b, m]) => m - n || before(a, b));
}

/**
 * In how many of the pours that have something in common the fault was.
 * @param {Told[]} pours @param {Fault} fault @param {(pour: Told) => string[]} keysOf what a pour has; none: it is not known
 * @returns {{groups: Group[], unknown: Group}} in the order of their keys; `unknown`: of those of which it is not known
 */
export function groupsOf(pours, fault, keysOf) {
  const held = looked(pours).map((pour) => ({ pour, keys: [...new Set(keysOf(pour))] }));
  const group = (/** @type {string} */ key, /** @type {Told[]} */ of) => {
    const count = of.filter(({ tops }) => fault(tops ?? "")).length;
    return { key, count, of: of.length, range: of.length < LEAST ? null : wilson(count, of.length) };
  };
  const pairs = held.flatMap(({ pour, keys }) => keys.map((key) => ({ pour, key })));
  const groups = [...grouped(pairs, ({ key }) => key)].map(([key, own]) =>
    group(
      key,
      own.map(({ pour }) => pour),
    ),
  );
  const lost = held.filter(({ keys }) => keys.length === 0).map(({ pour }) => pour);
  return { groups: groups.sort((a, b) => before(a.key, b.key)), unknown: group("", lost) };
}

/**
 * The band in which all readings of a pour lie, as the number at which it begins; none where jugs differ, or one was not
 * read.
 * @param {(number | null)[]} readings in her unit @param {number} wide above 0
 */
export function bandOf(readings, wide) {
  const bands = new Set(readings.map((each) => (each === null ? null : Math.floor(each / wide + 1e-9) * wide)));
  const [band = null] = bands;
  return bands.size === 1 ? band : null;
}
