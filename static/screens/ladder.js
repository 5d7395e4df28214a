/** A thermometer to read off: its steps around where it should stand, none of them chosen. */
import { COLDEST_C, HOTTEST_C } from "../bench/reading_request.js";
import { ask } from "./ask.js";
import { cloneTemplate, h, slot } from "./dom.js";
import { askReading } from "./pad.js";

/** @typedef {Omit<import("../bench/reading_request.js").ReadingRequest, "event">} Request */

/** Steps on either side of where it opens, and at least so far, °C. */
const STEPS = 20;
const FAR_C = 4;

/**
 * Ask what the thermometer shows: one touch on the step that she reads. Where nothing tells about where, and for what is
 * not on it, the pad asks.
 * @param {Request} request @param {import("../bench/display_units.js").DisplayUnits} units
 * @returns {Promise<number | null>} °C; null if she went back
 */
export async function askTemperature(request, units) {
  if (request.around === null) return askReading(request, units);
  const touched = await touchedOn(request, request.around, units);
  if (touched === "other") return askReading(request, units);
  return touched === null || request.doubt(touched) === null ? touched : askReading(request, units, touched);
}

/** @param {Request} request @param {number} around °C @param {import("../bench/display_units.js").DisplayUnits} units
 * @returns {Promise<number | "other" | null>} */
function touchedOn({ asks, step }, around, units) {
  const many = Math.max(STEPS, Math.ceil(FAR_C / step));
  const middle = Math.min(HOTTEST_C - many * step, Math.max(COLDEST_C + many * step, around));
  return ask(
    cloneTemplate("screen-ladder"),
    (dialog, /** @type {(answer: number | "other" | null) => void} */ end) => {
      slot(dialog, "asks").textContent = asks;
      const rungs = Array.from({ length: 2 * many + 1 }, (_, index) => {
        const value = units.stepped(middle, "temperature", step, many - index);
        const shown = units.text(value, "temperature", step);
        return h("button", { type: "button", class: isMajor(shown) ? "major" : "", onclick: () => end(value) }, shown);
      });
      slot(dialog, "rungs").replaceChildren(...rungs);
      slot(dialog, "other").addEventListener("click", () => end("other"));
    },
    (dialog) => slot(dialog, "rungs").children[many].scrollIntoView({ block: "center" }),
  );
}

/** Whether a step has a long tick: whole degrees, or every fifth. @param {string} shown */
const isMajor = (shown) => (/[.,]/.test(shown) ? /[.,]0+\D*$/.test(shown) : /[05]\D*$/.test(shown));
