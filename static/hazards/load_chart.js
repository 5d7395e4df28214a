/** The class of a candle over its load, as SVG: a bar for each class from where to where it holds, and her load. What it
 * shows stands in its label, and in a list, as the exact loads. */
import { place, svg, words } from "../bench/svg.js";
import { listed, t, worded } from "../words/door.js";
import { numberText } from "../words/numbers.js";

/** @typedef {import("../words/door.js").Message} Message */
/**
 * @typedef {object} Step loads with one and the same class and label
 * @property {number} from a fraction @property {number} to
 * @property {string} from_text exact, in per cent @property {string} to_text
 * @property {boolean} with_from whether the end belongs to it @property {boolean} with_to
 * @property {Message[]} classes @property {string[]} pictograms @property {string | null} signal_word
 * @property {string[]} h @property {boolean} euh208 @property {boolean} open something is undecided
 */
/** @typedef {{now: number, most: number, basis: "wax" | "total", now_text: string, steps: Step[], said: Message[]}} Load */

const WIDTH = 360;
const ROW = 40;
const BAR = 14;
/** Room for what stands around, in the drawing's own units. */
const EDGE = { left: 12, right: 20, top: 30, bottom: 42 };
/** At most so many numbers along the axis. */
const NUMBERS = 6;

/** Every class that is found at any load, and what stands beside classes, each with the steps at which it holds.
 * @param {Step[]} steps @returns {[name: string, steps: Step[]][]} */
export function rowsOf(steps) {
  /** @type {Map<string, Step[]>} */
  const rows = new Map();
  const put = (/** @type {string} */ name, /** @type {Step} */ step) =>
    rows.set(name, [...(rows.get(name) ?? []), step]);
  for (const step of steps) for (const name of new Set(step.classes.map(worded))) put(name, step);
  for (const step of steps) for (const code of step.pictograms) put(t("pictogram {code}", { code }), step);
  for (const step of steps) if (step.euh208) put("EUH208", step);
  for (const step of steps) if (step.open) put(t("something undecided"), step);
  return [...rows];
}

/** From where to where a step goes. @param {Step} step */
export function rangeText({ from, from_text, to_text, to, with_from, with_to }) {
  const values = { from: from_text, to: to_text };
  if (from === to) return t("At {from} %", values);
  if (from === 0 && with_from) return with_to ? t("Up to {to} %", values) : t("Below {to} %", values);
  if (with_from) return with_to ? t("From {from} % to {to} %", values) : t("From {from} % on, below {to} %", values);
  return with_to ? t("Above {from} %, up to {to} %", values) : t("Above {from} % and below {to} %", values);
}

/** What holds at a step. @param {Step} step */
export function stepText({ classes, pictograms, signal_word, h, euh208, open }) {
  const names = classes.map(worded);
  const parts = [
    names.length > 0 ? listed(names) : t("no class is reached by what could be decided"),
    h.length > 0 && listed(h),
    pictograms.length > 0 ? listed(pictograms) : names.length > 0 && t("no pictogram"),
    signal_word,
    euh208 && "EUH208",
    open && t("something is undecided"),
  ];
  return parts.filter(Boolean).join("; ");
}

/** @param {Load} load @returns {SVGElement} */
export function loadChart({ now, most, now_text, basis, steps }) {
  const rows = rowsOf(steps);
  const right = Math.max(most, now);
  const height = EDGE.top + rows.length * ROW + EDGE.bottom;
  const floor = height - EDGE.bottom;
  const x = (/** @type {number} */ load) => EDGE.left + (load / right) * (WIDTH - EDGE.left - EDGE.right);
  const told = steps.map((step) => `${rangeText(step)}: ${stepText(step)}`);
  const label = t("The class over the load. {steps}. This recipe is at {now} %.", {
    steps: told.join(". "),
    now: now_text,
  });
  return /** @type {SVGElement} */ (
    svg(
      "svg",
      { viewBox: `0 0 ${WIDTH} ${height}`, class: "curve burnt classes", role: "img", "aria-label": label },
      svg("rect", { class: "ground", x: 0, y: 0, width: WIDTH, height }),
      ...numbersTo(right * 100).flatMap((percent) => [
        svg("path", { class: "rule", d: `M${place(x(percent / 100))} ${EDGE.top}V${floor}` }),
        words(numberText(String(percent)), x(percent / 100), floor + 17, "middle"),
      ]),
      words(
        basis === "total" ? t("load, % of wax and fragrance") : t("load, % of the wax"),
        WIDTH - 6,
        height - 6,
        "end",
      ),
      ...rows.flatMap(([name, holds], row) => {
        const top = EDGE.top + row * ROW;
        return [
          ...stretchesOf(holds).map(({ from, to }) =>
            svg("rect", {
              class: "holds",
              x: place(x(from)),
              y: top + ROW - BAR - 3,
              width: place(Math.max(1.5, x(to) - x(from))),
              height: BAR,
            }),
          ),
          words(name, EDGE.left, top + ROW - BAR - 8, "start"),
        ];
      }),
      svg("path", { class: "limit", d: `M${place(x(now))} ${EDGE.top - 6}V${floor}` }),
      words(t("this recipe, {now} %", { now: now_text }), ...atLine(x(now))),
    )
  );
}

/** Steps that follow on from each other are one bar. @param {Step[]} steps @returns {{from: number, to: number}[]} */
function stretchesOf(steps) {
  /** @type {{from: number, to: number}[]} */
  const found = [];
  for (const { from, to } of steps) {
    const last = found.at(-1);
    if (last?.to === from) last.to = to;
    else found.push({ from, to });
  }
  return found;
}

/** Where the words of a line stand, so that all of them are seen. @param {number} x
 * @returns {[x: number, y: number, anchor: string]} */
function atLine(x) {
  if (x > WIDTH * 0.7) return [Math.min(WIDTH - 6, x + 30), EDGE.top - 12, "end"];
  return [Math.max(6, x - 30), EDGE.top - 12, "start"];
}

/** Round numbers from 0 on. @param {number} most */
function numbersTo(most) {
  const step = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20].find((each) => most / each < NUMBERS) ?? 50;
  return Array.from({ length: Math.floor(most / step + 1e-9) + 1 }, (_, n) => Number((n * step).toPrecision(6)));
}
