/** What the desk is asked of a batch's weights, and what it has found of them before. Pure. */
import { write } from "../formulas/rounding.js";
import { InputError } from "../words/door.js";

/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("./weights.js").Batch} Batch */
/** @typedef {"eu" | "gb" | "us"} Law */
/**
 * @typedef {object} Said what she said of it
 * @property {Law} law
 * @property {number | null} stated_g what the label is to state; null: she wants to know the most
 * @property {"g" | "oz" | null} unit in which that is stated, where the law leaves it open
 * @property {boolean} countMarks where she touched the scale's mark, the scale showed just that
 * @property {Record<string, string> | null} panel its shape, and its sides in millimetres
 */

/** What the desk takes. */
const MILLIONTH = 1e-6;

/** A number as the desk reads it: in decimals, to the millionth. @param {number} value */
export const decimals = (value) => write(value, MILLIONTH);

/**
 * The question to the desk, with what the bench keeps beside it: the recipe, the vessel and what it holds.
 * @param {Batch} batch @param {{recipe: string, step_g: number}} sheet @param {Said} said
 * @throws {InputError} there is no weight that counts, or one is none
 */
export function askedOf(batch, { recipe, step_g }, { law, stated_g, unit, countMarks, panel }) {
  const weights = countMarks ? batch.weights : batch.weights.filter(({ isMark }) => !isMark);
  if (weights.length === 0)
    throw new InputError("No weight of these was read, so nothing can be said of them.", {}, "weights_g");
  if (weights.some(({ grams }) => !(grams > 0)))
    throw new InputError("One of these is kept as weighing nothing: set it right on the pour's page.", {}, "weights_g");
  return {
    recipe,
    vessel: batch.key,
    most_g: batch.most_g,
    law,
    weights_g: weights.map(({ grams }) => decimals(grams)),
    marks: weights.flatMap(({ isMark }, place) => (isMark ? [place] : [])),
    step_g: decimals(step_g),
    of: batch.of,
    stated_g: stated_g === null ? null : decimals(stated_g),
    unit,
    panel,
  };
}

/** @typedef {ReturnType<typeof askedOf>} Asked */

/** The question without what is kept beside it. @param {Asked} asked */
export function questionOf({ recipe: _recipe, vessel: _vessel, most_g: _most, ...question }) {
  return question;
}

/** Those findings that say of what they are; another version may have kept others. @param {Plain[]} findings */
export function readable(findings) {
  return findings.filter(({ asked, found }) => {
    const isList = Array.isArray(asked?.weights_g) && Array.isArray(asked.marks) && asked.weights_g.length > 0;
    return (
      isList && typeof found?.mean === "string" && asked.weights_g.every((/** @type {unknown} */ g) => Number(g) > 0)
    );
  });
}

/** The newest of some findings; undefined: there is none. @param {Plain[]} findings
 * @param {(finding: Plain) => boolean} [which] */
export function newest(findings, which = () => true) {
  return findings
    .filter(which)
    .reduce(
      (/** @type {Plain | undefined} */ last, each) => (last && last.made_at >= each.made_at ? last : each),
      undefined,
    );
}

/** Whether the batch's weights are others than those that a finding rests on.
 * @param {Plain} finding @param {Batch} batch @param {{recipe: string, step_g: number}} sheet */
export function isOutdated({ asked }, batch, sheet) {
  const countMarks = asked.marks.length > 0;
  const said = { law: asked.law, stated_g: null, unit: null, countMarks, panel: null };
  try {
    const now = askedOf(batch, sheet, said);
    const same = (/** @type {Asked} */ { weights_g, marks, step_g, of }) =>
      JSON.stringify([weights_g, marks, step_g, of]);
    return same(now) !== same(asked);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return true;
  }
}
