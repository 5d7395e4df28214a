/**
 * A box that chooses another record, where the record in the form has words in place of an id: they were
 * written before there was a kind for it, or what they name is no longer kept. They stand in the box as what
 * is chosen, until another is. Such a box carries `data-words`: the field beside its own that holds them.
 */
import { h } from "./dom.js";

/** @typedef {Record<string, any>} Fields */

/** Words as a choice begin with this, an id never does. */
const MARK = "=";

/** What stands in a box: the id of a record that may be chosen, else the words, marked.
 * @param {HTMLElement} field @param {Fields} record @param {(kind: string) => Fields[]} others */
export function choiceOf(field, record, others) {
  const { field: name = "", words = "", kind = "" } = field.dataset;
  const [id, text] = [record[name], record[words]];
  if (typeof text !== "string" || text === "") return id;
  return id && others(kind).some((other) => other.id === id) ? id : MARK + text;
}

/** The words of a choice; null where it is an id, or none. @param {unknown} choice */
export function wordsOf(choice) {
  return typeof choice === "string" && choice.startsWith(MARK) ? choice.slice(MARK.length) : null;
}

/** Choose in a box; words are offered where they are chosen. @param {HTMLSelectElement} box @param {string} choice */
export function choose(box, choice) {
  const text = wordsOf(choice);
  if (text !== null && ![...box.options].some(({ value }) => value === choice))
    box.append(h("option", { value: choice }, text));
  box.value = choice;
}

/** What is kept of a choice: the id, if there is one, and what it is called.
 * @param {HTMLElement} field @param {HTMLSelectElement} box @returns {Fields} */
export function keptOf(field, { value, selectedOptions }) {
  const { field: name = "", words = "" } = field.dataset;
  const text = wordsOf(value);
  if (text !== null) return { [name]: null, [words]: text };
  return { [name]: value || null, [words]: value === "" ? null : (selectedOptions[0]?.textContent ?? null) };
}
