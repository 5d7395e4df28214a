/** The number pad: what does the scale, or the thermometer, really show? */
import { InputError, t } from "../words/door.js";
import { decimalSign, numberText } from "../words/numbers.js";
import { ask } from "./ask.js";
import { cloneTemplate, h, slot } from "./dom.js";

/**
 * Ask for a reading, key by key.
 * @param {Pick<import("../bench/reading_request.js").ReadingRequest, "asks" | "step" | "doubt"> & {dimension: "mass" | "temperature" | "length"}} request @param {import("../bench/display_units.js").DisplayUnits} units
 * @param {number | null} [entered] a value that was entered already, and is only questioned here
 * @returns {Promise<number | null>} base unit; null if she went back
 */
export function askReading(request, units, entered = null) {
  return ask(cloneTemplate("screen-pad"), (dialog, /** @type {(value: number | null) => void} */ end) => {
    const typed = slot(dialog, "typed");
    const question = slot(dialog, "question");
    const answers = slot(dialog, "answers");
    const unit = units.units[request.dimension];
    let text = "";

    slot(dialog, "asks").textContent = request.asks;

    const point = decimalSign();
    const keys =
      unit === "lb oz"
        ? ["1", "2", "3", "⌫", "4", "5", "6", "lb", "7", "8", "9", point, "0"]
        : ["1", "2", "3", "4", "5", "6", "7", "8", "9", point, "0", "⌫"];
    slot(dialog, "keys").toggleAttribute("data-many", unit === "lb oz");
    slot(dialog, "keys").replaceChildren(
      ...keys.map((key) =>
        h(
          "button",
          {
            type: "button",
            "aria-label": key === "⌫" ? t("delete") : key,
            onclick: () => press(key === point ? "." : key),
          },
          key,
        ),
      ),
    );

    function press(/** @type {string} */ key) {
      if (key === "⌫") text = text.replace(/( lb |.)$/, "");
      else if (key === "lb") text += text === "" || text.includes("lb") ? "" : " lb ";
      else if (text.length < 12 && !(key === "." && /\.[^ ]*$/.test(text))) text += key;
      draw();
    }

    function draw() {
      typed.replaceChildren(numberText(text) || "\u2007", h("small", {}, unit === "lb oz" ? "oz" : unit));
      question.hidden = true;
      answers.hidden = true;
    }

    function enter() {
      let value;
      try {
        value = units.read(text, request.dimension);
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        inquire(text === "" ? t("Type what it shows first.") : error.message, []);
        return;
      }
      const doubt = request.doubt(value);
      if (doubt === null) end(value);
      else inquire(doubt.question, doubt.answers);
    }

    function inquire(/** @type {string} */ words, /** @type {{label: string, value: number}[]} */ choices) {
      question.textContent = words;
      question.hidden = false;
      answers.replaceChildren(
        ...choices.map(({ label, value }) =>
          h("button", { type: "button", class: "quiet", onclick: () => end(value) }, label),
        ),
      );
      answers.hidden = choices.length === 0;
    }

    dialog.addEventListener("keydown", (event) => {
      if (/^[0-9.]$/.test(event.key)) press(event.key);
      else if (event.key === ",") press(".");
      else if (event.key === "Backspace") press("⌫");
      else if (
        event.key === "Enter" &&
        !(event.target instanceof HTMLButtonElement && event.target.closest(".answers, .ends"))
      )
        enter();
      else return;
      event.preventDefault();
    });
    slot(dialog, "enter").addEventListener("click", enter);
    draw();
    const doubt = entered === null ? null : request.doubt(entered);
    if (entered !== null) {
      text = units
        .text(entered, request.dimension, request.step)
        .replaceAll("\u00a0", " ")
        .replace(decimalSign(), ".")
        .replace(/oz|[^\d.lb ]/g, "")
        .trim();
      draw();
    }
    if (doubt !== null) inquire(doubt.question, doubt.answers);
  });
}
