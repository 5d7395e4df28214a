/** The board's buttons: nudges, undo, what else can be done, and the main one. */
import { nextUnpoured } from "../bench/next_jug.js";
import { lastUndoable } from "../bench/pours.js";
import { t } from "../words/door.js";
import { soundCheck } from "./announcer.js";
import { h } from "./dom.js";
import { jugHref } from "./pour_station.js";

/** @typedef {import("../bench/prompt_shape.js").Prompt} Prompt */
/** @typedef {import("../bench/prompt_shape.js").Action} Action */
/** @typedef {import("../bench/board_state.js").BoardState} BoardState */
/**
 * @typedef {object} Gestures what a finger does
 * @property {(action: Action) => Promise<void>} perform
 * @property {() => Promise<void>} undo
 * @property {(steps: number) => void} nudge
 */

/** @param {BoardState} state @param {Prompt} prompt @param {Gestures} gestures */
export function buttons(state, prompt, gestures) {
  const { main, others } = prompt;
  const draft = state.draft(prompt);
  const quiet = (/** @type {string} */ label, /** @type {() => unknown} */ onclick) =>
    h("button", { type: "button", class: "quiet", onclick }, label);
  const undo = h(
    "button",
    {
      type: "button",
      class: "quiet undo",
      disabled: lastUndoable(state.pour, state.jugIndex) === null,
      onclick: () => void gestures.undo(),
    },
    t("Undo"),
  );
  const side = [
    undo,
    ...(prompt.step === "ready" ? [quiet(t("Did you hear that?"), soundCheck)] : []),
    ...others
      .filter(({ pad }) => !pad || draft || pad !== main?.pad)
      .map((action) => quiet(action.label, () => void gestures.perform(action))),
  ];
  return [
    ...(draft?.request.dimension === "mass" ? [nudges(state, draft.request, gestures)] : []),
    h("div", { class: "side" }, ...side),
    main === null ? nextJugLink(state) : mainButton(main, draft !== null, gestures),
  ];
}

/** @param {BoardState} state */
function nextJugLink({ pour, jugIndex }) {
  return h("a", { class: "go", href: jugHref(pour.id, nextUnpoured(pour, jugIndex)) }, t("Next jug"));
}

/** @param {Action} main @param {boolean} takesReading in one touch @param {Gestures} gestures */
function mainButton(main, takesReading, gestures) {
  const label = takesReading
    ? [h("span", { class: "over", "data-slot": "over" }, main.label), h("b", { "data-slot": "draft" })]
    : [main.label];
  return h("button", { type: "button", class: "go", onclick: () => void gestures.perform(main) }, ...label);
}

/** Four steps of the scale: two large, two small.
 * @param {BoardState} state @param {import("../bench/reading_request.js").ReadingRequest} request @param {Gestures} gestures */
function nudges({ units }, { dimension, step }, gestures) {
  const each = [-10, -1, 1, 10].map((steps) => {
    const amount = units.step(dimension, step, Math.abs(steps));
    const label = steps < 0 ? t("{amount} less", { amount }) : t("{amount} more", { amount });
    return h(
      "button",
      {
        type: "button",
        class: amount.length > 4 ? "quiet long longer" : amount.length > 3 ? "quiet long" : "quiet",
        "aria-label": label,
        onclick: () => gestures.nudge(steps),
      },
      `${steps < 0 ? "−" : "+"}${amount}`,
    );
  });
  return h("div", { class: "nudges", role: "group", "aria-label": t("Nudge what the scale shows") }, ...each);
}
