/** What was made on the way from another form, to be chosen there. */
import { chooseMade } from "./form.js";

/** @type {{kind: string, id: string} | null} */
let made = null;

/** It was made. @param {string} kind @param {string} id */
export function keepMade(kind, id) {
  made = { kind, id };
}

/** Choose it where nothing is chosen yet, once. @param {HTMLElement} form */
export function takeMade(form) {
  if (made === null) return;
  chooseMade(form, made.kind, made.id);
  made = null;
}
