/** The hand at a board: one thing at a time. */
import { session } from "../bench/session.js";
import { MovedOn } from "../records/store.js";
import { isArriving } from "./board_follow.js";
import { showNotKept } from "./not_kept.js";

export class Hand {
  #busy = false;

  /**
   * @param {string} kind of what is on the board @param {string} id
   * @param {string} movedOn the words for one that has moved on elsewhere
   * @param {() => unknown} refresh show it as the session now has it
   */
  constructor(kind, id, movedOn, refresh) {
    this.kind = kind;
    this.id = id;
    this.movedOn = movedOn;
    this.refresh = refresh;
  }

  /** Whether nothing is being done, and nothing asked. */
  get isFree() {
    return !this.#busy && document.querySelector("dialog[open]") === null;
  }

  /** Whether an event is being kept. */
  get isBusy() {
    return this.#busy;
  }

  /** Do it, unless something is being done: a second tap on a slow phone must not count twice.
   * @param {() => Promise<unknown>} work */
  async does(work) {
    if (this.#busy || isArriving()) return;
    this.#busy = true;
    const act = document.querySelector(".board .act");
    act?.setAttribute("aria-busy", "true");
    try {
      await work();
    } catch (error) {
      showNotKept(error, this.movedOn);
      if (error instanceof MovedOn) await session.read(this.kind, this.id);
    } finally {
      await session.settled();
      this.#busy = false;
      act?.removeAttribute("aria-busy");
      await this.refresh();
    }
  }
}
