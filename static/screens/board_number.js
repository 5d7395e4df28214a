/** The board's one number, as large as the width allows. */
import { spoken, timeWords } from "../bench/cues.js";
import { h, setText, slot } from "./dom.js";

/** The number is as large as the width allows, by how many characters it has; where that makes it too
 * small, its unit goes below it. @param {HTMLElement} place
 * @param {{number: string, unit: string}} prompt */
export function paintNumber(place, { number, unit }) {
  const num = slot(place, "num");
  num.hidden = number === "";
  const holder = slot(place, "number");
  if (num.dataset.shows === `${number} ${unit}`) return;
  num.dataset.shows = `${number} ${unit}`;
  // '2 lb 9.2 oz' is two numbers, each with its unit, which may stand in two lines.
  const pieces = [...number.matchAll(/([\d.,:\u202f-]+) (lb|oz)/g)];
  if (pieces.length > 0)
    holder.replaceChildren(...pieces.map(([, digits, small]) => h("span", {}, digits, h("small", {}, small))));
  else setText(holder, number);
  setText(slot(place, "unit"), unit);
  // A clock keeps its size when it loses a digit: nothing jumps.
  const shape = (/** @type {string} */ text) => text.replace(/\d/g, "0").replace(/^0:00$/, "00:00");
  const lone =
    pieces.length > 0
      ? Math.max(...pieces.map(([, digits, small]) => emsOf(shape(digits), small)))
      : emsOf(shape(number), "");
  const whole =
    pieces.length > 0
      ? pieces.reduce((sum, [, digits, small]) => sum + emsOf(shape(digits), small) + 0.1, 0)
      : emsOf(shape(number), unit);
  num.style.setProperty("--lone", String(lone));
  num.style.setProperty("--whole", String(whole));
  num.classList.toggle("words", !/\d/.test(number));
  const clock = /^(?:(\d+):)?(\d+):(\d\d)$/.exec(number);
  const aloud = clock
    ? timeWords(Number(clock[1] ?? 0) * 3600 + Number(clock[2]) * 60 + Number(clock[3]))
    : spoken(`${number} ${unit}`.trim());
  setText(slot(place, "spoken"), aloud);
}

const ruler = document.createElement("canvas").getContext("2d");
/** @type {Map<string, number>} */
const measured = new Map();

/** How many times its own size a number is wide, in this phone's font. @param {string} shape @param {string} unit */
function emsOf(shape, unit) {
  const key = `${shape} ${unit}`;
  const known = measured.get(key);
  if (known !== undefined) return known;
  const width = (/** @type {string} */ text) => {
    if (ruler === null) return text.length * 70;
    ruler.font = "700 100px system-ui, sans-serif";
    return ruler.measureText(text).width;
  };
  const ems = Math.max(1.5, (width(shape) + (unit ? 12 + 0.38 * width(unit) : 0)) / 100 - 0.03 * shape.length + 0.04);
  measured.set(key, ems);
  return ems;
}
