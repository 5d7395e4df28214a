/** The code by which a batch is told from all others, on a label or aloud. Pure. */
import { batchCode } from "../formulas/batch_code.js";
import { InputError } from "../words/door.js";

/** @typedef {Pick<import("../bench/pours.js").Pour, "id" | "record">} Pour */

/**
 * Its day is by universal time, so that it is the same on every phone and never changes: the day that she left the batch
 * to set may be set right later, and what is printed stays.
 * @param {Pour} pour @returns {string | null} null: it began on a day that no code can tell
 */
export function codeOf({ id, record }) {
  try {
    return batchCode(new Date(record.started_at).toISOString().slice(0, 10), id);
  } catch (error) {
    if (error instanceof InputError || error instanceof RangeError) return null;
    throw error;
  }
}
