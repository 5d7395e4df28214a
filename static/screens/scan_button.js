/** A button that reads the batch code in a photo of a label. */

import { readCode } from "../formulas/batch_code.js";
import { InputError, t, WordedError } from "../words/door.js";
import { h, setText } from "./dom.js";
import { codesIn } from "./scan.js";

/** What is shown of a code that is none, in letters. */
const MOST_SHOWN = 40;

/** @param {(codes: string[]) => Promise<void>} found the codes in the picture, one at least
 * @param {(problem: string) => void} say what is wrong with it; '': nothing */
export function scanButton(found, say) {
  const look = async (/** @type {File} */ file) => {
    say("");
    button.toggleAttribute("disabled", true);
    setText(button, t("Reading the picture…"));
    try {
      await found(codesOf(await codesIn(file)));
    } catch (problem) {
      if (!(problem instanceof WordedError)) throw problem;
      say(problem.message);
    } finally {
      button.toggleAttribute("disabled", false);
      setText(button, t("Scan"));
    }
  };
  const input = /** @type {HTMLInputElement} */ (
    // A file, and no camera of the page's own: none is allowed it.
    h("input", { type: "file", accept: "image/*", capture: "environment", hidden: true })
  );
  input.addEventListener("change", () => {
    const [file] = input.files ?? [];
    if (file) void look(file);
    // The same picture may be chosen again.
    input.value = "";
  });
  const button = h("button", { type: "button", class: "quiet small", onclick: () => input.click() }, t("Scan"));
  return h("span", { class: "scan" }, input, button);
}

/** Those of what a picture says that are batch codes. @param {string[]} texts @returns {string[]} one at least
 * @throws {InputError} none is */
function codesOf(texts) {
  if (texts.length === 0)
    throw new InputError("There is no code in that picture. Go closer and take it again, or type the code.");
  const codes = texts.flatMap((text) => {
    try {
      return [readCode(text).code];
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      return [];
    }
  });
  if (codes.length > 0) return codes;
  const read = texts[0].length > MOST_SHOWN ? `${texts[0].slice(0, MOST_SHOWN)}…` : texts[0];
  throw new InputError("The code in that picture says “{read}”, which is no batch code.", { read });
}
