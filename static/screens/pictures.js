/**
 * A small picture beside a name, which says nothing that is not in words too: the vessel, filled to its line in the
 * colour that she gave to the scent. `<bench-look vessel scents>` keeps its room until this has come, with the desk.
 */

import { svg } from "../bench/svg.js";
import { vesselShape } from "../bench/vessel_shape.js";
import * as store from "../records/store.js";
import { InputError } from "../words/door.js";
import { ofKinds } from "./screen.js";

/** @typedef {Record<string, any>} Fields */

/** Vessels and fragrances by their ids. @type {Map<string, Fields>} */
let kept = new Map();

const LINES = {
  width: "100%",
  height: "100%",
  fill: "none",
  stroke: "currentColor",
  "stroke-width": 2,
  "stroke-linejoin": "round",
  overflow: "visible",
};

/** @param {unknown} colour as it is kept: '#c8453a', or 'none' */
const isColour = (colour) => /^#[0-9a-f]{6}$/.test(String(colour));

/**
 * A vessel filled to its line; without one that can be drawn, a drop of the colour.
 * @param {Fields | undefined} vessel its record @param {unknown} [colour]
 */
export function picture(vessel, colour) {
  const fill = isColour(colour) ? String(colour) : "var(--hair)";
  const [side, ...parts] = drawing(vessel ?? {}, fill);
  for (const part of parts) part.setAttribute("vector-effect", "non-scaling-stroke");
  return svg("svg", { ...LINES, viewBox: `${-side / 2} ${-side} ${side} ${side}`, "aria-hidden": "true" }, ...parts);
}

/** Its parts above the origin, after the side of the square that they stand in.
 * @param {Fields} vessel @param {string} fill @returns {[number, ...Element[]]} */
function drawing(vessel, fill) {
  try {
    const { base_mm, brim_mm, height_mm, line_mm, isMeasured } = vesselShape(vessel);
    const line_wide = base_mm + ((brim_mm - base_mm) * line_mm) / height_mm;
    const path = (/** @type {number} */ wide, /** @type {number} */ high) =>
      `M${-wide / 2} ${-high}L${-base_mm / 2} 0H${base_mm / 2}L${wide / 2} ${-high}`;
    return [
      Math.max(base_mm, brim_mm, height_mm),
      svg("path", { class: "wax", fill, stroke: "none", d: path(line_wide, line_mm) }),
      svg("path", { class: "wall", d: path(brim_mm, height_mm), "stroke-dasharray": isMeasured ? "none" : "3 3" }),
      svg("path", { class: "level", d: `M${-line_wide / 2} ${-line_mm}h${line_wide}` }),
    ];
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return [40, svg("circle", { class: "wax", fill, cy: -20, r: 12 })];
  }
}

/** The vessel of that id; of the scents, the first that has a colour. */
class Look extends HTMLElement {
  connectedCallback() {
    const ids = (this.getAttribute("scents") ?? "").split(" ");
    const colour = ids.map((id) => kept.get(id)?.colour).find(isColour);
    this.replaceChildren(picture(kept.get(this.getAttribute("vessel") ?? ""), colour));
  }
}

async function read() {
  const records = await Promise.all(["vessel", "fragrance"].map(store.living));
  kept = new Map(records.flat().map((record) => [record.id, record]));
  for (const look of /** @type {NodeListOf<Look>} */ (document.querySelectorAll("bench-look"))) {
    look.connectedCallback?.();
  }
}

async function begin() {
  await read();
  customElements.define("bench-look", Look);
  const again = store.oneAtATime(read);
  store.onChange((changes) => {
    if (changes.some(ofKinds("vessel", "fragrance"))) again();
  });
}

// No await by itself: before Safari 27 two who import such a module at once may get it half done
// (https://bugs.webkit.org/show_bug.cgi?id=242740).
begin().catch(console.warn);
