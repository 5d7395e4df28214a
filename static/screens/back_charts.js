/** Charts of looking back, as SVG: bars month by month, and dots over the days. What they show is in a table beside them. */
import { place, svg, ticksOf, words } from "../bench/svg.js";
import { numberText } from "../words/numbers.js";

/** @typedef {{key: string, values: number[]}} Series what is drawn alike, by its class: 'first', 'second' or 'third' */
/** @typedef {{x: number, y: number}} Dot */

const WIDTH = 360;
const HEIGHT = 190;
/** Room for what stands at the axes, in the drawing's own units. */
const EDGE = { left: 48, right: 10, top: 26, bottom: 26 };
/** The part of a column that its bars take. */
const FULL = 0.8;
const DOT = 7;

/**
 * Bars beside each other, column by column.
 * @param {string[]} columns short names, one each @param {Series[]} series a value a column, none below 0
 * @param {{label: string, unit: string, whole: boolean}} says what it shows, in a sentence; what the numbers are;
 *   `whole`: there are no halves of them
 */
export function barChart(columns, series, says) {
  const most = Math.max(1, ...series.flatMap(({ values }) => values));
  const ticks = ticksOf(0, most).filter((tick) => !says.whole || Number.isInteger(tick));
  const floor = HEIGHT - EDGE.bottom;
  const y = (/** @type {number} */ value) => floor - (value / most) * (floor - EDGE.top);
  const column = (WIDTH - EDGE.left - EDGE.right) / columns.length;
  const bar = (column * FULL) / series.length;
  const left = (/** @type {number} */ at) => EDGE.left + at * column + (column * (1 - FULL)) / 2;
  // Names that would stand on each other are left out by turns.
  const apart = Math.ceil((columns.length * Math.max(...columns.map((name) => name.length)) * 9) / (WIDTH - EDGE.left));
  return drawn(says.label, [
    ...across(ticks, y),
    words(says.unit, 6, 16, "start"),
    ...series.flatMap(({ key, values }, which) =>
      values.flatMap((value, at) =>
        value > 0
          ? [
              svg("rect", {
                class: `bar ${key}`,
                x: place(left(at) + which * bar + 0.5),
                y: place(y(value)),
                width: place(Math.max(1, bar - 1)),
                height: place(floor - y(value)),
              }),
            ]
          : [],
      ),
    ),
    svg("path", { class: "floor", d: `M${EDGE.left} ${floor}H${WIDTH - EDGE.right}` }),
    ...columns.flatMap((name, at) =>
      at % Math.max(1, apart) === 0 ? [words(name, EDGE.left + (at + 0.5) * column, floor + 18, "middle")] : [],
    ),
  ]);
}

/**
 * Dots from the first to the last, around what was aimed at.
 * @param {Dot[]} dots at least one @param {{label: string, unit: string, ends: [string, string], aim: string}} says what it
 *   shows; what the numbers are; what stands below the first and the last; what nought is
 */
export function dotChart(dots, says) {
  const [least_x, most_x] = endsOf(dots.map(({ x }) => x));
  const [least, most] = endsOf([0, ...dots.map(({ y }) => y)]);
  const floor = HEIGHT - EDGE.bottom;
  const x = (/** @type {number} */ at) =>
    EDGE.left + DOT + ((at - least_x) / (most_x - least_x || 1)) * (WIDTH - EDGE.left - EDGE.right - 2 * DOT);
  const y = (/** @type {number} */ value) =>
    floor - DOT - ((value - least) / (most - least || 1)) * (floor - EDGE.top - 2 * DOT);
  const ticks = ticksOf(roundDown(least, most - least), most).filter((tick) => tick >= least - 1e-9);
  return drawn(says.label, [
    ...across(ticks, y),
    words(says.unit, 6, 16, "start"),
    svg("path", { class: "limit", d: `M${EDGE.left} ${place(y(0))}H${WIDTH - EDGE.right}` }),
    words(says.aim, WIDTH - EDGE.right, y(0) - 5, "end"),
    // One path, since there may be thousands: a line without length has round ends.
    svg("path", { class: "dots", d: dots.map((dot) => `M${place(x(dot.x))} ${place(y(dot.y))}h0`).join("") }),
    words(says.ends[0], EDGE.left, floor + 18, "start"),
    words(says.ends[1], WIDTH - EDGE.right, floor + 18, "end"),
  ]);
}

/** @param {string} label @param {Element[]} parts */
function drawn(label, parts) {
  const box = { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, class: "curve burnt past", role: "img", "aria-label": label };
  return svg("svg", box, svg("rect", { class: "ground", x: 0, y: 0, width: WIDTH, height: HEIGHT }), ...parts);
}

/** Lines from the left to the right, with their numbers. @param {number[]} ticks @param {(value: number) => number} y */
function across(ticks, y) {
  return ticks.flatMap((tick) => [
    svg("path", { class: "rule", d: `M${EDGE.left} ${place(y(tick))}H${WIDTH - EDGE.right}` }),
    words(numberText(String(tick)).replace("-", "−"), EDGE.left - 6, y(tick) + 5, "end"),
  ]);
}

/** @param {number[]} numbers @returns {[least: number, most: number]} */
function endsOf(numbers) {
  let [least, most] = [Infinity, -Infinity];
  for (const each of numbers) [least, most] = [Math.min(least, each), Math.max(most, each)];
  return [least, most];
}

/** A round number at or below the least, so that nought is one of the steps. @param {number} least @param {number} span */
function roundDown(least, span) {
  const [first = 0, next = first + 1] = ticksOf(0, span);
  const step = next - first;
  return Math.floor(least / step + 1e-9) * step;
}
