/** What the log says of what was found, in words. */

import { isFiltered } from "../find/filters.js";
import { plural, t } from "../words/door.js";
import { filtersInWords } from "./log_filters.js";

/** @typedef {import("../find/filters.js").Asked} Asked */
/** @typedef {Map<string, import("../find/found.js").Found>} Entries */

/** @param {Asked} asked */
export const isSearched = ({ words }) => words.trim() !== "";

/** @param {Asked} asked */
export const isAsked = (asked) => isSearched(asked) || isFiltered(asked);

/** How much is found. @param {number} n @param {Asked} asked @param {Entries} entries */
export function countText(n, asked, entries) {
  if (!isAsked(asked)) return n > 0 ? plural(n, "{n} pour", "{n} pours") : "";
  const count = plural(n, "{n} found", "{n} found");
  return isFiltered(asked) ? t("{count}: {chosen}", { count, chosen: filtersInWords(asked, entries) }) : count;
}

/** How much could not be found yet. @param {number} n */
export const leftText = (n) => plural(n, "{n} is still to be read.", "{n} are still to be read.");

/** Where nothing is found. @param {Asked} asked @param {Entries} entries
 * @param {number} near codes that are one slip away from what is typed */
export function nothingText(asked, entries, near) {
  if (near > 0) return t("These are one slip away from it. Look at the label again.");
  const chosen = filtersInWords(asked, entries);
  const words = asked.words.trim();
  if (!isSearched(asked)) return t("There is no such pour: {chosen}.", { chosen });
  return chosen
    ? t("None of these pours has “{words}”: {chosen}.", { words, chosen })
    : t("Nothing that is kept here has “{words}”.", { words });
}

/** What this version can't read. @param {number} n */
export function unreadText(n) {
  return plural(
    n,
    "This version of the bench can't read one pour. Nothing is lost: it is saved, and every copy has it.",
    "This version of the bench can't read {n} pours. Nothing is lost: they are saved, and every copy has them.",
  );
}
