/** The boxes of a form that are typed in or chosen from. */
import { InputError } from "../words/door.js";

/** @typedef {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} Box */

const BOXES = "input, select, textarea";

/** @param {ParentNode} root @returns {Box[]} */
export function boxesOf(root) {
  return /** @type {Box[]} */ ([...root.querySelectorAll(BOXES)]);
}

/** Say beside a box what is wrong with what is typed in it; "": nothing. @param {HTMLElement} box
 * @param {HTMLElement} error the place beside it @param {string} problem */
export function sayBeside(box, error, problem) {
  error.textContent = problem;
  error.hidden = problem === "";
  box.setAttribute("aria-invalid", String(problem !== ""));
}

/** The box of a field that is no rows. @param {HTMLElement} field @returns {Box} */
export function boxOf(field) {
  return /** @type {Box} */ (field.querySelector(BOXES));
}

/** A count as it was typed. @param {string} text @param {number} most @returns {number} 1 or more @throws {InputError} */
export function wholeUpTo(text, most) {
  const n = /^\d{1,6}$/.test(text) ? Number(text) : Number.NaN;
  if (!(n >= 1 && n <= most)) throw new InputError("Write a whole number from 1 to {most}.", { most });
  return n;
}
