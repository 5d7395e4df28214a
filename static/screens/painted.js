/** A screen that is painted often: a part of it is drawn anew only where it shows something else. */
import { slot } from "./dom.js";

export class Painted {
  /** What each part shows. @type {Map<string, string>} */
  #shown = new Map();

  /** @param {HTMLElement} place */
  constructor(place) {
    this.place = place;
  }

  /** Draw a part anew where it shows something else. @param {string} part @param {unknown} shows
   * @param {() => (Node | string)[]} draw */
  fill(part, shows, draw) {
    if (this.isNew(part, shows)) slot(this.place, part).replaceChildren(...draw());
  }

  /** @param {string} part @param {unknown} shows */
  isNew(part, shows) {
    const text = JSON.stringify(shows);
    if (this.#shown.get(part) === text) return false;
    this.#shown.set(part, text);
    return true;
  }
}
