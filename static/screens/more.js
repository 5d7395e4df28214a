/** What is seldom done at the bench: which of it, and why. */
import { InputError, t } from "../words/door.js";
import { ask } from "./ask.js";
import { cloneTemplate, h, slot } from "./dom.js";

/** @typedef {import("../bench/more.js").Seldom} Seldom */
/** @typedef {import("../bench/prompt_shape.js").Action} Action */

/**
 * @param {Seldom[]} choices @param {number} remaining vessels that may be filled by now, where they are not counted
 * @returns {Promise<Action | null>} null if she went back
 */
export function askSeldom(choices, remaining) {
  return ask(cloneTemplate("screen-more"), (dialog, /** @type {(answer: Action | null) => void} */ end) => {
    const question = slot(dialog, "question");
    slot(dialog, "counts").hidden = !choices.some(({ counts }) => counts);

    function choose(/** @type {Seldom} */ choice, /** @type {HTMLElement} */ button) {
      if (choice.sure && button.dataset.sure !== "yes") {
        button.dataset.sure = "yes";
        button.textContent = t("{what}: sure?", { what: choice.label });
        return;
      }
      try {
        end(told(choice));
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        question.textContent = error.message;
        question.hidden = false;
        slot(dialog, "count").focus();
      }
    }

    /** What is done, with what she typed. @param {Seldom} choice @returns {Action} */
    function told({ label, event, pad, counts }) {
      if (!event) return { label, pad };
      const why = slot(dialog, "why").value.trim();
      const filled = counts ? countOf(slot(dialog, "count").value, remaining) : null;
      const takesWhy = event.type !== "went_on" && why !== "";
      return { label, event: { ...event, ...(takesWhy && { why }), ...(filled !== null && { filled }) } };
    }

    slot(dialog, "choices").replaceChildren(
      ...choices.map((choice) => {
        const button = h(
          "button",
          { type: "button", class: "quiet", onclick: () => choose(choice, button) },
          choice.label,
        );
        return button;
      }),
    );
  });
}

/** @param {string} typed @param {number} most @throws {InputError} */
function countOf(typed, most) {
  const count = /^\d{1,4}$/.test(typed.trim()) ? Number(typed) : NaN;
  if (count <= most) return count;
  throw new InputError("Say how many are filled, from 0 to {most}.", { most });
}
