/** A product's file in words: its parts, and how a question was answered. */
import { isDay } from "../products/kept_for.js";
import { message, t, worded } from "../words/door.js";
import { wholeDayText } from "../words/whole_days.js";
import { fieldInWords } from "./form_words.js";

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

/** What came to harm, as its form says it. @param {unknown} harm */
export const harmText = (harm) =>
  fieldInWords("complaint", "harm", harm ?? "unknown", /** @type {any} */ ({}), () => undefined).text;

/** A day with its year, where it is one; "" where none is told. @param {unknown} day */
export const dayOrNone = (day) => (isDay(day) ? wholeDayText(day) : String(day ?? ""));

/** What is told of a complaint, but who said so. @param {Record<string, any>} complaint @returns {[string, unknown][]} */
export const complaintFacts = ({ harm, code, n, happened_on, heard_on, place, wants }) => [
  [t("Harm"), harmText(harm)],
  [t("Batch code"), code],
  [t("Candles"), n],
  [t("It happened on"), dayOrNone(happened_on)],
  [t("Heard of on"), dayOrNone(heard_on)],
  [t("Where"), place],
  [t("They ask for"), wants],
];

/** Facts that say something. @param {[string, unknown][]} rows @returns {[string, string][]} */
export const told = (rows) =>
  rows.flatMap(([name, value]) =>
    value || value === 0 ? [/** @type {[string, string]} */ ([name, String(value)])] : [],
  );
