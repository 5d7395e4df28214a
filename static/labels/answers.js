/** What the desk can't know of a label, and what she answered. Pure. */
/** @typedef {Record<string, any>} Fields */
/** @typedef {import("../words/door.js").Message} Message */
/** @typedef {Record<string, {text: string, at: number}>} Answers by question; at: ms */

/** What a question is known by, in whichever language it is asked and in whichever order its values come. @param {Message} asked */
export const keyOf = ({ template, values }) =>
  JSON.stringify([template, values], (_, each) =>
    each !== null && typeof each === "object" && !Array.isArray(each)
      ? Object.fromEntries(Object.entries(each).sort(([a], [b]) => (a < b ? -1 : 1)))
      : each,
  );

/** What she is asked, and has to look up. @param {Fields} report @returns {Message[]} */
export const askedOf = ({ look_up = [], questions = [] }) => [...look_up, ...questions];

/** Whether all of it fits, nothing is missing, and she has answered what the desk can't know.
 * @param {Fields | undefined} report @param {Answers} [answers] */
export function isFinished(report, answers = {}) {
  if (!report?.fits || report.missing.length > 0) return false;
  return askedOf(report).every((each) => Object.hasOwn(answers, keyOf(each)));
}

/** The answers that still belong to something that is asked. @param {Fields} report @param {Answers} answers @returns {Answers} */
export function answersTo(report, answers) {
  const keys = new Set(askedOf(report).map(keyOf));
  return Object.fromEntries(Object.entries(answers).filter(([key]) => keys.has(key)));
}
