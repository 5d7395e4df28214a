/** The shape of what the board says. */

/** @typedef {import("../records/event_types.js").NewPourEvent} NewEvent */
/**
 * @typedef {object} Action what a button does: keep an event, let some not count, or open the pad for a reading
 * @property {string} label
 * @property {NewEvent} [event]
 * @property {"weigh" | "temperature" | "vessel" | "left" | "other"} [pad]
 * @property {number | null} [expected] the mark of a scale, base unit: taken in one touch, or nudged. null: only what an
 *   instrument tells, or she herself says aloud, is taken in one touch; a temperature is never expected
 * @property {string[]} [undo] events that count no more
 * @property {"fragrance" | "countdown" | "more"} [view] look at another part of the step, keeping nothing
 */
/**
 * @typedef {object} Prompt
 * @property {string} step
 * @property {string} title
 * @property {string} doing
 * @property {string} number
 * @property {string} unit
 * @property {string[]} lines
 * @property {{low_g: number, target_g: number, high_g: number, read_g: number | null} | null} beam
 * @property {string[]} checks
 * @property {string[]} cautions
 * @property {boolean} chart
 * @property {string} say
 * @property {Action | null} main
 * @property {Action[]} others
 */

/** A prompt with what it does not say left empty. @param {Partial<Prompt> & {step: string, title: string}} said @returns {Prompt} */
export function prompt(said) {
  return {
    doing: "",
    number: "",
    unit: "",
    lines: [],
    beam: null,
    checks: [],
    cautions: [],
    chart: false,
    say: "",
    main: null,
    others: [],
    ...said,
  };
}
