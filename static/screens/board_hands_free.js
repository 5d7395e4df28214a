/** The board without a finger: what a spoken word, a knock or an instrument does. */
import { now } from "../bench/clock.js";
import { spoken } from "../bench/cues.js";
import { isHandsFreeAction } from "../bench/hands_free.js";
import { liveDip } from "../bench/live_dip.js";
import { countUnpoured, jugMeanwhile, nextUnpoured } from "../bench/next_jug.js";
import { session } from "../bench/session.js";
import { play } from "../bench/sound.js";
import { again, speak } from "../bench/voice.js";
import { InputError, t } from "../words/door.js";
import { jugHref } from "./pour_station.js";

/** @typedef {import("../bench/board_state.js").BoardState} BoardState */
/** @typedef {import("./board_actions.js").BoardActions} BoardActions */
/** @typedef {import("./board_view.js").BoardView} BoardView */
/** @typedef {{state: BoardState, actions: BoardActions, view: BoardView, go: (path: string) => void}} Board */

/** @param {Board} board @param {import("../bench/hands_free.js").Word} word */
export function hear({ state, actions, view, go }, word) {
  if (!actions.isFree) return;
  const goTo = (/** @type {number} */ jug) => go(jugHref(state.pour.id, jug).slice(2));
  if ("text" in word) {
    hearReading(state, view, word.text);
    return;
  }
  if (word.do === "again") return again();
  if (word.do === "undo") return void actions.undo();
  const { main } = state.prompt();
  if (main === null) return goTo(nextUnpoured(state.pour, state.jugIndex));
  if (isHandsFreeAction(main)) return void actions.perform(main);
  const meanwhile = jugMeanwhile(state.pour, state.jugIndex, now());
  if (meanwhile !== null) return goTo(meanwhile);
  refuse(main.pad ? t("A reading needs a touch.") : t("This needs a touch."));
}

/** A number that was said is put on the main button, and not entered. @param {BoardState} state @param {BoardView} view @param {string} text */
function hearReading(state, view, text) {
  const prompt = state.prompt();
  const request = state.mainRequest(prompt);
  if (request === null) return refuse(t("Nothing to read now."));
  try {
    state.enter(prompt, state.units.read(text, request.dimension));
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return refuse(error.message);
  }
  view.paint();
  play("kept");
  speak(t("{reading}? Touch, if that is it.", { reading: spoken(view.draftText) }), { urgent: true });
}

/** @param {string} words */
function refuse(words) {
  play("no");
  speak(words, { urgent: true });
}

/** A thermometer left in the one jug on the bench dips by itself.
 * @param {Board} board @param {import("../bench/reading_checks.js").Reading} reading */
export function feed({ state, actions }, reading) {
  if (!actions.isFree || countUnpoured(session.pours()) > 1) return;
  const event = liveDip(state.pour, state.jugIndex, reading, now());
  if (event !== null) void actions.keep(event);
}
