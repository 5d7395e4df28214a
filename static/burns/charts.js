/**
 * Charts of a burn test as SVG, one wick in each: grams left, melt pool and flame, over hours of burning. What they show
 * is in their labels, as numbers, for whoever does not see them.
 */
import { place, svg, ticksOf, words } from "../bench/svg.js";
import { roundTo } from "../formulas/rounding.js";
import { convert } from "../formulas/units.js";
import { listed, t } from "../words/door.js";
import { numberText } from "../words/numbers.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {{mean: number, low: number, high: number}} Range */
/** @typedef {{number: number, points: [h: number, y: number][]}} Series what was read of one candle, by its number in the
 *   test; sittings one after another, or each from its lighting */
/** @typedef {{x: (h: number) => number, y: (value: number) => number}} Scale */

const WIDTH = 360;
const HEIGHT = 200;
/** Room for what stands at the axes, in the drawing's own units. */
const EDGE = { left: 46, right: 30, top: 32, bottom: 40 };
/** What is read of a candle may end so close to its neighbour's that their numbers would stand on each other. */
const LINE = 15;

/**
 * Grams left over the hours burnt: each candle's, and the line of their mean consumption with its interval.
 * @param {Series[]} candles `[0, grams]` first @param {Range | null} rate grams an hour @param {DisplayUnits} units
 */
export function leftChart(candles, rate, units) {
  const most_h = mostOf(candles, 0);
  const full_g = mostOf(candles, 1);
  const least_g = below(Math.min(...candles.flatMap(({ points }) => points.map(([, g]) => g))), full_g);
  const mass = (/** @type {number} */ grams) => units.text(grams, "mass", full_g > 20 ? 1 : "fine");
  const told = candles.flatMap(({ number, points }) => {
    const [h, g] = points[points.length - 1];
    return points.length > 1 ? [t("candle {number}: {mass} after {hours} h", told1(number, mass(g), h))] : [];
  });
  const line = rate && t("The line falls by {low} to {high} an hour.", perHour(rate, units));
  return chart(candles, {
    title: t("Wax left"),
    label: [t("Wax left over the hours burnt: {candles}.", { candles: listed(told) }), line].filter(Boolean).join(" "),
    least: [0, least_g],
    most: [most_h, full_g],
    ...unitOf("mass", units),
    isWhole: true,
    under: ({ x, y }, right_h) => {
      if (rate === null) return [];
      const end = (/** @type {number} */ g_per_h) => {
        const h = Math.min(right_h, full_g / g_per_h);
        return `${place(x(h))},${place(y(full_g - g_per_h * h))}`;
      };
      const start = `${place(x(0))},${place(y(full_g))}`;
      return [
        svg("polygon", { class: "doubt", points: [start, end(rate.low), end(rate.high)].join(" ") }),
        svg("polyline", { class: "fitted", points: [start, end(rate.mean)].join(" ") }),
      ];
    },
  });
}

/** Where an axis begins that would else be empty for the most of it: a round number below the least.
 * @param {number} least @param {number} most */
function below(least, most) {
  if (!(least > most / 2)) return 0;
  const [first, next = first + 1] = ticksOf(0, most - least || 1);
  const step = next - first;
  return Math.floor(least / step) * step;
}

/** @param {number} number @param {string} mass @param {number} h */
const told1 = (number, mass, h) => ({ number: number + 1, mass, hours: hoursText(h) });

/**
 * The melt pool over the hours since a candle was lit, with the wall.
 * @param {Series[]} sittings of each sitting its pools @param {number} width_mm @param {number} until_h as long as a
 * sitting lasts @param {DisplayUnits} units
 */
export function poolChart(sittings, width_mm, until_h, units) {
  const length = (/** @type {number} */ mm) => units.text(mm, "length");
  return chart(sittings, {
    title: t("Melt pool"),
    label: t("Melt pool over the hours of a sitting, and the wall at {wall}: {pools}.", {
      wall: length(width_mm),
      pools: rangesOf(sittings, length),
    }),
    least: [0, 0],
    most: [Math.max(until_h, mostOf(sittings, 0)), Math.max(width_mm, mostOf(sittings, 1)) * 1.08],
    ...unitOf("length", units),
    isWhole: false,
    under: (scale, right_h) => limitLine(scale, right_h, width_mm, t("wall")),
  });
}

/**
 * The flame over the hours since a candle was lit, with the limit.
 * @param {Series[]} sittings of each sitting its flames @param {number} limit_mm @param {number} until_h as long as a
 * sitting lasts @param {DisplayUnits} units
 */
export function flameChart(sittings, limit_mm, until_h, units) {
  const length = (/** @type {number} */ mm) => units.text(mm, "length");
  return chart(sittings, {
    title: t("Flame"),
    label: t("Flame over the hours of a sitting, and the limit of {limit}: {flames}.", {
      limit: length(limit_mm),
      flames: rangesOf(sittings, length),
    }),
    least: [0, 0],
    most: [Math.max(until_h, mostOf(sittings, 0)), Math.max(limit_mm, mostOf(sittings, 1)) * 1.08],
    ...unitOf("length", units),
    isWhole: false,
    under: (scale, right_h) => limitLine(scale, right_h, limit_mm, t("limit")),
  });
}

