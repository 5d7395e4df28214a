/** What the form of a complaint fills in by itself, and the batch that its code tells. */
import { phoneNow } from "../bench/clock.js";
import { allPours } from "../bench/pours.js";
import { readCode } from "../formulas/batch_code.js";
import { codeOf } from "../shelf/batches.js";
import { localDate } from "../words/dates.js";
import { InputError } from "../words/door.js";
import { boxOf } from "./boxes.js";
import { fillField } from "./form.js";
import { ownField } from "./form_fields.js";
import { complain } from "./form_reading.js";

/** @typedef {import("./form_fields.js").Fields} Fields */

/** Letters of what happened that stand for it in short. */
const IN_SHORT = 60;

/**
 * Begin: heard of today, of the batch or the product from which it was opened; named by what happened.
 * @param {HTMLFormElement} form @param {string[]} begun where: at 'candle' and a code, or 'product' and a product; empty for
 *   one that is kept already
 * @param {import("./form_fields.js").DisplayUnits} units @param {(kind: string) => Fields[]} others
 */
export async function beginComplaint(form, [where, which], units, others) {
  const field = (/** @type {string} */ name) => /** @type {HTMLElement} */ (ownField(form, name));
  const box = (/** @type {string} */ name) => boxOf(field(name));
  const offer = (/** @type {string} */ name, /** @type {string} */ value) => {
    if (box(name).value === "") fillField(field(name), value, units, others);
  };
  const shorten = () => {
    const [line] = box("what").value.trim().split("\n");
    /** @type {HTMLInputElement} */ (box("name")).placeholder =
      line.length > IN_SHORT ? `${line.slice(0, IN_SHORT - 1).trimEnd()}…` : line;
  };
  box("what").addEventListener("input", shorten);
  shorten();
  if (where === "product") offer("product", which);
  if (where === "candle") offer("code", which);
  if (where || location.hash.endsWith("/new")) offer("heard_on", localDate(phoneNow()));
}

/**
 * The code as it is printed, and the batch that has it; says beside the box what is wrong with it.
 * @param {HTMLFormElement} form @param {Fields} values as they were read from it
 * @returns {Promise<{code?: string, pour: string | null} | null>} pour null: none that is kept here, or more than one; null: it
 *   is no code
 */
export async function readBatch(form, { code }) {
  if (!code) return { pour: null };
  try {
    const printed = readCode(code).code;
    const found = (await allPours()).filter((pour) => codeOf(pour) === printed);
    return { code: printed, pour: found.length === 1 ? found[0].id : null };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    complain(form, "code", error.message);
    return null;
  }
}
