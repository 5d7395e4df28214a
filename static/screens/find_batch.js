/** A batch is found by the code on its label: typed, or in a photo. */
import { readCode } from "../formulas/batch_code.js";
import { poursWith } from "../shelf/batches.js";
import { InputError, t } from "../words/door.js";
import { askInBox } from "./ask_in_box.js";
import { h, setText } from "./dom.js";
import { codesIn } from "./scan.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */

/** @param {Pour[]} pours @returns {Promise<Pour[] | null>} those that have the code; null if she went back */
export function findBatch(pours) {
  const read = (/** @type {string} */ text) => poursWith(text, pours);
  return askInBox(t("Which batch code?"), "", read, "text", t("Find"), (answer) => {
    const look = async (/** @type {File} */ file) => {
      const says = (/** @type {boolean} */ isBusy) => {
        scan.toggleAttribute("disabled", isBusy);
        setText(scan, isBusy ? t("Reading the picture…") : t("Scan it"));
      };
      says(true);
      try {
        return poursIn(await codesIn(file), pours);
      } finally {
        says(false);
      }
    };
    const input = /** @type {HTMLInputElement} */ (
      // A file, and no camera of the page's own: none is allowed it.
      h("input", { type: "file", accept: "image/*", capture: "environment", hidden: true })
    );
    input.addEventListener("change", () => {
      const [file] = input.files ?? [];
      if (file) answer(look(file));
      // The same picture may be chosen again.
      input.value = "";
    });
    const scan = h("button", { type: "button", class: "quiet", onclick: () => input.click() }, t("Scan it"));
    return [input, scan];
  });
}

/** The pours whose code is among what a picture says. @param {string[]} texts @param {Pour[]} pours @returns {Pour[]} at
 *   least one @throws {InputError} none is */
function poursIn(texts, pours) {
  if (texts.length === 0)
    throw new InputError("There is no code in that picture. Go closer and take it again, or type the code.");
  const codes = texts.filter(isCode);
  if (codes.length === 0) {
    const read = texts[0].length > 40 ? `${texts[0].slice(0, 40)}…` : texts[0];
    throw new InputError("The code in that picture says “{read}”, which is no batch code.", { read });
  }
  const found = codes.flatMap((code) => {
    try {
      return poursWith(code, pours);
    } catch (error) {
      if (!(error instanceof InputError) || codes.length === 1) throw error;
      return [];
    }
  });
  if (found.length === 0) throw new InputError("No pour that is kept here has a code that is in that picture.");
  return [...new Set(found)];
}

/** @param {string} text */
function isCode(text) {
  try {
    readCode(text);
    return true;
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return false;
  }
}
