/** What parts of a product's file are put together from: blocks of words, and days. */
import { localDate } from "../words/dates.js";
import { wholeDayText } from "../words/whole_days.js";
import { told } from "./product_words.js";

/** @typedef {import("./file_blocks.js").Block} Block */

/** @param {string} text @param {number} [level] @returns {Block} */
export const heading = (text, level = 3) => ({ is: "heading", text, level });
/** @param {string} text @returns {Block} */
export const line = (text) => ({ is: "text", text });
/** @param {string[]} items @returns {Block} */
export const list = (items) => ({ is: "list", items });
/** @param {[string, unknown][]} rows @returns {Block} those that say something */
export const facts = (rows) => ({ is: "facts", rows: told(rows) });
/** A day with its year. */
export const onDay = (/** @type {number} */ at_ms) => wholeDayText(localDate(at_ms));
/** @param {string[]} head @param {string[][]} rows @returns {Block} */
export const tableOf = (head, rows) => ({
  is: "table",
  head,
  rows: rows.map((row) => row.map((cell) => String(cell ?? ""))),
});
