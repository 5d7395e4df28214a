/** The morning after: look, trim, label, and put the batch away to cure. */

import { now } from "../bench/clock.js";
import { nameOf } from "../bench/due.js";
import { addEvent, readPour, undoLast } from "../bench/pours.js";
import { ready } from "../formulas/cure.js";
import { StoreError } from "../records/store.js";
import { dayText } from "../words/dates.js";
import { cloneTemplate, rich, showToast, slot } from "./dom.js";
import { keepDraft } from "./form_draft.js";

/** @param {HTMLElement} place @param {string[]} path @param {any} context */
export async function show(place, [id], { go }) {
  const pour = await readPour(id);
  if (pour === null || pour.stage !== "setting") {
    go(pour === null ? "today" : pour.stage === "curing" ? `entry/${id}` : `pour/${id}/0`);
    return;
  }
  place.append(cloneTemplate("screen-trim"));
  const { sheet, state } = pour;
  const poured = /** @type {string} */ (state.set_on);
  slot(place, "name").textContent = nameOf(sheet);
  slot(place, "cured").replaceChildren(
    ...rich(
      `Poured ${dayText(poured)}. Cured from **${dayText(ready(poured, sheet.cure_least_days))}**, ` +
        `best from **${dayText(ready(poured, sheet.cure_best_days))}**.`,
    ),
  );
  const forget = keepDraft(slot(place, "form"), `draft finish ${id}`);
  slot(place, "undo").addEventListener("click", async () => {
    try {
      await undoLast(pour, 0, now());
      go(`pour/${id}/0`);
    } catch (error) {
      showToast(
        error instanceof StoreError ? error.message : "This pour has moved on in another tab. Reload to see it.",
      );
    }
  });
  slot(place, "form").addEventListener("submit", async (/** @type {Event} */ event) => {
    event.preventDefault();
    const form = new FormData(slot(place, "form"));
    try {
      const note = slot(place, "note").value.trim();
      const done = ["set", "trimmed", "labelled"].filter((name) => form.has(name));
      await addEvent(
        pour,
        { type: "finished", tops: slot(place, "tops").value, done, ...(note && { text: note }) },
        now(),
      );
      forget(true);
      go(`entry/${id}`);
    } catch (error) {
      showToast(
        error instanceof StoreError ? error.message : "This pour has moved on in another tab. Reload to see it.",
      );
    }
  });
}
