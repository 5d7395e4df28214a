/** What is typed into the box, and which of what is kept it finds. Pure. */
import { lineOf, wordsOf } from "./folding.js";

/** @typedef {{year?: string, month?: string, day?: string}} Told as far as it is told: '2026', '05', '14' */
/**
 * @typedef {object} Term what must be found: each of its words, or a day of the record that it may mean
 * @property {string[]} words folded
 * @property {Told[]} days
 */
/**
 * @typedef {object} Findable what of an entry is compared
 * @property {string} title its name, as `lineOf` makes it
 * @property {string} line all that it says, its name too
 * @property {string} noted what was noted of it
 * @property {string[]} days ISO 8601
 */
/** @typedef {{rank: number, byNote: boolean}} Match `rank`: the less the better; `byNote`: some is in a note alone */

/** How well a term is found, the best first; what is not found at all is none of them. */
const IN_TITLE = 0;
const IN_LINE = 1;
const INSIDE = 2;
const IN_NOTE = 3;

/** Less of a word than this says nothing in the middle of another. */
const LEAST_INSIDE = 3;

const ISO = /^(\d{4})-(\d{1,2})(?:-(\d{1,2}))?$/;
const SPOKEN = /^(\d{1,2})[./](\d{1,2})(?:[./](\d{4}|\d{2}))?\.?$/;
const YEAR = /^20\d\d$/;
const DAY = /^(?:[1-9]|[12]\d|3[01])$/;
const MONTH_OF = /^(\d{1,2})[./](\d{4})$/;

/**
 * What is typed, piece by piece.
 * @param {string} text @param {string[][]} months how the months are called, each by its words, folded
 * @returns {Term[]} none: nothing is looked for
 */
export function termsOf(text, months) {
  const pieces = text.split(/\s+/).map((piece) => ({ piece, words: wordsOf(piece) }));
  const named = pieces.map(({ words }) => (words.length === 1 ? monthsOf(words[0], months) : []));
  const isDated = named.some(({ length }) => length > 0);
  return pieces.flatMap(({ piece, words }, index) => {
    if (words.length === 0) return [];
    // '14 May': a number alone may be any.
    const days = isDated && words.length === 1 && DAY.test(words[0]) ? [{ day: two(words[0]) }] : daysIn(piece);
    return [{ words, days: [...days, ...named[index].map((month) => ({ month }))] }];
  });
}

/** The days that a piece may mean; of two that are both a month, either may come first. @param {string} piece
 * @returns {Told[]} */
function daysIn(piece) {
  if (YEAR.test(piece)) return [{ year: piece }];
  const iso = ISO.exec(piece);
  if (iso) return [{ year: iso[1], month: two(iso[2]), ...(iso[3] && { day: two(iso[3]) }) }];
  const month = MONTH_OF.exec(piece);
  if (month) return [{ month: two(month[1]), year: month[2] }];
  const spoken = SPOKEN.exec(piece);
  if (spoken === null) return [];
  const [, one, other, year] = spoken;
  const told = year ? { year: year.length === 2 ? `20${year}` : year } : {};
  return [
    { ...told, day: two(one), month: two(other) },
    { ...told, day: two(other), month: two(one) },
  ].filter((each) => Number(each.month) >= 1 && Number(each.month) <= 12 && Number(each.day) <= 31);
}

/** @param {string} digits */
const two = (digits) => digits.padStart(2, "0");

/** The months that a word begins: '05'. @param {string} word @param {string[][]} months @returns {string[]} */
function monthsOf(word, months) {
  if (word.length < LEAST_INSIDE) return [];
  return months.flatMap((names, at) => (names.some((name) => name.startsWith(word)) ? [two(String(at + 1))] : []));
}

/** How the months are called in a language. @param {string} locale BCP 47 @returns {string[][]} folded */
export function monthNames(locale) {
  const forms = /** @type {const} */ (["long", "short"]).flatMap((month) => [
    new Intl.DateTimeFormat(locale, { month, timeZone: "UTC" }),
    // As it stands beside a day, it may end otherwise.
    new Intl.DateTimeFormat(locale, { month, day: "numeric", timeZone: "UTC" }),
  ]);
  return Array.from({ length: 12 }, (_, at) => {
    const day = new Date(Date.UTC(2026, at, 15));
    const named = forms.map((form) => form.formatToParts(day).find(({ type }) => type === "month")?.value ?? "");
    return [...new Set(named.flatMap((name) => wordsOf(name)))];
  });
}

/** Whether an entry is found, and how well. @param {Findable} entry @param {Term[]} terms @returns {Match | null} */
export function matchOf(entry, terms) {
  let rank = 0;
  let byNote = false;
  for (const { words, days } of terms) {
    let found = days.length > 0 && isOnAny(entry.days, days) ? IN_LINE : -1;
    if (found < 0) {
      for (const word of words) {
        const each = rankOf(entry, word);
        if (each < 0) return null;
        found = Math.max(found, each);
      }
    }
    byNote ||= found === IN_NOTE;
    rank += found;
  }
  return { rank, byNote };
}

/** @param {Findable} entry @param {string} word folded @returns {number} below 0: it is not there */
function rankOf({ title, line, noted }, word) {
  // Most entries are out after these two, and a key has no time for more.
  const isInLine = line.includes(word);
  if (!isInLine && !noted.includes(word)) return -1;
  const begun = ` ${word}`;
  const mayBeInside = word.length >= LEAST_INSIDE;
  if (isInLine) {
    if (title.includes(begun)) return IN_TITLE;
    if (line.includes(begun)) return IN_LINE;
    if (mayBeInside) return INSIDE;
  }
  return noted.includes(mayBeInside ? word : begun) ? IN_NOTE : -1;
}

/** @param {string[]} entry ISO 8601 @param {Told[]} days */
function isOnAny(entry, days) {
  for (const iso of entry) for (const day of days) if (isOn(iso, day)) return true;
  return false;
}

/** @param {string} iso @param {Told} day */
function isOn(iso, { year, month, day }) {
  return (
    (year === undefined || iso.startsWith(year)) &&
    (month === undefined || iso.slice(5, 7) === month) &&
    (day === undefined || iso.slice(8, 10) === day)
  );
}

/** The first of some notes that holds a word which the entry itself does not. @param {Findable} entry
 * @param {string[]} notes as they were written @param {Term[]} terms @returns {string} */
export function noteOf(entry, notes, terms) {
  const sought = terms.flatMap(({ words }) => words).filter((word) => rankOf({ ...entry, noted: "" }, word) < 0);
  return notes.find((note) => sought.some((word) => lineOf(note).includes(word))) ?? notes[0] ?? "";
}
