/** The number pad: what does the scale, or the thermometer, really read? */
import { ValueError } from "../formulas/checks.js";
import { copy, h, slot } from "./dom.js";

/**
 * @typedef {object} Asked
 * @property {string} asks the question
 * @property {"mass" | "temperature"} dimension
 * @property {number | null} shown what is expected, base unit; one touch accepts it
 * @property {number} step_base the step of the scale or thermometer
 * @property {(value: number) => {question: string, answers: {label: string, value: number}[]} | null} doubt
 *   a reading that can hardly be meant is questioned once
 */

/**
 * Ask for a reading.
 * @param {Asked} asked @param {import("../bench/hers.js").Hers} units
 * @returns {Promise<number | null>} base unit; null if she went back
 */
export function askReading(asked, units) {
  const fragment = copy("screen-pad");
  const dialog = /** @type {HTMLDialogElement} */ (fragment.querySelector("dialog"));
  const typed = slot(dialog, "typed");
  const question = slot(dialog, "question");
  const answers = slot(dialog, "answers");
  const unit = units.units[asked.dimension];
  let text = "";

  slot(dialog, "asks").textContent = asked.asks;
  const shownButton = slot(dialog, "shown");
  shownButton.hidden = asked.shown === null;
  if (asked.shown !== null) shownButton.textContent = `As shown: ${units.text(asked.shown, asked.dimension, asked.step_base)}`;

  const keys = ["1", "2", "3", "4", "5", "6", "7", "8", "9", unit === "lb oz" ? "lb" : ".", "0", "⌫"];
  if (unit === "lb oz") keys.push(".");
  slot(dialog, "keys").replaceChildren(
    ...keys.map((key) => h("button", { type: "button", "aria-label": key === "⌫" ? "delete" : key, onclick: () => press(key) }, key)),
  );

  function press(/** @type {string} */ key) {
    if (key === "⌫") text = text.replace(/( lb |.)$/, "");
    else if (key === "lb") text += text === "" || text.includes("lb") ? "" : " lb ";
    else if (text.length < 12 && !(key === "." && /\.[^ ]*$/.test(text))) text += key;
    draw();
  }

  function draw() {
    typed.replaceChildren(text || "\u2007", h("small", {}, unit === "lb oz" ? "oz" : unit));
    question.hidden = true;
    answers.hidden = true;
  }

  return new Promise((resolve) => {
    const end = (/** @type {number | null} */ value) => {
      dialog.close();
      dialog.remove();
      resolve(value);
    };

    function enter() {
      let value;
      try {
        value = units.read(text, asked.dimension);
      } catch (error) {
        if (!(error instanceof ValueError)) throw error;
        ask(text === "" ? "Type what it reads first." : error.message, []);
        return;
      }
      const doubt = asked.doubt(value);
      if (doubt === null) end(value);
      else ask(doubt.question, doubt.answers);
    }

    function ask(/** @type {string} */ words, /** @type {{label: string, value: number}[]} */ choices) {
      question.textContent = words;
      question.hidden = false;
      answers.replaceChildren(
        ...choices.map(({ label, value }) => h("button", { type: "button", class: "quiet", onclick: () => end(value) }, label)),
      );
      answers.hidden = choices.length === 0;
    }

    dialog.addEventListener("keydown", (event) => {
      if (/^[0-9.]$/.test(event.key)) press(event.key);
      else if (event.key === ",") press(".");
      else if (event.key === "Backspace") press("⌫");
      else if (event.key === "Enter") enter();
      else return;
      event.preventDefault();
    });
    dialog.addEventListener("cancel", (event) => {
      event.preventDefault();
      end(null);
    });
    slot(dialog, "back").addEventListener("click", () => end(null));
    slot(dialog, "enter").addEventListener("click", enter);
    shownButton.addEventListener("click", () => end(asked.shown));
    draw();
    document.body.append(dialog);
    dialog.showModal();
  });
}
