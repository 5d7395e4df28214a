/** The boxes of a form that are typed in or chosen from. */

/** @typedef {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} Box */

const BOXES = "input, select, textarea";

/** @param {ParentNode} root @returns {Box[]} */
export function boxesOf(root) {
  return /** @type {Box[]} */ ([...root.querySelectorAll(BOXES)]);
}

/** The box of a field that is no rows. @param {HTMLElement} field @returns {Box} */
export function boxOf(field) {
  return /** @type {Box} */ (field.querySelector(BOXES));
}
