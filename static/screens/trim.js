/** The morning after: look, trim, label, and put the batch away to cure. */

import { now } from "../bench/clock.js";
import { nameOf } from "../bench/due.js";
import { readCounts } from "../bench/outcome.js";
import { addEvent, isOnBench, readPour, undoLast } from "../bench/pours.js";
import { ready } from "../formulas/cure.js";
import { dayText } from "../words/dates.js";
import { InputError, t } from "../words/door.js";
import { cloneTemplate, rich, showToast, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { showNotKept } from "./not_kept.js";

/** @param {HTMLElement} place @param {string[]} path @param {import("./screen.js").Context} context */
export async function show(place, [id], { go }) {
  const pour = await readPour(id);
  if (pour === null || pour.stage !== "setting") {
    // A deleted one says so on its own page.
    go(pour !== null && isOnBench(pour) ? `pour/${id}/0` : `entry/${id}`);
    return;
  }
  place.append(cloneTemplate("screen-trim"));
  const { sheet, state } = pour;
  const poured = /** @type {string} */ (state.set_on);
  slot(place, "name").textContent = nameOf(sheet);
  const days = {
    poured: dayText(poured),
    cured: dayText(ready(poured, sheet.cure_least_days)),
    best: dayText(ready(poured, sheet.cure_best_days)),
  };
  slot(place, "cured").replaceChildren(
    ...rich(t("Poured {poured}. It is cured from **{cured}**, fully cured from **{best}**.", days)),
  );
  const forget = keepDraft(slot(place, "form"), `draft trim ${id}`);

  /** @param {() => Promise<void>} work */
  async function orSay(work) {
    try {
      await work();
    } catch (error) {
      showNotKept(error, t("This pour was changed elsewhere. Reload to see it."));
    }
  }

  slot(place, "undo").addEventListener("click", () =>
    orSay(async () => {
      await undoLast(pour, 0, now());
      go(`pour/${id}/0`);
    }),
  );
  slot(place, "form").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    const ticked = (/** @type {string} */ name) => (slot(place, name).checked ? "yes" : "no");
    const done = { set_through: ticked("set"), trimmed: ticked("trimmed"), labelled: ticked("labelled") };
    const text = slot(place, "note").value.trim();
    const tops = slot(place, "tops").value;
    const rest = slot(place, "rest").value;
    const problem = slot(place, "problem");
    /** @type {import("../bench/outcome.js").Counts} */
    let counts;
    try {
      counts = readCounts((name) => slot(place, name).value, state);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      problem.textContent = error.message;
      problem.hidden = false;
      slot(place, error.about ?? "good").focus();
      return undefined;
    }
    return orSay(async () => {
      const event = {
        type: /** @type {const} */ ("finished"),
        ...(tops && { tops }),
        ...counts,
        ...(rest && { rest }),
        ...(text && { text }),
        ...done,
      };
      await addEvent(pour, event, now());
      forget(true);
      if ([done.trimmed, done.labelled].includes("no"))
        showToast(t("What is left to trim or label stays due under Today."));
      go(`entry/${id}`);
    });
  });
}
