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
  // '2 lb 9.2 oz' is two numbers, each with its unit, in one line.
  const pieces = [...number.matchAll(/([\d.,:\u202f-]+) (lb|oz)/g)];
  if (pieces.length > 0)
    holder.replaceChildren(...pieces.map(([, digits, small]) => h("span", {}, digits, h("small", {}, small))));
  else setText(holder, number);
  setText(slot(place, "unit"), unit);
  // A clock keeps its size when it loses a digit: nothing jumps.
  const shape = (/** @type {string} */ text) => text.replace(/\d/g, "0").replace(/^0:00$/, "00:00");
  const isPair = pieces.length > 0;
  const whole = isPair
    ? pieces.reduce((sum, [, digits, small]) => sum + emsOf(shape(digits), small, PAIR_UNIT) + 0.06, 0)
    : emsOf(shape(number), unit);
  num.style.setProperty("--lone", String(isPair ? whole : emsOf(shape(number), "")));
  num.style.setProperty("--whole", String(whole));
  num.classList.toggle("pair", isPair);
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

/** How large a unit is beside its number; beside two, smaller. */
const UNIT = 0.38;
const PAIR_UNIT = 0.3;

/** How many times its own size a number is wide, in this phone's font.
 * @param {string} shape @param {string} unit @param {number} [unitSize] */
function emsOf(shape, unit, unitSize = UNIT) {
  const key = `${shape} ${unit} ${unitSize}`;
  const known = measured.get(key);
  if (known !== undefined) return known;
  const width = (/** @type {string} */ text) => {
    if (ruler === null) return text.length * 70;
    ruler.font = "700 100px system-ui, sans-serif";
    return ruler.measureText(text).width;
  };
  const units = unit ? (unitSize === UNIT ? 12 : 0) + unitSize * width(unit) : 0;
  const least = unitSize === UNIT ? 1.5 : 0;
  const ems = Math.max(least, (width(shape) + units) / 100 - 0.03 * shape.length + 0.04);
  measured.set(key, ems);
  return ems;
}
