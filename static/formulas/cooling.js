/** When the wax will be at temperature: dθ/dt = −k·θ^(5/4), which makes θ^(−1/4) a straight line. */
import * as checks from "./checks.js";

export const EXPONENT = 1.25;

/** k in °C^(−1/4)/s for a kilogram of wax in a jug, before any second reading; from physics. */
export const DEFAULT_RATE = 1.2e-4;
export const DEFAULT_MASS_G = 1000;

/** Standard deviation of ln k before a second reading. */
export const RATE_DOUBT = 0.35;

/** What a careful dip adds to a thermometer's rounding, standard deviation in °C (our choice). */
export const HANDLING_C = 0.15;

/** Standard deviation of the room temperature that she gives, °C. */
export const ROOM_DOUBT_C = 0.7;

/** Standard deviations either side that hold 90 % of a normal distribution. */
export const NINETY = 1.6448536269514722;

export const MOST_READINGS = 1000;

/** @typedef {[number, number]} Reading seconds from any zero, and °C */
/**
 * @typedef {object} Forecast
 * @property {number} eta_s when the curve crosses the target, seconds from the readings' zero
 * @property {number} low_s
 * @property {number} high_s
 * @property {number} rate_c_per_min
 * @property {number} exponent
 * @property {number} rate
 * @property {number} room_c
 * @property {number} zero_s
 * @property {number} excess_c
 * @property {number} used
 * @property {boolean} restarted
 * @property {boolean} guessed
 */

/** The wax in °C, `t_s` seconds from the readings' zero. @param {Forecast} forecast @param {number} t_s */
export function tempAt(forecast, t_s) {
  return forecast.room_c + excess(forecast.excess_c, forecast.rate, t_s - forecast.zero_s);
}

/** θ in °C after `elapsed_s` seconds. @param {number} start_c @param {number} rate @param {number} elapsed_s */
export function excess(start_c, rate, elapsed_s) {
  const start = straight(checks.positive(start_c, "The excess over the room"));
  const line = start + (checks.positive(rate, "The rate") / 4) * checks.number(elapsed_s, "The time");
  if (line <= 0) throw new checks.ValueError("That is before this curve begins.");
  return bent(line);
}

/** θ^(−1/4), the measure in which cooling is a straight line. @param {number} excess_c */
function straight(excess_c) {
  return 1 / Math.sqrt(Math.sqrt(excess_c));
}

/** θ from θ^(−1/4). @param {number} line */
function bent(line) {
  return 1 / (line * line * (line * line));
}

/** k to expect of `mass_g` grams of wax before two readings. @param {number | null} [mass_g] */
export function defaultRate(mass_g = null) {
  const mass = mass_g === null ? DEFAULT_MASS_G : checks.positive(mass_g, "The wax in the jug");
  return DEFAULT_RATE / Math.cbrt(mass / DEFAULT_MASS_G);
}

/** When cooling wax reaches `target_c`.
 * @param {Reading[]} readings @param {number} room_c @param {number} target_c
 * @param {{thermometer_step_c?: number, mass_g?: number | null}} [options] @returns {Forecast} */
export function forecast(readings, room_c, target_c, options = {}) {
  const { thermometer_step_c = 0.1, mass_g = null } = options;
  const room = checks.within(room_c, "The room in °C", -20, 50);
  const target = checks.within(target_c, "The target in °C", -20, 300);
  const step = checks.within(thermometer_step_c, "The thermometer's step in °C", 0.001, 5);
  if (target - room < checks.SMALLEST) {
    throw new checks.ValueError(
      "The target is not above the room: the wax will never cool to it. " +
        "Check the target and the room temperature.",
    );
  }
  const ordered = inOrder(readings, room);
  const doubt = Math.sqrt((step * step) / 12 + HANDLING_C * HANDLING_C);
  const first = afterLastRise(ordered, doubt);
  const used = ordered.slice(first);
  const { middle, level, slope, levelSd, slopeSd, guessed } = line(used, room, doubt, mass_g);
  const last_s = used[used.length - 1][0] - middle;
  const reached = (straight(target - room) - level) / slope;
  const sure = Math.sqrt(
    (levelSd / slope) ** 2 +
      (((used.length > 1 ? reached : reached - last_s) * slopeSd) / slope) ** 2 +
      roomShift(used, room, target, doubt, mass_g) ** 2,
  );
  const [low, high] = interval(reached, last_s, sure);
  const atLast = level + slope * last_s;
  return {
    eta_s: reached + middle,
    low_s: low + middle,
    high_s: high + middle,
    rate_c_per_min: ((4 * slope * bent(atLast)) / atLast) * 60,
    exponent: EXPONENT,
    rate: 4 * slope,
    room_c: room,
    zero_s: middle,
    excess_c: bent(level),
    used: used.length,
    restarted: first > 0,
    guessed,
  };
}

