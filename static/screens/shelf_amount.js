/** An amount of a material as she types it. */
import { parseNumber } from "../formulas/units.js";
import { InputError } from "../words/door.js";

/** The most that a shelf holds of anything, grams or pieces. */
const MOST = 1e6;

/** @param {string} text @param {boolean} pieces @param {import("../bench/display_units.js").DisplayUnits} units
 * @returns {number} grams or pieces @throws {InputError} it is none, below nothing, or far too much */
export function readAmount(text, pieces, units) {
  if (text.trim() === "") throw new InputError("Say how much it is.", {}, "amount");
  const amount = pieces ? parseNumber(text.replace(/\s*\p{L}+\.?\s*$/u, "")) : units.read(text, "mass");
  if (pieces && !Number.isInteger(amount))
    throw new InputError("Pieces are whole: write a whole number.", {}, "amount");
  if (amount < 0) throw new InputError("It can't be less than nothing.", {}, "amount");
  if (amount > MOST) throw new InputError("That is far too much for a shelf: check it.", {}, "amount");
  return amount;
}
