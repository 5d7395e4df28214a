/** Numbers in the language that is spoken. Its twin is `benchapp/words/numbers.py`. */
import { locale } from "./door.js";

/** Decimal signs by the language that they were asked for. The first is known: to ask the browser for its first number
 * takes as long as to draw the board. @type {Map<string, string>} */
const signs = new Map([["en-GB", "."]]);

/** What stands before the decimals. */
export function decimalSign() {
  const tag = locale();
  let sign = signs.get(tag);
  if (sign === undefined) {
    const parts = new Intl.NumberFormat(tag).formatToParts(0.5);
    sign = parts.find(({ type }) => type === "decimal")?.value ?? ".";
    signs.set(tag, sign);
  }
  return sign;
}

/** A number as the language has it. @param {string} plain digits, and a full stop before the decimals */
export function numberText(plain) {
  return plain.includes(".") ? plain.replace(".", decimalSign()) : plain;
}
