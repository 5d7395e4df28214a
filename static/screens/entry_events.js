/** The events of a pour in the log's words, and what of them can be corrected. */

import { SAYS } from "../bench/due.js";
import { message, t, worded } from "../words/door.js";

/** @typedef {import("../records/store.js").AnyEvent} AnyEvent */
/** @typedef {import("../bench/sheet.js").Sheet} Sheet */

/** The field of an event that can be corrected. @type {Record<string, string | undefined>} */
export const CORRECTABLE = { read: "temp_c", weighed: "read_g", poured: "read_g", set: "on" };

/** @type {Record<string, ((event: AnyEvent, sheet: Sheet) => string) | undefined>} */
const WORDS = {
  ready: () => t("Made ready"),
  weighed: (event, sheet) => t("Weighed {part}", { part: partOf(event, sheet) }),
  accepted: (event, sheet) => t("Kept {part} as it was", { part: partOf(event, sheet) }),
  melted: () => t("All melted"),
  read: () => t("Thermometer read"),
  warmed: () => t("Back on the heat"),
  went_on: () => t("Went on at temperature"),
  added: () => t("Fragrance in, stirring"),
  stirred: () => t("Stirred"),
  poured: () => t("Filled a vessel"),
  emptied: () => t("Filled the rest, not one by one"),
  set: () => t("Set aside"),
  finished: () => t("Trimmed and put away to cure"),
  noted: ({ text }) => t("Note: {text}", { text }),
  seen_to: ({ reminder }) => t("Seen to: {reminder}", { reminder: SAYS[reminder] ?? "" }),
  put_off: ({ reminder }) => t("Put off: {reminder}", { reminder: SAYS[reminder] ?? "" }),
  burned: ({ text }) => (text ? t("Test burn: {text}", { text }) : t("Test burn")),
};

/** @param {AnyEvent} event @param {Sheet} sheet */
export function inWords(event, sheet) {
  return WORDS[event.type]?.(event, sheet) ?? event.type;
}

/** What was weighed. @param {AnyEvent} event @param {Sheet} sheet @returns {string} */
function partOf({ part, index }, sheet) {
  switch (part) {
    case "wax":
      return sheet.waxes[index]?.name ?? t("wax");
    case "additive":
      return sheet.extras[index]?.name ?? t("additive");
    case "fragrance":
      return sheet.oils[index]?.name ?? t("fragrance");
    case "restore":
      return t("wax to restore the load");
    default:
      return "";
  }
}

/** How the tops looked. @type {Record<string, import("../words/door.js").Message | undefined>} */
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
