/** What a board shows: a pour as it was last read, one of its jugs, and the reading that is not entered yet. */
import { now } from "./clock.js";
import { live } from "./live_reading.js";
import { preferences } from "./preferences.js";
import { promptFor } from "./prompt.js";
import { isFineEnough } from "./reading_checks.js";
import { readingRequest } from "./reading_request.js";
import { nextFragrance } from "./temperature_prompt.js";

/** @typedef {import("./pours.js").Pour} Pour */
/** @typedef {import("./prompt_shape.js").Prompt} Prompt */
/** @typedef {import("./prompt_shape.js").Action} Action */
/** @typedef {import("./display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("./reading_request.js").ReadingRequest} ReadingRequest */
/**
 * @typedef {object} Draft what the main button would enter
 * @property {ReadingRequest} request
 * @property {number} value base unit
 * @property {string} source the instrument that tells it; empty: none
 * @property {boolean} entered she nudged it or said it
 */

/** A nudged temperature that was not taken by then is no longer what the thermometer reads. */
const STALE_MS = 60_000;

export class BoardState {
  /** she weighs the fragrance while the wax cools */
  ahead = false;
  /** A value that she nudged or said, and the reading it belongs to.
   * @type {{about: string, value: number, at: number} | null} */
  #entered = null;

  /** @param {Pour} pour @param {number} jugIndex @param {DisplayUnits} units */
  constructor(pour, jugIndex, units) {
    this.pour = pour;
    this.jugIndex = jugIndex;
    this.units = units;
  }

  get jug() {
    return this.pour.state.jugs[this.jugIndex];
  }

  /** Show the pour as it stands now. @param {Pour} pour */
  take(pour) {
    this.pour = pour;
    if (this.jug.step !== "cool" || nextFragrance(this.jug) === null) this.ahead = false;
  }

  prompt() {
    const { pour, jugIndex, units, ahead } = this;
    return promptFor(pour.sheet, pour.state, jugIndex, now(), units, { ahead, whole: preferences().whole });
  }

  /** @param {NonNullable<Action["pad"]>} pad */
  request(pad) {
    return readingRequest(this.pour, this.jugIndex, pad, now(), this.units);
  }

  /** The reading that the main button is for; null where it is for none.
   * @param {Prompt} prompt @returns {ReadingRequest | null} */
  mainRequest({ main }) {
    return main?.pad ? this.request(main.pad) : null;
  }

  /** What the main button would enter: nudged or said, told by an instrument, or a scale's mark; null where it asks first.
   * @param {Prompt} prompt @returns {Draft | null} */
  draft({ main }) {
    if (!main?.pad || main.expected === undefined) return null;
    const request = this.request(main.pad);
    if (request === null) return null;
    const entered = this.#enteredFor(main);
    if (entered !== null) return { request, value: entered, source: "", entered: true };
    const isTemperature = main.pad === "temperature";
    const reading = live(isTemperature ? "temperature" : "weight");
    if (reading !== null && reading.doubt === null && (isTemperature || isFineEnough(reading, request.step))) {
      return { request, value: reading.value, source: reading.source, entered: false };
    }
    return main.expected === null ? null : { request, value: main.expected, source: "", entered: false };
  }

  /** Move the draft by so many steps of the instrument. @param {Prompt} prompt @param {number} steps */
  nudge(prompt, steps) {
    const draft = this.draft(prompt);
    if (draft === null) return;
    const { dimension, step } = draft.request;
    this.enter(prompt, this.units.stepped(draft.value, dimension, step, steps));
  }

  /** Let the main button enter this value. @param {Prompt} prompt @param {number} value base unit */
  enter({ main }, value) {
    if (main) this.#entered = { about: this.#about(main), value, at: now() };
  }

  /** Whether a value was nudged or said, and is not entered yet. */
  get hasEntered() {
    return this.#entered !== null;
  }

  /** @param {Action} main */
  #enteredFor(main) {
    const entered = this.#entered;
    if (entered === null) return null;
    const isStale = main.pad === "temperature" && now() - entered.at > STALE_MS;
    if (entered.about === this.#about(main) && !isStale) return entered.value;
    this.#entered = null;
    return null;
  }

  /** To which reading a value belongs. @param {Action} main */
  #about(main) {
    return [this.pour.state.last, main.pad, this.ahead].join(" ");
  }
}
