/** How the tops of a batch looked, in words. */

import { message, worded } from "../words/door.js";

/** @type {Record<string, import("../words/door.js").Message | undefined>} */
const TOPS = {
  smooth: message("smooth"),
  frosted: message("frosted"),
  rough: message("rough"),
  sunk: message("sunk"),
  cracked: message("cracked"),
  "wet spots": message("wet spots"),
  sweating: message("sweating"),
};

/** @param {string} tops as it is kept */
export function topsInWords(tops) {
  const known = Object.hasOwn(TOPS, tops) ? TOPS[tops] : undefined;
  return known ? worded(known) : tops;
}
