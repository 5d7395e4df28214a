/** The temperature curve as SVG: dips, fitted curve, the band of doubt, the window, now. */

import { tempAt } from "../formulas/cooling/forecast.js";
import { InputError, listed, plural, t } from "../words/door.js";

/** @typedef {import("./countdown.js").Wait} Wait */
/** @typedef {import("./fold.js").Dip} Dip */

const SVG = "http://www.w3.org/2000/svg";
const WIDTH = 360;
const HEIGHT = 150;
const EDGE = 8;

/**
 * @param {Dip[]} dips at least one
 * @param {{low_c: number, target_c: number, high_c: number}} window
 * @param {Wait | null} wait the forecast, if it still runs
 * @param {number} until_ms right edge, if nothing lies beyond it
 * @param {(celsius: number) => string} text
 */
export function curve(dips, window, wait, until_ms, text) {
  const begin_ms = dips[0].at;
  const forecast = wait?.forecast ?? null;
  const end_ms = Math.max(until_ms, wait?.closes_ms ?? wait?.high_ms ?? 0, dips[dips.length - 1].at, begin_ms + 60_000);
  const temps = dips.map(({ temp_c }) => temp_c);
  const top_c = Math.max(...temps, window.high_c) + 1;
  const least_c = Math.min(...temps, window.low_c);
  // Room under the window for its label.
  const bottom_c = least_c - Math.max(1, 0.25 * (top_c - least_c));
  const x = (/** @type {number} */ at_ms) => EDGE + ((at_ms - begin_ms) / (end_ms - begin_ms)) * (WIDTH - 2 * EDGE);
  const y = (/** @type {number} */ celsius) => EDGE + ((top_c - celsius) / (top_c - bottom_c)) * (HEIGHT - 2 * EDGE);
  const svg = make("svg", { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, class: "curve", role: "img" });
  svg.setAttribute("aria-label", inWords(dips, window, text));
  svg.append(
    make("rect", { class: "ground", x: 0, y: 0, width: WIDTH, height: HEIGHT }),
    make("rect", {
      class: "window",
      x: 0,
      y: y(window.high_c),
      width: WIDTH,
      height: Math.max(2, y(window.low_c) - y(window.high_c)),
    }),
  );
  if (forecast !== null && wait !== null) {
    const last_ms = dips[dips.length - 1].at;
    const [eta_ms, low_ms, high_ms] = [wait.at_ms ?? last_ms, wait.low_ms ?? last_ms, wait.high_ms ?? last_ms];
    /** Backwards a curve rises without end, and may do so before it comes to the first dip.
     * @param {number} ms */
    const celsiusAt = (ms) => {
      try {
        return tempAt(forecast, (ms - wait.zero_ms) / 1000);
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        return Infinity;
      }
    };
    /** A point of the curve; `stretch` runs what lies after the last dip slower or faster.
     * @param {number} ms @param {number} stretch */
    const point = (ms, stretch) => {
      const then_ms = ms <= last_ms ? ms : last_ms + (ms - last_ms) * stretch;
      return `${x(ms).toFixed(1)},${y(Math.max(bottom_c, Math.min(top_c, celsiusAt(then_ms)))).toFixed(1)}`;
    };
    const steps = Array.from({ length: 41 }, (_, part) => begin_ms + ((end_ms - begin_ms) * part) / 40);
    if (eta_ms > last_ms && low_ms > last_ms) {
      // The doubt: as if it were to arrive at either end of the 90 % interval.
      const early = steps.map((ms) => point(ms, (eta_ms - last_ms) / (low_ms - last_ms)));
      const late = steps.map((ms) => point(ms, (eta_ms - last_ms) / (high_ms - last_ms)));
      svg.append(make("polygon", { class: "doubt", points: [...early, ...late.reverse()].join(" ") }));
    }
    const points = steps.map((ms) => point(ms, 1));
    for (const part of ["edge", "fitted"]) svg.append(make("polyline", { class: part, points: points.join(" ") }));
    const now_ms = Math.min(Math.max(until_ms, begin_ms), end_ms);
    svg.append(make("line", { class: "now", x1: x(now_ms), x2: x(now_ms), y1: EDGE, y2: HEIGHT - EDGE }));
  } else {
    svg.append(
      make("polyline", {
        class: "joined",
        points: dips.map((dip) => `${x(dip.at).toFixed(1)},${y(dip.temp_c).toFixed(1)}`).join(" "),
      }),
    );
  }
  for (const dip of dips) svg.append(make("circle", { class: "dip", cx: x(dip.at), cy: y(dip.temp_c), r: 5 }));
  const label = make("text", { x: EDGE, y: y(window.low_c) + 18 });
  label.textContent = t("{low} to {high}", { low: text(window.low_c), high: text(window.high_c) });
  svg.append(label);
  return svg;
}

/** @param {Dip[]} dips @param {{low_c: number, high_c: number}} window @param {(celsius: number) => string} text */
function inWords(dips, window, text) {
  const began = dips[0].at;
  const readings = dips.map(({ at, temp_c }) =>
    plural(Math.round((at - began) / 60_000), "{temperature} at {n} minute", "{temperature} at {n} minutes", {
      temperature: text(temp_c),
    }),
  );
  return t("Temperature over time. Read: {readings}. The window is {low} to {high}.", {
    readings: listed(readings),
    low: text(window.low_c),
    high: text(window.high_c),
  });
}

/** @param {string} name @param {Record<string, string | number>} attributes */
function make(name, attributes) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  return element;
}
