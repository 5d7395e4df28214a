/** A batch's weights as dots on a line, beside what is stated and what may be missing of it. */
import { place, svg, words } from "../bench/svg.js";
import { t } from "../words/door.js";

/** @typedef {{g: number, text: string, name: string, kind: "stated" | "limit"}} Line */

const WIDTH = 360;
const EDGE = 14;
const DOT = 4;
/** Room above the dots for each line's words. */
const ROW = 18;
/** Dots on each other before they are drawn closer together. */
const MOST_HIGH = 14;

/**
 * @param {number[]} weights grams, at least one @param {Line[]} lines the heaviest first
 * @param {(grams: number) => string} text
 */
export function stripChart(weights, lines, text) {
  const all = [...weights, ...lines.map(({ g }) => g)];
  const [least, most] = [Math.min(...all), Math.max(...all)];
  const span = most - least || 1;
  const x = (/** @type {number} */ g) => place(EDGE + ((g - least) / span) * (WIDTH - 2 * EDGE));
  const [placed, highest] = stacked(weights.map(x));
  const apart = Math.min(2 * DOT, (2 * DOT * MOST_HIGH) / highest);
  const top = lines.length * ROW + 6;
  const floor = top + Math.min(highest, MOST_HIGH) * 2 * DOT + 8;
  const label = [
    t("Weights from {low} to {high}.", { low: text(Math.min(...weights)), high: text(Math.max(...weights)) }),
    ...lines.map(({ name, text: amount }) => t("{name}: {amount}.", { name, amount })),
  ];
  return svg(
    "svg",
    {
      viewBox: `0 0 ${WIDTH} ${floor + ROW}`,
      class: "curve burnt",
      role: "img",
      "aria-label": label.join(" "),
    },
    svg("rect", { class: "ground", x: 0, y: 0, width: WIDTH, height: floor + ROW }),
    ...lines.flatMap(({ g, text: amount, name, kind }, row) => {
      const at = x(g);
      const y = (row + 1) * ROW - 3;
      const isRight = at > WIDTH / 2;
      return [
        svg("path", { class: kind === "stated" ? "edge" : "limit", d: `M${at} ${y + 4}V${floor}` }),
        ...(kind === "stated" ? [svg("polyline", { points: `${at},${y + 4} ${at},${floor}` })] : []),
        words(`${name} ${amount}`, isRight ? at + EDGE / 2 : at - EDGE / 2, y, isRight ? "end" : "start"),
      ];
    }),
    ...placed.map(([at, level]) =>
      svg("circle", { class: "dip", cx: at, cy: place(floor - DOT - level * apart), r: DOT - 0.5 }),
    ),
    svg("path", { class: "rule", d: `M0 ${floor}H${WIDTH}` }),
    words(text(least), EDGE / 2, floor + ROW - 4, "start"),
    ...(most > least ? [words(text(most), WIDTH - EDGE / 2, floor + ROW - 4, "end")] : []),
  );
}

/** Each dot with how many it lies upon, and how high the highest stack is. @param {number[]} xs
 * @returns {[placed: [x: number, level: number][], highest: number]} */
function stacked(xs) {
  /** Where the last dot of each level is. @type {number[]} */
  const ends = [];
  const placed = [...xs]
    .sort((a, b) => a - b)
    .map((at) => {
      const free = ends.findIndex((end) => at - end >= 2 * DOT);
      const level = free < 0 ? ends.length : free;
      ends[level] = at;
      return /** @type {[number, number]} */ ([at, level]);
    });
  return [placed, ends.length];
}
