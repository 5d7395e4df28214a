/** What a finger does at the board: keep an event, take one back, enter a reading, nudge one. */
import { now } from "../bench/clock.js";
import { seldomOf } from "../bench/more.js";
import { addEvent, undo, undoLast } from "../bench/pours.js";
import { preferences } from "../bench/preferences.js";
import { session } from "../bench/session.js";
import { play } from "../bench/sound.js";
import { t } from "../words/door.js";
import { Hand } from "./hand.js";
import { askTemperature } from "./ladder.js";
import { askSeldom } from "./more.js";
import { askReading } from "./pad.js";

/** @typedef {import("../bench/prompt_shape.js").Action} Action */
/** @typedef {import("../bench/prompt_shape.js").NewEvent} NewEvent */
/** @typedef {import("../bench/board_state.js").BoardState} BoardState */

export class BoardActions extends Hand {
  /** @param {BoardState} state @param {() => void} refresh show the pour as the session now has it */
  constructor(state, refresh) {
    super("pour", state.pour.id, t("This pour has moved on elsewhere: here is how it stands."), refresh);
    this.state = state;
  }

  /** What a button does. @param {Action} action */
  perform(action) {
    return this.does(async () => {
      const chosen = action.view === "more" ? await this.#askSeldom() : action;
      if (chosen === null) return;
      if (chosen.undo) await undo(this.state.pour, chosen.undo, now());
      if (chosen.view) this.#look(chosen.view === "fragrance");
      const event = chosen.pad ? await this.#readOff(chosen) : chosen.event;
      if (!event) return;
      await addEvent(this.state.pour, event, now());
      play("kept");
    });
  }

  undo() {
    return this.does(() => undoLast(this.state.pour, this.state.jugIndex, now()));
  }

  /** Keep an event that nobody touched a button for. @param {NewEvent} event */
  keep(event) {
    return this.does(() => addEvent(this.state.pour, event, now()));
  }

  /** @param {boolean} ahead */
  #look(ahead) {
    this.state.ahead = ahead;
    this.refresh();
    session.tick();
  }

  #askSeldom() {
    const { pour, jug, jugIndex } = this.state;
    const way = { several: pour.sheet.jugs.length > 1, whole: preferences().whole };
    return askSeldom(seldomOf(jug, jugIndex, way), jug.open.length);
  }

  /** The reading as the main button shows it, or from the pad. @param {Action} action @returns {Promise<NewEvent | null>} */
  async #readOff(action) {
    const { state } = this;
    const request = state.request(action.pad ?? "temperature");
    if (request === null) return null;
    const draft = action.expected === undefined ? null : state.draft(state.prompt());
    if (draft !== null && request.doubt(draft.value) === null) {
      return request.event(draft.value, toldBy(draft));
    }
    const value =
      draft === null && request.dimension === "temperature"
        ? await askTemperature(request, state.units)
        : await askReading(request, state.units, draft?.value ?? null);
    return value === null ? null : request.event(value);
  }
}

/** How a reading of the main button came. @param {import("../bench/board_state.js").Draft} draft
 * @returns {import("../bench/reading_request.js").Told} */
function toldBy({ source, entered }) {
  if (source) return { source };
  return entered ? {} : { how: "mark" };
}
