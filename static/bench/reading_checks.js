/** What becomes of an instrument's readings: shown, doubted, or kept. Pure: `now` is given. */
import { t } from "../words/door.js";

/**
 * @typedef {object} Reading
 * @property {"temperature" | "weight"} kind
 * @property {number} value °C or g
 * @property {number} step of the instrument, same unit
 * @property {string} source the instrument's name, 1 to 80 characters
 * @property {number} at milliseconds since 1970
 * @property {number} steady_s for how long it has been steady; see `steadyFor`
 * @property {string | null} doubt a sentence: shown, never kept by itself
 */

/** An older reading says nothing of now. */
export const FRESH_MS = 10_000;

/** An instrument's own clock may be this far off. */
const DATED_MS = 5 * 60_000;

/** No wax in a jug changes faster, °C a second: 1 kW into 2 kg of it makes a quarter (at 2.1 J/(g K)), and no
 * heater brings all of its power into the wax. A probe that is put in or taken out does so for a while. */
const FASTEST = 0.2;

/** So long must a reading be steady. A probe that takes 5 s for two thirds of a change, put from the room into wax
 * at 75 °C, is then within 0.2 °C of it. */
const STEADY_S = 15;
/** The same where the wax was read before and can't have come so far. */
const JUMP_STEADY_S = 30;
/** What a jug's readings may differ by from one spot to another. */
const SPOTS_C = 2;

/** A probe that hangs in the air and takes a minute for two thirds of a change is steady, by the above, from this
 * far over the room on. */
const NEAR_ROOM_C = 12;
/** So far under what the wax should be at, it is the air that it reads. */
const UNDER_C = 5;

/** One in so long is kept of a probe that is left in. Wax in a jug falls by about half a degree meanwhile, some
 * steps of a thermometer: closer readings share the probe's error and would only make the forecast too sure of
 * itself, and an hour is 120 events, not 3600. */
const KEEP_EVERY_MS = 30_000;

/** For how long (s) the last of these has been steady: none since lay further from it than wax could have changed.
 * @param {{at: number, value: number, step: number}[]} readings oldest first */
export function steadyFor(readings) {
  const last = readings[readings.length - 1];
  const off = readings.findLastIndex(
    ({ at, value }) => Math.abs(value - last.value) > last.step + (FASTEST * (last.at - at)) / 1000,
  );
  return last === undefined ? 0 : (last.at - readings[off + 1].at) / 1000;
}

/**
 * Whether a thermometer's reading is one of the wax: 'take' it, only 'show' it, or show it with a doubt.
 * @param {Reading} reading
 * @param {object} jug
 * @param {number | null} jug.temp_c what the wax is expected at, °C; null before the first dip
 * @param {number} jug.room_c @param {number} jug.highest_c what this wax may not exceed
 * @param {{at: number, temp_c: number} | null} jug.last the last dip since the wax was heated or mixed
 * @param {number} jug.now_ms
 * @returns {"take" | "show" | {doubt: string}}
 */
export function judgeReading({ value, at, steady_s, doubt }, { temp_c, room_c, highest_c, last, now_ms }) {
  if (doubt !== null) return { doubt };
  if (value > highest_c)
    return { doubt: t("This is hotter than the wax may get. Turn the heat off. Enter it if it is right.") };
  if (value < room_c + NEAR_ROOM_C) {
    if (temp_c === null) return "show";
    if (value < temp_c - UNDER_C) return { doubt: t("It is not in the wax: it shows the room's temperature.") };
  }
  const jumped =
    last !== null && Math.abs(value - last.temp_c) > SPOTS_C + (FASTEST * Math.max(0, at - last.at)) / 1000;
  return steady_s >= (jumped ? JUMP_STEADY_S : STEADY_S) && now_ms - at < FRESH_MS ? "take" : "show";
}

/** Whether it is time to keep another dip: at once in a step that has none yet, then one in half a minute.
 * @param {number | null} last_dip_ms @param {number} now_ms @param {number} began_ms when the step began */
export function isDipDue(last_dip_ms, now_ms, began_ms) {
  return last_dip_ms === null || last_dip_ms < began_ms || now_ms - last_dip_ms >= KEEP_EVERY_MS;
}

/** A doubt where the instrument dates a reading otherwise than now: it may be one that it had stored.
 * @param {string | null} taken local time, ISO 8601 @param {number} now_ms */
export function clockDoubt(taken, now_ms) {
  if (taken === null || Math.abs(Date.parse(taken) - now_ms) < DATED_MS) return null;
  return t("It dates this {date}. The reading is old, or its clock is wrong.", {
    date: taken.slice(0, 16).replace("T", " "),
  });
}

/** Whether a scale is fine enough to be offered at a weighing. @param {Reading} reading @param {number} step_g */
export function isFineEnough({ step }, step_g) {
  return step <= step_g + 1e-9;
}
