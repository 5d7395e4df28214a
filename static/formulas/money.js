/**
 * Money: whole minor units (such as cents) of one currency, never a float.
 *
 * How many decimals a currency has is ISO 4217's (list one, as maintained by SIX in 2024): two, but for those below.
 */
import { InputError } from "../words/door.js";

const NONE = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF".split(" ");
const THREE = "BHD IQD JOD KWD LYD OMR TND".split(" ");
const FOUR = "CLF UYW".split(" ");

/** As many minor units as a price may have, so that sums of thousands stay exact. */
export const MOST_MINOR = 100_000_000_000;

/** Decimals of a currency, 0 to 4. @param {string} [currency] its code of ISO 4217; without: two */
export function digitsOf(currency = "") {
  if (NONE.includes(currency)) return 0;
  if (THREE.includes(currency)) return 3;
  return FOUR.includes(currency) ? 4 : 2;
}

/**
 * An amount as a person types it: '84.50', '84,5', '1 234,50', '€ 12'.
 * @param {string} text a sign or code of money around it is let be @param {string} [currency]
 * @returns {number} whole minor units, 0 to `MOST_MINOR`
 * @throws {InputError} no amount, more decimals than the currency has, below nothing, or absurdly large
 */
export function parseMoney(text, currency) {
  const typed = text.trim();
  const digits = digitsOf(currency);
  const bare = typed
    .replace(/^[\p{Sc}A-Za-z.\s]*(?=[\d−+-])|[\p{Sc}A-Za-z\s]+$/gu, "")
    .replace(/[\s'’\u202f\u00a0]/g, "");
  if (/^[-−]/.test(bare))
    throw new InputError("“{typed}” is below nothing: write it without the minus.", { typed }, "text");
  const [, whole, part] = /^(\d[\d.,]*?)(?:[.,](\d*))?$/.exec(bare) ?? [];
  if (whole === undefined)
    throw new InputError("Can't read “{typed}”: write an amount, such as 84.50.", { typed }, "text");
  const grouped = /[.,]/.exec(whole)?.[0];
  const groups = grouped === undefined ? [whole] : whole.split(grouped);
  const isGrouped = groups.length > 1;
  const decimal = part === undefined ? "" : bare[whole.length];
  // '1.234.567': the same sign again parts thousands too.
  const [units, decimals] = isGrouped && decimal === grouped ? [[...groups, part ?? ""], ""] : [groups, part ?? ""];
  if (isGrouped && (units[0].length > 3 || units.slice(1).some((each) => !/^\d{3}$/.test(each)))) {
    throw new InputError("Can't read “{typed}”: write an amount, such as 84.50.", { typed }, "text");
  }
  if (decimals.length > digits) {
    throw digits === 0
      ? new InputError("“{typed}” has decimals, and this money has none: write a whole number.", { typed }, "text")
      : new InputError(
          "“{typed}” has more than {n} decimals: write it with {n} at most.",
          { typed, n: digits },
          "text",
        );
  }
  const minor = Number(units.join("") + decimals.padEnd(digits, "0"));
  if (!(minor <= MOST_MINOR)) throw new InputError("“{typed}” is far too much: check it.", { typed }, "text");
  return minor;
}

/** An amount as digits with a full stop, such as '84.50', for a text box or a table.
 * @param {number} minor whole minor units @param {string} [currency] */
export function plainMoney(minor, currency) {
  const digits = digitsOf(currency);
  const text = String(Math.abs(minor)).padStart(digits + 1, "0");
  const sign = minor < 0 ? "-" : "";
  return digits === 0 ? sign + text : `${sign}${text.slice(0, -digits)}.${text.slice(-digits)}`;
}
