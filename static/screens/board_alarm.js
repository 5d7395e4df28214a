/** Which clock has rung, above the board's number: its own, or else the first of the others, where a touch goes. */
import { message, t, worded } from "../words/door.js";
import { h } from "./dom.js";
import { jugHref, jugName } from "./jug_links.js";

/** @typedef {import("../bench/session.js").Clock} Clock */
/** @typedef {Record<Clock["what"], import("../words/door.js").Message>} Sentences */

/** What is due, as short as it can be read from two metres: on its own board, @type {Sentences} */
const HERE = {
  hot: message("Heat down"),
  warm: message("Warm enough?"),
  stir: message("Stirred long enough"),
  temperature: message("At temperature?"),
};

/** and on another. @type {Record<Clock["what"], (jug: string) => string>} */
const ELSEWHERE = {
  hot: (jug) => t("Heat down: {jug}", { jug }),
  warm: (jug) => t("Off the heat: {jug}", { jug }),
  stir: (jug) => t("Stirred: {jug}", { jug }),
  temperature: (jug) => t("Dip: {jug}", { jug }),
};

/** @param {HTMLElement} place @param {Clock[]} due the first of them first
 * @param {string} id of the pour on the board @param {number} jugIndex */
export function paintAlarm(place, due, id, jugIndex) {
  const own = due.find(({ pour, jug }) => pour.id === id && jug === jugIndex);
  const first = own ?? due[0];
  place.hidden = !first;
  const text = !first
    ? ""
    : own
      ? worded(HERE[own.what])
      : ELSEWHERE[first.what](jugName(first.pour, first.jug).join(" ").trim());
  const href = !first || own ? "" : jugHref(first.pour.id, first.jug);
  // A link that was replaced under the finger would not be heard.
  if (place.dataset.drawn === text + href) return;
  place.dataset.drawn = text + href;
  place.replaceChildren(href ? h("a", { href }, text) : h("p", {}, text));
}
