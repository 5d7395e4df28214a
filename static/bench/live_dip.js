/** A thermometer left in a jug dips by itself: which of its readings are kept. Pure: `now` is given. */
import { waitOf } from "./countdown.js";
import { isDipDue, judgeReading } from "./reading_checks.js";

/** @typedef {import("./pours.js").Pour} Pour */
/** @typedef {import("./reading_checks.js").Reading} Reading */

/** The event that a reading becomes; null where none is due, or it may not be one of this wax.
 * @param {Pour} pour @param {number} jugIndex @param {Reading} reading @param {number} now_ms
 * @returns {import("./prompt_shape.js").NewEvent | null} */
export function liveDip({ sheet, state, stage }, jugIndex, reading, now_ms) {
  const jug = state.jugs[jugIndex];
  if (reading.kind !== "temperature" || stage !== "jugs" || !["melt", "cool", "settle"].includes(jug.step)) return null;
  const last = jug.dips[jug.dips.length - 1] ?? null;
  const temp_c = jug.step === "melt" ? null : waitOf(sheet, jug, now_ms).temp_c;
  const { room_c, highest_c } = sheet;
  if (judgeReading(reading, { temp_c, room_c, highest_c, last, now_ms }) !== "take") return null;
  const began_ms = Math.max(jug.weighed_at ?? 0, jug.melted_at ?? 0, jug.added_at ?? 0, jug.stirred_at ?? 0);
  if (!isDipDue(last?.at ?? null, now_ms, began_ms)) return null;
  return { type: "read", jug: jugIndex, temp_c: reading.value, source: reading.source };
}
