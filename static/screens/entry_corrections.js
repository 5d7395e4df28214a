/** A number or day of the log was wrong: the right one is asked for. */

import { doubtCorrection, finestStep } from "../bench/corrections.js";
import { t } from "../words/door.js";
import { h } from "./dom.js";
import { askReading } from "./pad.js";

/** @typedef {import("../records/store.js").AnyEvent} AnyEvent */

/** What it should have been; null if she went back.
 * @param {AnyEvent} event @param {string} field @param {import("../bench/sheet.js").Sheet} sheet
 * @param {import("../bench/display_units.js").DisplayUnits} units @returns {Promise<number | string | null>} */
export function askCorrection(event, field, sheet, units) {
  if (field === "on") return askDate(t("Poured on"), event.on);
  const dimension = field === "read_g" ? "mass" : "temperature";
  return askReading(
    {
      asks: t("What should it have been?"),
      dimension,
      expected: null,
      step: dimension === "mass" ? finestStep(sheet) : sheet.thermometer_step_c,
      doubt: (number) => doubtCorrection(number, event[field], dimension, sheet, units),
    },
    units,
  );
}

/** Ask for a day. @param {string} asks @param {string} shown ISO 8601 @returns {Promise<string | null>} */
function askDate(asks, shown) {
  const box = /** @type {HTMLInputElement} */ (h("input", { type: "date", value: shown, required: true }));
  const form = h(
    "form",
    { method: "dialog" },
    h("label", {}, h("span", { class: "name" }, asks), box),
    h("button", { value: "keep", class: "go" }, t("Keep")),
    h("button", { value: "back", class: "quiet", formnovalidate: true }, t("Back")),
  );
  const dialog = /** @type {HTMLDialogElement} */ (h("dialog", { class: "ask" }, form));
  document.body.append(dialog);
  dialog.showModal();
  return new Promise((resolve) => {
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(dialog.returnValue === "keep" && box.value !== "" ? box.value : null);
    });
  });
}
