/** The wait for a temperature: from a jug's dips to a moment on the clock. Pure: `now` is given. */

import * as cooling from "../formulas/cooling/forecast.js";
import { excess } from "../formulas/cooling/law.js";
import { afterFragrance, vesselsInWindow } from "../formulas/heat.js";
import * as warming from "../formulas/warming.js";
import { InputError } from "../words/door.js";
import { windowOf } from "./fold.js";

/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("./fold.js").JugState} JugState */
/** @typedef {import("./fold.js").Dip} Dip */
/** @typedef {import("../formulas/cooling/forecast.js").Forecast} Forecast */
/**
 * @typedef {object} Wait
 * @property {"unread" | "warming" | "hot" | "open" | "cold" | "unclear"} phase
 * @property {import("./mixing.js").Window} window
 * @property {Forecast | null} forecast times in seconds from `zero_ms`
 * @property {number} zero_ms wall clock of the first dip
 * @property {number | null} at_ms when the target is reached
 * @property {number | null} low_ms
 * @property {number | null} high_ms
 * @property {number | null} opens_ms when the window opens
 * @property {number | null} closes_ms when it has become too cool
 * @property {number | null} dip_ms when another dip is worth the trouble
 * @property {number | null} temp_c what the wax is at now, as far as the dips tell
 * @property {number | null} odd_c how far the last dip lies off the curve, where it hardly counts
 * @property {InputError | null} problem where the dips make no forecast: why
 */

/** A vessel takes about this long, until her own pace is known (our choice). */
const SECONDS_EACH = 25;

/** What a curve fitted through a dip may lie beside it. */
const SLIVER_C = 1e-6;

/** So long before wax on the heat is too hot, the bell rings. */
const WARN_MS = 60_000;

/** @param {Sheet} sheet @param {JugState} jug @param {number} now_ms @returns {Wait} */
export function waitOf(sheet, jug, now_ms) {
  const window = windowOf(sheet, jug);
  const dips = believed(sheet, jug, window.target_c);
  const zero_ms = dips[0]?.at ?? now_ms;
  /** @type {Wait} */
  const wait = {
    phase: "unread",
    window,
    forecast: null,
    zero_ms,
    at_ms: null,
    low_ms: null,
    high_ms: null,
    opens_ms: null,
    closes_ms: null,
    dip_ms: null,
    temp_c: null,
    odd_c: null,
    problem: null,
  };
  const last = dips[dips.length - 1];
  if (last === undefined) return wait;
  wait.temp_c = last.temp_c;
  if (jug.warming) return { ...wait, phase: "warming" };
  const found = fitted(sheet, dips, window.target_c, jug.wax_g);
  if (found instanceof InputError) {
    wait.problem = found;
  } else {
    const onClock = (/** @type {number} */ seconds) => zero_ms + seconds * 1000;
    const passes = (/** @type {number} */ temp_c) =>
      temp_c > found.room_c + 0.5 ? onClock(cooling.timeAt(found, temp_c)) : null;
    wait.forecast = found;
    wait.at_ms = onClock(found.eta_s);
    wait.low_ms = onClock(found.low_s);
    wait.high_ms = onClock(found.high_s);
    wait.opens_ms = passes(window.high_c);
    wait.closes_ms = passes(window.low_c);
    wait.dip_ms = found.next_dip_s === null ? null : onClock(found.next_dip_s);
    // Where a clock was put back, the curve would tell of wax that is hotter than it ever was.
    const reckoned_c = tempOn(found, (Math.max(now_ms, last.at) - zero_ms) / 1000) ?? last.temp_c;
    wait.temp_c = Math.min(reckoned_c, hottest(dips));
    if (found.odd.includes(dips.length - 1)) {
      wait.odd_c = last.temp_c - (tempOn(found, (last.at - zero_ms) / 1000) ?? last.temp_c);
    }
  }
  wait.phase = phaseOf(wait);
  return wait;
}

/** @param {Dip[]} dips */
const hottest = (dips) => Math.max(...dips.map(({ temp_c }) => temp_c));

/** The wax on a curve; null at a moment to which the curve does not reach, as where a clock was put back.
 * @param {Forecast} forecast @param {number} since_s */
function tempOn(forecast, since_s) {
  try {
    return cooling.tempAt(forecast, since_s);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return null;
  }
}

/**
 * The dips that the forecast rests on: all, but for a jug that has been moved or covered since. One dip
 * off the curve is a slip; when the next is off it as well, the curve is what is wrong.
 * @param {Sheet} sheet @param {JugState} jug @param {number} target_c
 */
