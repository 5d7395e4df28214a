/** A question that is answered in words. */
import { t } from "../words/door.js";
import { h } from "./dom.js";

/** @param {string} question @returns {Promise<string | null>} null if she went back */
export function askWhy(question) {
  const box = /** @type {HTMLInputElement} */ (
    h("input", { type: "text", maxlength: 200, required: true, autocomplete: "off" })
  );
  const form = h(
    "form",
    { method: "dialog" },
    h("label", {}, h("span", { class: "name" }, question), box),
    h("button", { value: "keep", class: "go" }, t("Save")),
    h("button", { value: "back", class: "quiet", formnovalidate: true }, t("Back")),
  );
  const dialog = /** @type {HTMLDialogElement} */ (h("dialog", { class: "ask" }, form));
  document.body.append(dialog);
  dialog.showModal();
  return new Promise((resolve) => {
    dialog.addEventListener("close", () => {
      dialog.remove();
      const why = box.value.trim();
      resolve(dialog.returnValue === "keep" && why !== "" ? why : null);
    });
  });
}
