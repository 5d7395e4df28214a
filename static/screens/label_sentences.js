/** The sentences of the law on a label: which of them stand there, and what the law leaves open in them. */

import { FOR_THE_PUBLIC } from "../labels/label_spec.js";
import { t } from "../words/door.js";
import { h } from "./dom.js";
import { languageName } from "./languages.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {{code: string, language: string, official: string | null, text: string | null, open: boolean}} Sentence */
/** @typedef {{left_out: string[], also: string[], filled: Record<string, Record<string, string>>}} Chosen */

/** @param {HTMLElement} place @param {Sentence[]} sentences as the desk told them @param {Fields} label its record
 * @param {(chosen: Chosen) => void} keep */
export function drawSentences(place, sentences, label, keep) {
  const { left_out = [], also = [], filled = {} } = label.sentences ?? {};
  place.hidden = sentences.length === 0;
  // What is half typed stays as long as the same sentences are asked for.
  const drawn = JSON.stringify([sentences, left_out, also]);
  if (place.dataset.drawn === drawn || place.hidden) return;
  place.dataset.drawn = drawn;
  const codes = [...new Set([...sentences.map(({ code }) => code), ...left_out, ...FOR_THE_PUBLIC])];
  const form = h(
    "form",
    { novalidate: true },
    ...codes.map((code) =>
      sentenceBox(
        code,
        sentences.filter((each) => each.code === code),
      ),
    ),
    h("button", { class: "quiet" }, t("Save the sentences")),
  );
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    keep(chosenIn(form, codes, filled));
  });
  const isOpen = sentences.some(({ open }) => open);
  place.replaceChildren(
    h(
      "details",
      { open: isOpen },
      h("summary", {}, t("Sentences of the law")),
      h(
        "p",
        { class: "help" },
        t(
          "The law gives them word for word. Where a slash offers a choice or dots stand, write the sentence as it is to be printed.",
        ),
      ),
      form,
    ),
  );
}

/** @param {string} code @param {Sentence[]} mine in each language; none: it is not on the label */
function sentenceBox(code, mine) {
  const stands = mine.length > 0;
  const may = code.startsWith("P");
  return h(
    "fieldset",
    { class: "sentence", "data-code": code },
    h("legend", {}, code),
    may &&
      h(
        "label",
        { class: "tick" },
        h("input", { type: "checkbox", checked: stands, "data-stands": true }),
        t("stands on the label"),
      ),
    ...mine.map((each) =>
      each.open || each.text !== null ? textBox(each) : h("p", { lang: each.language }, each.official),
    ),
  );
}

/** Where she writes a sentence as it is to be printed. @param {Sentence} sentence */
function textBox({ language, official, text }) {
  const area = { rows: 2, maxlength: 500, lang: language, "data-language": language, "data-official": official ?? "" };
  const look = t(
    "Its official text is not kept here. Look it up in CLP, Annexes III and IV, in that language, and type it word for word.",
  );
  return h(
    "div",
    { class: "field" },
    h("label", {}, h("span", { class: "name" }, languageName(language)), h("textarea", area, text ?? official ?? "")),
    h("p", official === null ? { class: "help" } : { class: "help", lang: language }, official ?? look),
  );
}

/** @param {HTMLElement} form @param {string[]} codes @param {Chosen["filled"]} before @returns {Chosen} */
function chosenIn(form, codes, before) {
  /** @type {Chosen} */
  const chosen = { left_out: [], also: [], filled: { ...before } };
  for (const code of codes) {
    const box = /** @type {HTMLElement} */ (form.querySelector(`[data-code="${CSS.escape(code)}"]`));
    const tick = /** @type {HTMLInputElement | null} */ (box.querySelector("[data-stands]"));
    const isPublic = FOR_THE_PUBLIC.includes(code);
    if (tick && !tick.checked && !isPublic) chosen.left_out.push(code);
    if (tick?.checked && isPublic) chosen.also.push(code);
    const areas = /** @type {HTMLTextAreaElement[]} */ ([...box.querySelectorAll("textarea")]);
    const texts = areas.flatMap(({ value, dataset: { language = "", official } }) =>
      value.trim() === "" || value.trim() === official ? [] : [[language, value.trim()]],
    );
    if (areas.length > 0) chosen.filled[code] = Object.fromEntries(texts);
  }
  return chosen;
}