function believed(sheet, jug, target_c) {
  const { dips, wax_g } = jug;
  if (dips.length < 3 || jug.warming) return dips;
  const all = fitted(sheet, dips, target_c, wax_g);
  if (all instanceof InputError || !all.odd.includes(dips.length - 1)) return dips;
  const before = fitted(sheet, dips.slice(0, -1), target_c, wax_g);
  return !(before instanceof InputError) && before.odd.includes(dips.length - 2) ? dips.slice(-2) : dips;
}

/** Forecasts already made: the same dips are asked about at each tick, and read anew after each event.
 * @type {Map<string, Forecast | InputError>} */
const made = new Map();
/** Of how many they are kept: two for each of the jugs that may cool at once, and as many again. */
const MOST_MADE = 16;

/** The forecast from these dips, or the error that says why there is none.
 * @param {Sheet} sheet @param {Dip[]} dips @param {number} target_c @param {number} mass_g
 * @returns {Forecast | InputError} */
function fitted({ room_c, thermometer_step_c, history = [] }, dips, target_c, mass_g) {
  const zero_ms = dips[0].at;
  const readings = dips.map(({ at, temp_c }) => /** @type {[number, number]} */ ([(at - zero_ms) / 1000, temp_c]));
  const key = JSON.stringify([readings, room_c, target_c, thermometer_step_c, mass_g, history]);
  const found =
    made.get(key) ??
    forecastOrProblem(readings, room_c, target_c, {
      thermometer_step_c,
      mass_g: mass_g > 0 ? mass_g : null,
      history,
    });
  // The one that was asked for longest ago is the first to go.
  made.delete(key);
  made.set(key, found);
  for (const oldest of made.keys()) {
    if (made.size <= MOST_MADE) break;
    made.delete(oldest);
  }
  return found;
}

/** @param {Parameters<typeof cooling.forecast>} given */
function forecastOrProblem(...given) {
  try {
    return cooling.forecast(...given);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return error;
  }
}

/** @param {Wait} wait @returns {Wait["phase"]} */
function phaseOf({ temp_c, window, problem }) {
  if (temp_c === null) return "unread";
  if (temp_c > window.high_c + SLIVER_C) return problem ? "unclear" : "hot";
  return temp_c < window.low_c - SLIVER_C ? "cold" : "open";
}

/**
 * How wax on the heat rises towards `target_c`; null before the first dip.
 * @param {Sheet} sheet @param {JugState} jug @param {number} target_c
 * @returns {{at_ms: number | null, rate_c_per_min: number, problem: InputError | null} | null}
 */
export function riseOf(sheet, jug, target_c) {
  if (jug.dips.length === 0) return null;
  const zero_ms = jug.dips[0].at;
  try {
    const rise = warming.forecast(
      jug.dips.map(({ at, temp_c }) => [(at - zero_ms) / 1000, temp_c]),
      target_c,
      { thermometer_step_c: sheet.thermometer_step_c },
    );
    return { at_ms: zero_ms + rise.eta_s * 1000, rate_c_per_min: rise.rate_c_per_min, problem: null };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { at_ms: null, rate_c_per_min: 0, problem: error };
  }
}

/** The last reading of wax that is or was on the heat, where it shows that it is too hot; else null.
 * @param {Sheet} sheet @param {JugState} jug */
export function tooHot(sheet, jug) {
  const isHeld = jug.step === "melt" || jug.step === "cool" || jug.step === "settle";
  const last = isHeld ? jug.dips[jug.dips.length - 1] : undefined;
  return last !== undefined && last.temp_c >= sheet.highest_c ? last : null;
}

/**
 * The mix while it is poured: how warm, and for how many more vessels that will do. From dips since
 * the fragrance went in; without them, from how the wax had cooled and what the fragrance took.
 * @param {Sheet} sheet @param {JugState} jug @param {number} now_ms
 * @returns {{temp_c: number, enough_for: number} | null}
 */
