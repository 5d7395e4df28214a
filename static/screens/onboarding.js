/** What a first pour needs, and what of it is still missing. */
import { all } from "../records/store.js";
import { slot } from "./dom.js";

/** Each kind in its turn, in words. @type {[string, string][]} */
export const FIRSTS = [
  ["vessel", "A vessel, and how much it takes"],
  ["wax", "A wax"],
  ["fragrance", "A fragrance, unless it has no scent"],
  ["recipe", "A recipe: those three, and a load"],
];

/** The first kind that is missing; null once there is a recipe. @param {boolean[]} there @returns {string | null} */
export function nextOf(there) {
  return there[FIRSTS.length - 1] ? null : FIRSTS[there.indexOf(false)][0];
}

/** @returns {Promise<string | null>} as `nextOf` */
export async function missing() {
  return nextOf(await Promise.all(FIRSTS.map(async ([kind]) => (await all(kind)).length > 0)));
}

/** Name what comes next on a link that leads there. @param {any} link @param {string} kind */
export function leadTo(link, kind) {
  link.href = `#/edit/${kind}/new`;
  link.textContent = `${kind === FIRSTS[0][0] ? "First" : "Next"}: a ${kind}`;
}

/** The foot of a screen that has nothing to show yet: on to what is missing, else to what fills it.
 * @param {HTMLElement} place @param {string} href @param {string} text */
export async function leadOn(place, href, text) {
  const kind = await missing();
  const link = slot(place, "next");
  if (kind !== null) leadTo(link, kind);
  else [link.href, link.textContent] = [href, text];
  slot(place, "first").hidden = false;
}
