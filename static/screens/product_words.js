/** A product's file in words: its parts, and how a question was answered. */
import { message, t, worded } from "../words/door.js";

/** @typedef {import("../products/parts.js").Key} Key */

/** @type {Record<Key, import("../words/door.js").Message>} */
const PARTS = {
  what: message("What it is"),
  recipe: message("Recipe"),
  materials: message("Materials, sheets and certificates"),
  findings: message("Hazard class and net content"),
  label: message("Label"),
  tests: message("Burn tests"),
  risks: message("Risks"),
  batches: message("Batches"),
  complaints: message("Complaints and accidents"),
};

/** @param {Key} key */
export const partText = (key) => worded(PARTS[key]);

/** @param {"open" | "yes" | "no"} answer */
export function answerText(answer) {
  switch (answer) {
    case "yes":
      return t("yes, and something was done");
    case "no":
      return t("no");
    case "open":
      return t("not answered yet");
  }
}

/** @type {Record<string, import("../words/door.js").Message>} */
const HARMS = {
  unknown: message("not known yet"),
  none: message("none"),
  damage: message("something was damaged"),
  injury: message("somebody was hurt"),
};

/** @param {unknown} harm */
export const harmText = (harm) => worded(HARMS[String(harm)] ?? HARMS.unknown);
