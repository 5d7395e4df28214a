/** What is seldom done at a jug: not waiting for it, and what is done where something went wrong. Pure: state in, actions out. */
import { t } from "../words/door.js";

/** @typedef {import("./fold.js").JugState} JugState */
/** @typedef {import("./prompt_shape.js").Action} Action */
/**
 * @typedef {Action & {counts?: boolean, sure?: boolean}} Seldom its event takes what she says of why. `counts`: she says
 *   how many vessels were filled; `sure`: it is asked about once more
 */

/**
 * @param {JugState} jug @param {number} jugIndex
 * @param {{several: boolean, whole: boolean}} way several: it is not the only jug; whole: its vessels are not counted
 * @returns {Seldom[]}
 */
export function seldomOf(jug, jugIndex, { several, whole }) {
  const isCooling = jug.step === "cool" || jug.step === "settle";
  /** @type {Seldom} */
  const dontWait = { label: t("Don't wait: go on now"), event: { type: "went_on", jug: jugIndex } };
  /** @type {Seldom} */
  const spilled = { label: t("The jug spilled"), pad: "left" };
  /** @type {Seldom} */
  const giveUp = { label: t("Give up this pour"), event: { type: "abandoned" }, sure: true };
  if (jug.step !== "pour") {
    /** @type {Seldom} */
    const none = { label: t("Pour nothing from this jug"), event: { type: "stopped", jug: jugIndex } };
    const hasWax = jug.step !== "wax";
    return [...(isCooling ? [dontWait] : []), ...(hasWax ? [spilled] : []), ...(several ? [none] : []), giveUp];
  }
  /** @type {Seldom} */
  const stop = {
    label: t("Stop here: fill no more from this jug"),
    event: { type: "stopped", jug: jugIndex },
    counts: whole,
  };
  /** @type {Seldom} */
  const skip = { label: t("Skip this vessel"), event: { type: "skipped", jug: jugIndex } };
  return whole ? [stop, spilled, giveUp] : [skip, stop, spilled, giveUp];
}
