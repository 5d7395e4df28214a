/** Which clock has rung, above the board's number: its own, or else the first of the others, where a touch goes. */
import { h } from "./dom.js";
import { hrefOf, stationOf } from "./stations.js";

/** @param {HTMLElement} place @param {import("../bench/session.js").Clock[]} due the first of them first
 * @param {string} id of what is on the board @param {number} part */
export function paintAlarm(place, due, id, part) {
  const own = due.find((clock) => clock.item.id === id && clock.part === part);
  const first = own ?? due[0];
  place.hidden = !first;
  const text = first ? stationOf(first.item).alarm(first, !own) : "";
  const href = !first || own ? "" : hrefOf(first);
  // A link that was replaced under the finger would not be heard.
  if (place.dataset.drawn === text + href) return;
  place.dataset.drawn = text + href;
  place.replaceChildren(href ? h("a", { href }, text) : h("p", {}, text));
}
