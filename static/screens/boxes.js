/** The boxes of a form that are typed in or chosen from. */

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
