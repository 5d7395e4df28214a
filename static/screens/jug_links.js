/** A jug on the bench: its address, and its name where others are there. */
import { apartFrom } from "../bench/cues.js";
import { session } from "../bench/session.js";
import { t } from "../words/door.js";

/** The address of a jug's board. @param {string} pour @param {number} jug */
export function jugHref(pour, jug) {
  return `#/pour/${pour}/${jug}`;
}

/** The address of the jug on the board; without a number it is the first. */
export function jugHere() {
  return location.hash.replace(/^(#\/pour\/[^/]+)\/?$/, "$1/0");
}

/** A jug by name, in a line or two. @param {import("../bench/pours.js").Pour} pour @param {number} index @returns {[string, string]} */
export function jugName({ id, sheet }, index) {
  const { title, number, jug } = apartFrom(session.items(), id, index);
  if (title === "") return [jug || sheet.title, ""];
  return [title, number && jug ? t("{number}, {jug}", { number, jug }) : number || jug];
}
