/** How a batch came out, as she counts it the morning after. */
import { InputError } from "../words/door.js";
import { filledOf } from "./fold.js";

/** @typedef {{good?: number, seconds?: number, spoiled?: number}} Counts whole numbers; what she left empty is not there */

const NAMES = /** @type {const} */ (["good", "seconds", "spoiled"]);

/**
 * What she typed, checked against how many were filled.
 * @param {(name: "good" | "seconds" | "spoiled") => string} typed @param {import("./fold.js").PourState} state
 * @returns {Counts} @throws {InputError} a box holds no count, or all together are more than were filled
 */
export function readCounts(typed, state) {
  /** @type {Counts} */
  const counts = {};
  const { filled, others } = filledOf(state);
  let sum = 0;
  for (const name of NAMES) {
    const text = typed(name).trim();
    if (text === "") continue;
    if (!/^\d{1,4}$/.test(text)) throw new InputError("Type how many, as a whole number, or leave it empty.", {}, name);
    counts[name] = Number(text);
    sum += Number(text);
    if (sum > filled + others)
      throw new InputError("That is more than the {n} that were filled.", { n: filled + others }, name);
  }
  return counts;
}
