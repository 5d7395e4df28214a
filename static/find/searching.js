/** What is found, in the order in which it is shown. Pure. */
import { LENGTH, MEANT, readCode, SIGNS } from "../formulas/batch_code.js";
import { InputError } from "../words/door.js";
import { matchOf, termsOf } from "./asking.js";
import { isAmong, isFiltered } from "./filters.js";

/** @typedef {import("./found.js").Found} Found */
/** @typedef {import("./filters.js").Asked} Asked */
/** @typedef {{entry: Found, rank: number, byNote?: boolean, byCode?: boolean}} Hit `byNote`: some of it is in a note alone;
 * `byCode`: by the code of its batch */

/** So few signs may be any word. */
const LEAST_SIGNS = 4;

/**
 * @param {Found[]} entries in the order of `byOrder` @param {Asked} asked @param {string} today ISO 8601
 * @param {string[][]} months their names: `monthNames`
 * @returns {Hit[]} the best first, and of these the newest; where nothing is typed, all pours that are among those chosen
 */
export function search(entries, asked, today, months) {
  const terms = termsOf(asked.words, months);
  const signs = signsIn(asked.words);
  const poursOnly = terms.length === 0 || isFiltered(asked);
  /** By rank: each in the order of the entries. @type {Hit[][]} */
  const ranks = [];
  const keep = (/** @type {Hit} */ hit) => (ranks[hit.rank] ??= []).push(hit);
  for (const entry of entries) {
    const { pour } = entry;
    if (poursOnly && pour === undefined) continue;
    if (pour && !isAmong(pour, entry.at, asked, today)) continue;
    if (signs && pour?.code && bare(pour.code).startsWith(signs)) keep({ entry, rank: 0, byCode: true });
    else {
      const match = matchOf(entry, terms);
      if (match) keep({ entry, rank: match.rank, byNote: match.byNote });
    }
  }
  return ranks.flat();
}

/** @param {string} code */
const bare = (code) => code.replace("-", "");

/** What is typed, as signs of a batch code; '' where it can't be the beginning of one. @param {string} text */
function signsIn(text) {
  const typed = text.replace(/[\s._/–—-]/g, "").toUpperCase();
  const signs = Array.from(typed, (sign) => (Object.hasOwn(MEANT, sign) ? MEANT[sign] : sign));
  const isCode = signs.length >= LEAST_SIGNS && signs.length <= LENGTH && signs.every((sign) => SIGNS.includes(sign));
  return isCode && /\d/.test(typed) ? signs.join("") : "";
}

/**
 * What is typed, if it may be meant as a batch code: what is wrong with it, and the batches whose codes are but one slip
 * away; null where it is none.
 * @param {string} text @param {Found[]} entries @returns {{problem: InputError, near: Hit[]} | null}
 */
export function codeProblem(text, entries) {
  const signs = signsIn(text);
  const typed = text.trim();
  // A word of eight letters may be one of a code's signs, and is a word all the same.
  if (Math.abs(signs.length - LENGTH) > 1 || !/^\S+(?: \S{4})?$/.test(typed)) return null;
  const near = entries.flatMap((entry) =>
    entry.pour?.code && isNear(bare(entry.pour.code), signs) ? [{ entry, rank: 0, byCode: true }] : [],
  );
  try {
    const { code } = readCode(typed);
    return { problem: new InputError("No pour that is kept here has the code {code}.", { code }), near };
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    return { problem, near };
  }
}

/** @param {string} text */
export function isWholeCode(text) {
  try {
    readCode(text);
    return true;
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return false;
  }
}

/** Whether one sign is another, is missing, or two beside each other have changed places.
 * @param {string} code @param {string} signs */
function isNear(code, signs) {
  let at = 0;
  while (at < signs.length && code[at] === signs[at]) at += 1;
  const [rest, typed] = [code.slice(at), signs.slice(at)];
  if (rest.length === typed.length + 1) return rest.slice(1) === typed;
  if (rest.length !== typed.length) return false;
  if (rest.slice(1) === typed.slice(1)) return true;
  return rest[0] === typed[1] && rest[1] === typed[0] && rest.slice(2) === typed.slice(2);
}
