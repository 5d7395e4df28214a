/**
 * The hazard pictograms of CLP (Annex V), drawn by us: a red frame around a white ground, the symbol in black. For a
 * screen; a label has its own.
 */
import { svg } from "../bench/svg.js";
import { message, t, worded } from "../words/door.js";

/** What each shows; as CLP names them in Annex V. @type {Record<string, import("../words/door.js").Message>} */
const SHOWS = {
  GHS05: message("corrosion"),
  GHS06: message("skull and crossbones"),
  GHS07: message("exclamation mark"),
  GHS08: message("health hazard"),
  GHS09: message("environment"),
};

/** In a square of 100 by 100 that stands on its corner. @type {Record<string, [name: string, attributes: Record<string, string | number>][]>} */
const SYMBOLS = {
  GHS05: [
    // Two glasses that drip, on a bar and on a hand.
    ["path", { class: "line", d: "M22 38L42 30M58 30L78 38M26 43L45 35M55 35L74 43" }],
    ["path", { d: "M33 44a3 4 0 1 0 .1 0zM33 52a2.5 3.5 0 1 0 .1 0zM67 44a3 4 0 1 0 .1 0zM67 52a2.5 3.5 0 1 0 .1 0z" }],
    ["path", { d: "M22 61h8q3 4 6 0h8v7H22z" }],
    ["path", { d: "M54 61q8-2 11 0q2 4 5 1q6 0 10 4l-4 5q-10 3-22 0z" }],
  ],
  GHS06: [
    ["path", { d: "M50 22c-13 0-19 8-18 17c0 5 3 8 6 10v6h24v-6c3-2 6-5 6-10c1-9-5-17-18-17z" }],
    ["path", { class: "hole", d: "M42 36a5 5 0 1 0 .1 0zM58 36a5 5 0 1 0 .1 0zM50 44l-3 6h6z" }],
    ["path", { class: "line", d: "M30 59L70 77M70 59L30 77" }],
  ],
  GHS07: [
    ["path", { d: "M43 22h14l-3 36h-8z" }],
    ["circle", { cx: 50, cy: 70, r: 7 }],
  ],
  GHS08: [
    // Head and shoulders, with a star in the chest.
    ["circle", { cx: 50, cy: 29, r: 9 }],
    ["path", { d: "M31 74q0-33 12-34h14q12 1 12 34z" }],
    ["path", { class: "hole", d: "M50 44l3 9l8-5l-5 8l10 3l-10 3l5 8l-8-5l-3 9l-3-9l-8 5l5-8l-10-3l10-3l-5-8l8 5z" }],
  ],
  GHS09: [
    // A bare tree, and a fish on its back.
    ["path", { class: "line", d: "M37 66V34M37 50L27 40M37 44L46 35M37 38L31 30" }],
    ["path", { class: "line", d: "M24 67H52" }],
    ["path", { d: "M50 62q12-12 24-2q4-5 7-4q-2 5 0 11q-4 0-7-4q-12 9-24-1z" }],
    ["circle", { class: "hole", cx: 57, cy: 61, r: 1.8 }],
  ],
};

/** What a pictogram shows, such as 'GHS07, exclamation mark'. @param {string} code */
export function pictogramText(code) {
  const shows = SHOWS[code];
  return shows ? t("{code}, {shows}", { code, shows: worded(shows) }) : code;
}

/** @param {string} code such as 'GHS07' @returns {SVGElement} with what it shows in words */
export function pictogram(code) {
  const label = pictogramText(code);
  return /** @type {SVGElement} */ (
    svg(
      "svg",
      { viewBox: "0 0 100 100", class: "pictogram", role: "img", "aria-label": label },
      svg("path", { class: "frame", d: "M50 4L96 50L50 96L4 50z" }),
      ...(SYMBOLS[code] ?? []).map(([name, attributes]) => svg(name, attributes)),
    )
  );
}
