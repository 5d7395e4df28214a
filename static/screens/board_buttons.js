/** The board's buttons: nudges, undo, what else can be done, and the main one. */
import { nextUnpoured } from "../bench/next_jug.js";
import { lastUndoable } from "../bench/pours.js";
import { t } from "../words/door.js";
import { soundCheck } from "./announcer.js";
import { h } from "./dom.js";
import { jugHref } from "./jug_links.js";

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
  const request = state.mainRequest(prompt);
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
      .filter(({ pad }) => !pad || request || pad !== main?.pad)
      .map((action) => quiet(action.label, () => void gestures.perform(action))),
  ];
  return [
    ...(request ? [nudges(state, request, gestures)] : []),
    h("div", { class: "side" }, ...side),
    main === null ? nextJugLink(state) : mainButton(main, request !== null, gestures),
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
    : [main.pad ? t("It reads…") : main.label];
  return h("button", { type: "button", class: "go", onclick: () => void gestures.perform(main) }, ...label);
}

/** Four steps of the instrument: two large, two small.
 * @param {BoardState} state @param {import("../bench/reading_request.js").ReadingRequest} request @param {Gestures} gestures */
function nudges({ units }, { dimension, step }, gestures) {
  const small = units.stepIn(dimension, step);
  const many = dimension === "temperature" ? Math.max(5, Math.round(1 / small)) : 10;
  const each = [-many, -1, 1, many].map((steps) => {
    const amount = units.step(dimension, step, Math.abs(steps));
    const label = steps < 0 ? t("{amount} less", { amount }) : t("{amount} more", { amount });
    return h(
      "button",
      { type: "button", class: "quiet", "aria-label": label, onclick: () => gestures.nudge(steps) },
      `${steps < 0 ? "−" : "+"}${amount}`,
    );
  });
  return h("div", { class: "nudges", role: "group", "aria-label": t("Nudge what it reads") }, ...each);
}
