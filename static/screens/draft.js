/** What is typed into a form and not yet kept stays while she is away from it, also over a reload. */

import { boxesOf } from "./boxes.js";
import { choose } from "./words_instead.js";

/** @typedef {import("./boxes.js").Box} Box */

/**
 * Keep what is typed into a form that is no record's: each of its boxes has a place of its own.
 * @param {HTMLElement} form @param {string} key
 * @returns {(forGood?: boolean) => void} forget it
 */
export function keepDraft(form, key) {
  const boxes = boxesOf(form);
  const nameOf = (/** @type {Box} */ box) => box.dataset.slot ?? box.name;
  const opened = new Map(boxes.map((box) => [box, textOf(box)]));
  /** @type {Record<string, string | undefined>} */
  const kept = JSON.parse(sessionStorage.getItem(key) ?? "{}");
  for (const box of boxes) setText(box, kept[nameOf(box)]);
  let over = false;
  const keep = () => {
    if (over) return;
    const typed = boxes.filter((box) => textOf(box) !== opened.get(box)).map((box) => [nameOf(box), textOf(box)]);
    keepOrForget(key, Object.fromEntries(typed));
  };
  form.addEventListener("input", keep);
  form.addEventListener("change", keep);
  return (forGood = false) => {
    over = forGood;
    sessionStorage.removeItem(key);
  };
}

/** Keep what is typed; nothing typed, nothing kept. @param {string} key @param {Record<string, unknown>} typed */
export function keepOrForget(key, typed) {
  if (Object.keys(typed).length > 0) sessionStorage.setItem(key, JSON.stringify(typed));
  else sessionStorage.removeItem(key);
}

/** @param {Box} box */
export function textOf(box) {
  return box instanceof HTMLInputElement && box.type === "checkbox" ? (box.checked ? "on" : "") : box.value;
}

/** @param {Box} box @param {string | undefined} text */
export function setText(box, text) {
  if (text === undefined) return;
  if (box instanceof HTMLInputElement && box.type === "checkbox") box.checked = text === "on";
  else if (box instanceof HTMLSelectElement) choose(box, text);
  else box.value = text;
}
