/** A number or day of the log was wrong: the right one is asked for. */

import { doubtCorrection, finestStep } from "../bench/corrections.js";
import { t } from "../words/door.js";
import { askInBox } from "./ask_in_box.js";
import { askReading } from "./pad.js";
import { readAmount } from "./shelf_amount.js";

/** @typedef {import("../records/event_types.js").NewPourEvent} NewEvent */
/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */
/** @typedef {import("../bench/sheet.js").Sheet} Sheet */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** The event that sets another right; null if she went back.
 * @param {PourEvent} event @param {Sheet} sheet @param {DisplayUnits} units @returns {Promise<NewEvent | null>} */
export async function askCorrection(event, sheet, units) {
  if (event.type === "set") {
    const value = await askInBox(t("Poured on"), event.on, (day) => day, "date");
    return value === null ? null : { type: "corrected", event: event.id, field: "on", value };
  }
  if ("n" in event) {
    const read = (/** @type {string} */ typed) => readAmount(typed, true, units);
    const value = await askInBox(t("How many should it have been?"), String(event.n), read);
    return value === null ? null : { type: "corrected", event: event.id, field: "n", value };
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
