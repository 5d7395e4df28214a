/** A dialog that waits for its answer. */
import { slot } from "./dom.js";

/**
 * Show a dialog that has a button to go back, until `fill` ends it.
 * @template T @param {DocumentFragment} template with the dialog
 * @param {(dialog: HTMLDialogElement, end: (answer: T | null) => void) => void} fill
 * @param {(dialog: HTMLDialogElement) => void} [shown] once it has its place
 * @returns {Promise<T | null>} null if she went back
 */
export function ask(template, fill, shown = () => {}) {
  const dialog = /** @type {HTMLDialogElement} */ (template.querySelector("dialog"));
  return new Promise((resolve) => {
    const end = (/** @type {T | null} */ answer) => {
      dialog.close();
      dialog.remove();
      resolve(answer);
    };
    slot(dialog, "back").addEventListener("click", () => end(null));
    dialog.addEventListener("cancel", (event) => {
      event.preventDefault();
      end(null);
    });
    fill(dialog, end);
    document.body.append(dialog);
    dialog.showModal();
    shown(dialog);
  });
}
