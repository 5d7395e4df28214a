/** What the pages of a pour and of a burn test have alike: adding a note, and deleting it all or bringing it back. */
import * as store from "../records/store.js";
import { whyDeleted } from "./deleting.js";
import { showToast, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { tryToKeep } from "./screen.js";

/** Let her add a note; what she typed is not lost. @param {HTMLElement} place with the form @param {string} id
 * @param {(event: {type: "noted", text: string}) => Promise<boolean>} keep */
export function takeNotes(place, id, keep) {
  const forget = keepDraft(slot(place, "add"), `draft note ${id}`);
  slot(place, "add").addEventListener("submit", async (/** @type {Event} */ event) => {
    event.preventDefault();
    const box = slot(place, "note");
    const text = box.value.trim();
    if (text !== "" && (await keep({ type: "noted", text }))) {
      box.value = "";
      forget();
    }
  });
}

/**
 * Let a button delete a record, once it is touched a second time; or bring a deleted one back.
 * @param {HTMLElement} button @param {string} kind @param {string} id
 * @param {{isDeleted: () => boolean, sure: string, told: string, leave: () => void}} says `sure` asks, `told` is said then
 */
export function deleteBy(button, kind, id, { isDeleted, sure, told, leave }) {
  button.addEventListener("click", async () => {
    if (isDeleted()) await tryToKeep(() => store.save(kind, id, { deleted: false }));
    else if (button.dataset.sure !== "yes") {
      button.dataset.sure = "yes";
      button.textContent = sure;
    } else if (await deleteRecord(kind, id)) {
      showToast(told);
      leave();
    }
  });
}

/** Delete a record, and keep why where it belongs to a product's file. @param {string} kind @param {string} id
 * @returns {Promise<boolean>} whether it is deleted */
export async function deleteRecord(kind, id) {
  const why = await whyDeleted(kind, id);
  return why !== null && tryToKeep(() => store.remove(kind, id, why));
}
