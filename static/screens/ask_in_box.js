/** A question that is answered in a box: with words, an amount or a day. */
import { InputError, t } from "../words/door.js";
import { h } from "./dom.js";

/** @param {string} question @returns {Promise<string | null>} null if she went back */
export function askWhy(question) {
  return askInBox(question, "", (text) => text);
}

/**
 * Ask until what is typed can be read.
 * @template T @param {string} question @param {string} shown what stands in the box @param {(text: string) => T} read
 * @param {"text" | "date"} [type] of the box @param {string} [done] what the button says
 * @returns {Promise<T | null>} null if she went back
 */
export function askInBox(question, shown, read, type = "text", done = t("Save")) {
  const error = h("p", { class: "error", role: "alert", id: "asked-error", hidden: true });
  const box = /** @type {HTMLInputElement} */ (
    h("input", {
      ...{ type, value: shown, maxlength: 200, required: true, autocomplete: "off" },
      "aria-describedby": "asked-error",
    })
  );
  const back = h("button", { type: "button", class: "quiet" }, t("Back"));
  const form = /** @type {HTMLFormElement} */ (
    h(
      "form",
      {},
      h("label", {}, h("span", { class: "name" }, question), box),
      error,
      h("button", { class: "go" }, done),
      back,
    )
  );
  const dialog = /** @type {HTMLDialogElement} */ (h("dialog", { class: "ask" }, form));
  document.body.append(dialog);
  dialog.showModal();
  /** @type {T | null} */
  let answer = null;
  const say = (/** @type {string} */ text) => {
    error.textContent = text;
    error.hidden = text === "";
  };
  return new Promise((resolve) => {
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      try {
        answer = read(box.value.trim());
        dialog.close();
      } catch (problem) {
        if (!(problem instanceof InputError)) throw problem;
        say(problem.message);
        box.focus();
      }
    });
    back.addEventListener("click", () => dialog.close());
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(answer);
    });
  });
}
