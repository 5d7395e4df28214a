/** A number or day of the log was wrong: the right one is asked for. */

import { doubtCorrection, finestStep } from "../bench/corrections.js";
import { t } from "../words/door.js";
import { h } from "./dom.js";
import { askReading } from "./pad.js";

/** @typedef {import("../records/event_types.js").NewPourEvent} NewEvent */
/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */
/** @typedef {import("../bench/sheet.js").Sheet} Sheet */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** The event that sets another right; null if she went back.
 * @param {PourEvent} event @param {Sheet} sheet @param {DisplayUnits} units @returns {Promise<NewEvent | null>} */
export async function askCorrection(event, sheet, units) {
  if (event.type === "set") {
    const value = await askDate(t("Poured on"), event.on);
    return value === null ? null : { type: "corrected", event: event.id, field: "on", value };
  }
  const field = "read_g" in event ? "read_g" : "temp_c";
  const dimension = field === "read_g" ? "mass" : "temperature";
  const before = "read_g" in event ? event.read_g : "temp_c" in event ? event.temp_c : 0;
  const value = await askReading(
    {
      asks: t("What should it have been?"),
      dimension,
      step: dimension === "mass" ? finestStep(sheet) : sheet.thermometer_step_c,
      doubt: (number) => doubtCorrection(number, before, dimension, sheet, units),
    },
    units,
  );
  return value === null ? null : { type: "corrected", event: event.id, field, value };
}

/** Ask for a day. @param {string} asks @param {string} shown ISO 8601 @returns {Promise<string | null>} */
function askDate(asks, shown) {
  const box = /** @type {HTMLInputElement} */ (h("input", { type: "date", value: shown, required: true }));
  const form = h(
    "form",
    { method: "dialog" },
    h("label", {}, h("span", { class: "name" }, asks), box),
    h("button", { value: "keep", class: "go" }, t("Save")),
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