export function mixNow(sheet, jug, now_ms) {
  const mix_g = jug.wax_g + jug.fragrance_g + jug.extras_g;
  const scented = sheet.load > 0;
  const dips = jug.dips.length > 0 ? jug.dips : jug.mixed_at;
  if (dips.length === 0 || mix_g <= 0) return null;
  const law = fitted(sheet, dips, sheet.pour.target_c, jug.dips.length > 0 ? mix_g : jug.wax_g);
  if (law instanceof InputError) return null;
  const at = (/** @type {number} */ ms) => Math.min(hottest(dips), cooling.tempAt(law, (ms - dips[0].at) / 1000));
  try {
    let from_ms = Math.max(dips[dips.length - 1].at, jug.went_on_at ?? 0);
    let over = at(from_ms) - law.room_c;
    if (jug.dips.length === 0 && scented && jug.added_at !== null) {
      from_ms = jug.added_at;
      over = afterFragrance(jug.wax_g, at(from_ms), jug.fragrance_g, sheet.room_c) - law.room_c;
    }
    const temp_c = law.room_c + emptying(jug, mix_g, law, over, from_ms, now_ms);
    const toPour = jug.open.map((vessel) => jug.vessel_targets_g[vessel]);
    const remaining = toPour.length;
    const each_g = toPour.reduce((sum, grams) => sum + grams, 0) / Math.max(1, remaining);
    if (remaining === 0 || each_g <= 0 || temp_c < sheet.pour.low_c) return { temp_c, enough_for: 0 };
    const left_g = Math.max(jug.left_g, each_g * remaining);
    const enough_for = vesselsInWindow(left_g, temp_c, each_g, remaining, law.room_c, sheet.pour.low_c, {
      rate: law.rate,
      rate_mass_g: jug.wax_g,
      exponent: law.exponent,
      seconds_each: paceOf(jug),
    });
    return { temp_c, enough_for };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return null;
  }
}

/**
 * θ now, from `over` at `from_ms` on, in a jug that grew lighter with each vessel and so cooled
 * faster: surface over mass goes with the cube root.
 * @param {JugState} jug @param {number} mix_g @param {Forecast} law @param {number} over
 * @param {number} from_ms @param {number} now_ms
 */
function emptying({ poured, wax_g }, mix_g, law, over, from_ms, now_ms) {
  let left_g = mix_g;
  let since_ms = from_ms;
  for (const { at, read_g } of [...inTime(poured), { at: now_ms, read_g: 0 }]) {
    if (at > since_ms) {
      const rate = law.rate * Math.cbrt(wax_g / Math.max(left_g, 1));
      over = excess(over, rate, (at - since_ms) / 1000, law.exponent);
      since_ms = at;
    }
    left_g -= read_g;
  }
  return over;
}

/** Vessels in the order in which they were filled: two hands may take them out of their turn.
 * @param {JugState["poured"]} poured */
const inTime = (poured) => [...poured].sort((a, b) => a.at - b.at);

/** Seconds a vessel, from those already poured. @param {JugState} jug */
function paceOf({ poured }) {
  if (poured.length < 2) return SECONDS_EACH;
  const [first, ...then] = inTime(poured);
  const mean_s = (then[then.length - 1].at - first.at) / 1000 / then.length;
  return Math.min(600, Math.max(1, mean_s));
}

/** When a jug's clock rings next, and for what; null while nothing runs.
 * @param {Sheet} sheet @param {JugState} jug @param {number} now_ms
 * @returns {{at_ms: number, what: "temperature" | "stir" | "warm" | "hot", key: string} | null} */
export function alarmOf(sheet, jug, now_ms) {
  if (jug.step === "stir" && jug.added_at !== null) {
    return { at_ms: jug.added_at + sheet.stir_s * 1000, what: "stir", key: `stir ${jug.added_at}` };
  }
  const last = jug.dips[jug.dips.length - 1];
  if (last === undefined) return null;
  if (jug.step === "melt") {
    const at_ms = riseOf(sheet, jug, sheet.highest_c)?.at_ms ?? null;
    return at_ms === null ? null : { at_ms: at_ms - WARN_MS, what: "hot", key: `hot ${last.event}` };
  }
  if (jug.step !== "cool" && jug.step !== "settle") return null;
  const target_c = windowOf(sheet, jug).target_c;
  if (jug.warming) {
    const at_ms = riseOf(sheet, jug, target_c)?.at_ms ?? null;
    return at_ms === null ? null : { at_ms, what: "warm", key: `warm ${last.event}` };
  }
  const { at_ms, odd_c } = waitOf(sheet, jug, now_ms);
  // A dip already at or under the target needs no bell: the screen answers it at once. One that hardly counts tells nothing.
  if (at_ms === null || (last.temp_c <= target_c && odd_c === null)) return null;
  return { at_ms, what: "temperature", key: `temperature ${last.event}` };
}