/** At each hour what was read, from the least to the most. @param {Series[]} series @param {(mm: number) => string} text */
function rangesOf(series, text) {
  /** @type {Map<number, number[]>} */
  const at = new Map();
  for (const { points } of series)
    for (const [h, value] of points) {
      const hour = roundTo(h, 0.5);
      at.set(hour, [...(at.get(hour) ?? []), value]);
    }
  const told = [...at]
    .sort(([a], [b]) => a - b)
    .map(([h, values]) => {
      const [low, high] = [text(Math.min(...values)), text(Math.max(...values))];
      const hours = hoursText(h);
      return low === high
        ? t("{low} after {hours} h", { low, hours })
        : t("{low} to {high} after {hours} h", { low, high, hours });
    });
  return told.length > 0 ? listed(told) : t("nothing was measured");
}

/** @param {Range} rate @param {DisplayUnits} units */
function perHour({ low, high }, units) {
  return { low: units.text(low, "mass", "fine"), high: units.text(high, "mass", "fine") };
}

/** @param {number} h */
const hoursText = (h) => numberText(String(roundTo(h, 0.1)));

/**
 * @typedef {object} Drawn what a chart is drawn by
 * @property {string} title @property {string} label
 * @property {[h: number, value: number]} least @property {[h: number, value: number]} most
 * @property {string} unit of what stands at the left @property {number} times so many of it are one base unit
 * @property {boolean} isWhole each of its series is a whole candle; false: a sitting
 * @property {(scale: Scale, right_h: number) => Element[]} under what lies under what was read
 */

/** @param {Series[]} series @param {Drawn} how @returns {SVGElement} */
function chart(series, { title, label, least, most, unit, times, isWhole, under }) {
  const hours = ticksOf(least[0], most[0]);
  const values = ticksOf(least[1] * times, most[1] * times).map((value) => value / times);
  const right_h = Math.max(most[0], hours[hours.length - 1]);
  const top = Math.max(most[1], values[values.length - 1]);
  /** @type {Scale} */
  const scale = {
    x: (h) => EDGE.left + ((h - least[0]) / (right_h - least[0] || 1)) * (WIDTH - EDGE.left - EDGE.right),
    y: (value) =>
      HEIGHT - EDGE.bottom - ((value - least[1]) / (top - least[1] || 1)) * (HEIGHT - EDGE.top - EDGE.bottom),
  };
  const { x, y } = scale;
  const floor = HEIGHT - EDGE.bottom;
  const drawn = svg(
    "svg",
    { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, class: "curve burnt", role: "img", "aria-label": label },
    svg("rect", { class: "ground", x: 0, y: 0, width: WIDTH, height: HEIGHT }),
    words(`${title}, ${unit}`, 6, 16, "start"),
    words(t("hours"), WIDTH - 6, HEIGHT - 6, "end"),
    ...values.flatMap((value) => [
      svg("path", { class: "rule", d: `M${EDGE.left} ${place(y(value))}H${WIDTH - EDGE.right}` }),
      words(numberText(String(Number((value * times).toPrecision(9)))), EDGE.left - 6, y(value) + 5, "end"),
    ]),
    ...hours.map((h) => words(numberText(String(h)), x(h), floor + 17, "middle")),
    ...under(scale, right_h),
  );
  for (const { points } of series) {
    const joined = points.map(([h, value]) => `${place(x(h))},${place(y(value))}`).join(" ");
    drawn.append(svg("polyline", { class: isWhole ? "whole" : "sitting", points: joined }));
    for (const [h, value] of points)
      drawn.append(svg("circle", { class: "dip", cx: place(x(h)), cy: place(y(value)), r: 3.5 }));
  }
  drawn.append(...numbersOf(series, scale));
  return /** @type {SVGElement} */ (drawn);
}

/** Beside the last that was read of each candle its number, none on another. @param {Series[]} series @param {Scale} scale */
function numbersOf(series, { x, y }) {
  /** @type {Map<number, [h: number, value: number]>} */
  const last = new Map();
  for (const { number, points } of series) {
    const end = points.at(-1);
    if (end && end[0] >= (last.get(number)?.[0] ?? 0)) last.set(number, end);
  }
  const ends = [...last].sort(([, a], [, b]) => y(a[1]) - y(b[1]));
  /** @type {[x: number, y: number][]} */
  const placed = [];
  return ends.map(([number, [h, value]]) => {
    const at_x = Math.min(x(h) + 7, WIDTH - 14);
    let at_y = y(value) + 5;
    for (const [other_x, other_y] of placed) if (Math.abs(other_x - at_x) < LINE) at_y = Math.max(at_y, other_y + LINE);
    placed.push([at_x, at_y]);
    return words(String(number + 1), at_x, at_y, "start");
  });
}

/** @param {Scale} scale @param {number} right_h @param {number} value @param {string} name */
function limitLine({ x, y }, right_h, value, name) {
  return [
    svg("path", { class: "limit", d: `M${place(x(0))} ${place(y(value))}H${place(x(right_h))}` }),
    words(name, x(right_h), y(value) - 5, "end"),
  ];
}

/** @param {Series[]} series @param {0 | 1} which */
const mostOf = (series, which) => Math.max(0, ...series.flatMap(({ points }) => points.map((point) => point[which])));

/** Her unit, and how many of it one base unit is. @param {"mass" | "length"} dimension @param {DisplayUnits} units */
function unitOf(dimension, { units }) {
  const unit = units[dimension].split(" ").at(-1) ?? "";
  return { unit, times: convert(1, dimension, unit) };
}
