/** How much room something takes, in words. */
import { roundTo } from "../formulas/rounding.js";
import { t } from "../words/door.js";
import { numberText } from "../words/numbers.js";

/** @param {number} value */
const tenths = (value) => numberText(String(roundTo(value, 0.1)));

/** @param {number} bytes */
export function sizeText(bytes) {
  if (bytes < 1e6) return t("{n}\u00a0kB", { n: Math.ceil(bytes / 1e3) });
  if (bytes < 1e9) return t("{n}\u00a0MB", { n: tenths(bytes / 1e6) });
  return t("{n}\u00a0GB", { n: tenths(bytes / 1e9) });
}