/** @param {Reading[]} readings @param {number} room @returns {Reading[]} */
function inOrder(readings, room) {
  if (readings.length === 0) {
    throw new checks.ValueError("Take a reading first: dip the thermometer and enter what it says.");
  }
  if (readings.length > MOST_READINGS) {
    throw new checks.ValueError("Too many readings for one cooling: start a new one.");
  }
  for (const [time_s, temp_c] of readings) {
    checks.number(time_s, "The time of a reading");
    checks.within(temp_c, "A reading in °C", -20, 300);
    if (temp_c - room < checks.SMALLEST) {
      throw new checks.ValueError(
        "A reading is not above the room temperature: the wax is cold, or the room " +
          "temperature is wrong. Check both.",
      );
    }
  }
  // Of two readings at one time the hotter comes first, so that they don't count as a rise.
  return [...readings].sort((a, b) => a[0] - b[0] || b[1] - a[1]);
}

/** Index of the first reading after the last rise that is no slip of the hand.
 * @param {Reading[]} ordered @param {number} doubt */
function afterLastRise(ordered, doubt) {
  let first = 0;
  for (let index = 1; index < ordered.length; index += 1) {
    if (ordered[index][1] - ordered[index - 1][1] > Math.max(1, 4 * doubt)) first = index;
  }
  return first;
}

/** The line through θ^(−1/4). @param {Reading[]} used @param {number} room @param {number} doubt
 * @param {number | null} mass_g */
function line(used, room, doubt, mass_g) {
  /** @type {number[]} */
  const weights = [];
  /** @type {number[]} */
  const values = [];
  let weighed = 0;
  let times = 0;
  let level = 0;
  for (const [time_s, temp_c] of used) {
    const over = temp_c - room;
    const spread = (straight(over) / over / 4) * doubt;
    const weight = 1 / (spread * spread);
    weights.push(weight);
    values.push(straight(over));
    weighed += weight;
    times += weight * time_s;
    level += weight * straight(over);
  }
  const middle = times / weighed;
  level /= weighed;
  let leverage = 0;
  let product = 0;
  used.forEach(([time_s], index) => {
    const away = time_s - middle;
    leverage += weights[index] * away * away;
    // Of what is above the level: a single reading's time may differ from the middle by a
    // rounding, and must not make a slope of it.
    product += weights[index] * away * (values[index] - level);
  });
  const levelSd = 1 / Math.sqrt(weighed);
  const expected = defaultRate(mass_g) / 4;
  const expectedSd = expected * RATE_DOUBT;
  if (leverage > 0) {
    let slope = product / leverage;
    let slopeSd = 1 / Math.sqrt(leverage);
    if (slope > 3 * slopeSd) return { middle, level, slope, levelSd, slopeSd, guessed: false };
    const precision = leverage + 1 / (expectedSd * expectedSd);
    slope = (product + expected / (expectedSd * expectedSd)) / precision;
    slopeSd = 1 / Math.sqrt(precision);
    if (slope > 0) return { middle, level, slope, levelSd, slopeSd, guessed: true };
  }
  return { middle, level, slope: expected, levelSd, slopeSd: expectedSd, guessed: true };
}

/** Seconds by which the arrival moves if the room is colder by one standard deviation.
 * @param {Reading[]} used @param {number} room @param {number} target @param {number} doubt
 * @param {number | null} mass_g */
function roomShift(used, room, target, doubt, mass_g) {
  const [given, colder] = [room, room - ROOM_DOUBT_C].map((each) => {
    const { level, slope } = line(used, each, doubt, mass_g);
    return (straight(target - each) - level) / slope;
  });
  return colder - given;
}

/** 90 % either side, stretched so that an arrival still to come does not lie in the past.
 * @param {number} reached @param {number} last_s @param {number} sure @returns {[number, number]} */
function interval(reached, last_s, sure) {
  const ahead = reached - last_s;
  if (ahead <= 0) return [reached - NINETY * sure, reached + NINETY * sure];
  const doubt = NINETY * sure;
  const stretch = Math.exp(Math.min(doubt / ahead, 5));
  // Where the doubt is longer than the wait, a multiple of the wait would have no end.
  return [last_s + ahead / stretch, Math.min(last_s + ahead * stretch, reached + doubt * (Math.E - 1))];
}
