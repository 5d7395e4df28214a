/** What a first pour needs, and what of it is still missing. */

import { all } from "../records/store.js";
import { message, worded } from "../words/door.js";
import { slot } from "./dom.js";

/** @typedef {import("../words/door.js").Message} Message */

/** Each kind in its turn, in words. @type {[string, Message][]} */
export const FIRSTS = [
  ["vessel", message("A vessel, and how much it takes")],
  ["wax", message("A wax")],
  ["fragrance", message("A fragrance, if you want scent")],
  ["recipe", message("A recipe, which puts them together")],
];

/** What leads to each. @type {Record<string, Message>} */
const LEADS = {
  vessel: message("First: a vessel"),
  wax: message("Next: a wax"),
  fragrance: message("Next: a fragrance"),
  recipe: message("Next: a recipe"),
};

/** The first kind that is missing; null once there is a recipe. @param {boolean[]} there @returns {string | null} */
export function nextOf(there) {
  return there[FIRSTS.length - 1] ? null : FIRSTS[there.indexOf(false)][0];
}

/** @returns {Promise<string | null>} as `nextOf` */
export async function missing() {
  return nextOf(await Promise.all(FIRSTS.map(async ([kind]) => (await all(kind)).length > 0)));
}

/** Name what comes next on a link that leads there. @param {HTMLAnchorElement} link @param {string} kind */
export function leadTo(link, kind) {
  link.href = `#/edit/${kind}/new`;
  link.textContent = worded(LEADS[kind]);
}

/** The foot of a screen that has nothing to show yet: on to what is missing, else to what fills it; none where it
 * is not empty. @param {HTMLElement} place @param {boolean} empty @param {string} href @param {string} text */
export async function leadOn(place, empty, href, text) {
  const kind = empty ? await missing() : null;
  const link = slot(place, "next");
  if (kind !== null) leadTo(link, kind);
  else [link.href, link.textContent] = [href, text];
  link.hidden = !empty;
}
