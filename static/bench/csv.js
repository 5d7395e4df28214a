/** Tables for a spreadsheet: CSV as RFC 4180 has it, and cells that no spreadsheet runs as a formula. */

/** Spreadsheets take a file for UTF-8 where it begins with this. */
const MARK = "\ufeff";

/**
 * @typedef {object} Style how a spreadsheet of her country writes tables
 * @property {string} separator between cells: a comma, or a semicolon where decimals have the comma
 * @property {string} decimal what stands before decimals
 */

/** @type {Style} */
export const POINTS = { separator: ",", decimal: "." };
/** @type {Style} */
export const COMMAS = { separator: ";", decimal: "," };

/** The text of a file. A number is written as a number; text is made harmless and quoted.
 * @param {(string | number)[][]} rows @param {Style} [style] */
export function csvOf(rows, { separator, decimal } = POINTS) {
  const cell = (/** @type {string | number} */ value) =>
    typeof value === "number" ? String(value).replace(".", decimal) : `"${harmless(value).replaceAll('"', '""')}"`;
  return MARK + rows.map((row) => `${row.map(cell).join(separator)}\r\n`).join("");
}

/**
 * Text that begins like a formula gets an apostrophe, so that no spreadsheet runs it: OWASP, "CSV Injection"
 * (owasp.org/www-community/attacks/CSV_Injection). Text that has apostrophes there already gets one more, so that
 * `asItWas` gives all text back.
 * @param {string} text
 */
export function harmless(text) {
  return /^'*[=+\-@\t\r\n]/.test(text) ? `'${text}` : text;
}

/** Text as it was before it was made harmless. @param {string} text */
export function asItWas(text) {
  return /^'+[=+\-@\t\r\n]/.test(text) ? text.slice(1) : text;
}
