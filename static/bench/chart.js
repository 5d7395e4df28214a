/** The temperature curve as SVG: dips, fitted curve, the ribbon of doubt, the band to hit, now. */

import { tempAt } from "../formulas/cooling/forecast.js";
import { InputError, listed, plural, t } from "../words/door.js";

/** @typedef {import("./countdown.js").Wait} Wait */
/** @typedef {import("./fold.js").Dip} Dip */

const SVG = "http://www.w3.org/2000/svg";
const EDGE = 8;
/** Of the letters, px. */
const LETTERS = 20;
/** Points of a curve. */
const POINTS = 40;

/** The log's, px. */
const USUAL = { width: 360, height: 150 };

/**
 * @param {Dip[]} dips at least one
 * @param {{low_c: number, target_c: number, high_c: number}} window
 * @param {Wait | null} wait the forecast, if it still runs
 * @param {number} until_ms right edge, if nothing lies beyond it
 * @param {(celsius: number) => string} text
 * @param {{width: number, height: number}} [size] px, in which its letters keep their size
 */
export function curve(dips, window, wait, until_ms, text, { width, height } = USUAL) {
  const begin_ms = dips[0].at;
  const last_ms = dips[dips.length - 1].at;
  const forecast = wait?.forecast ?? null;
  const end_ms = Math.max(until_ms, wait?.closes_ms ?? wait?.high_ms ?? 0, last_ms, begin_ms + 60_000);
  const temps = dips.map(({ temp_c }) => temp_c);
  const top_c = Math.max(...temps, window.high_c) + 1;
  const least_c = Math.min(...temps, window.low_c);
  // Room under the band for its label.
  const bottom_c = least_c - Math.max(1, ((LETTERS + EDGE) / height) * (top_c - least_c) * 1.4);
  const x = (/** @type {number} */ at_ms) => EDGE + ((at_ms - begin_ms) / (end_ms - begin_ms)) * (width - 2 * EDGE);
  const y = (/** @type {number} */ celsius) => EDGE + ((top_c - celsius) / (top_c - bottom_c)) * (height - 2 * EDGE);
  const svg = make("svg", { viewBox: `0 0 ${width} ${height}`, class: "curve", role: "img" });
  svg.setAttribute("aria-label", inWords(dips, window, text));
  const [band_y, band_end_y] = [y(window.high_c), y(window.low_c)];
  svg.append(
    make("rect", { class: "ground", x: 0, y: 0, width, height }),
    make("rect", { class: "window", x: 0, y: band_y, width, height: Math.max(2, band_end_y - band_y) }),
    label(t("{low} to {high}", { low: text(window.low_c), high: text(window.high_c) }), EDGE, band_end_y + LETTERS),
  );
  if (forecast === null || wait === null) {
    const joined = dips.map((dip) => `${x(dip.at).toFixed(1)},${y(dip.temp_c).toFixed(1)}`);
    svg.append(make("polyline", { class: "joined", points: joined.join(" ") }));
  } else {
    const at = (/** @type {number} */ ms) => celsiusAt(forecast, (ms - wait.zero_ms) / 1000);
    /** A point of the curve; `stretch` runs what lies after the last dip slower or faster.
     * @param {number} ms @param {number} stretch */
    const point = (ms, stretch) => {
      const then_ms = ms <= last_ms ? ms : last_ms + (ms - last_ms) * stretch;
      return `${x(ms).toFixed(1)},${y(Math.max(bottom_c, Math.min(top_c, at(then_ms)))).toFixed(1)}`;
    };
    const times = Array.from({ length: POINTS + 1 }, (_, part) => begin_ms + ((end_ms - begin_ms) * part) / POINTS);
    const [eta_ms, low_ms, high_ms] = [wait.at_ms ?? last_ms, wait.low_ms ?? last_ms, wait.high_ms ?? last_ms];
    if (eta_ms > last_ms && low_ms > last_ms) {
      // As if it were to arrive at either end of the 90 % interval.
      const early = times.map((ms) => point(ms, (eta_ms - last_ms) / (low_ms - last_ms)));
      const late = times.map((ms) => point(ms, (eta_ms - last_ms) / (high_ms - last_ms)));
      svg.append(make("polygon", { class: "doubt", points: [...early, ...late.reverse()].join(" ") }));
    }
    const points = times.map((ms) => point(ms, 1)).join(" ");
    for (const part of ["edge", "fitted"]) svg.append(make("polyline", { class: part, points }));
  }
  for (const dip of dips) svg.append(make("circle", { class: "dip", cx: x(dip.at), cy: y(dip.temp_c), r: 5 }));
  if (wait?.forecast) svg.append(...nowDot(wait, until_ms, x, y, width, text));
  return svg;
}

/** Where the wax is now, as far as the dips tell. @param {Wait} wait @param {number} now_ms
 * @param {(ms: number) => number} x @param {(celsius: number) => number} y @param {number} width
 * @param {(celsius: number) => string} text */
function nowDot({ temp_c }, now_ms, x, y, width, text) {
  if (temp_c === null) return [];
  const [at_x, at_y] = [x(now_ms), y(temp_c)];
  const isRight = at_x > width * 0.7;
  const name = label(text(temp_c), at_x + (isRight ? -14 : 14), Math.max(LETTERS, at_y - 10));
  name.setAttribute("text-anchor", isRight ? "end" : "start");
  return [make("circle", { class: "now", cx: at_x, cy: at_y, r: 9 }), name];
}

/** Backwards a curve rises without end, and may do so before it comes to the first dip.
 * @param {import("../formulas/cooling/forecast.js").Forecast} forecast @param {number} since_s */
function celsiusAt(forecast, since_s) {
  try {
    return tempAt(forecast, since_s);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return Infinity;
  }
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

/** @param {string} words @param {number} x @param {number} y */
function label(words, x, y) {
  const place = make("text", { x, y });
  place.textContent = words;
  return place;
}

/** @param {string} name @param {Record<string, string | number>} attributes */
function make(name, attributes) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  return element;
}
