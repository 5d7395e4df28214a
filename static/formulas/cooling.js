/**
 * When the wax will be at temperature, and how sure that is: dθ/dt = −k·θ^n, fitted to a few dips
 * with priors on rate, exponent and room. The Python twin tells the reasons.
 */
import * as checks from "./checks.js";

export const EXPONENT = 1.25;

/** The excess over the room at which a jug's rate is given and compared, °C. */
export const REFERENCE_C = 50;

/** k in °C^(−1/4)/s at n = 5/4 for a kilogram of wax in a jug, before any reading; from physics. */
export const DEFAULT_RATE = 1.2e-4;
export const DEFAULT_MASS_G = 1000;

/** Standard deviation of the logarithm of a jug's rate before it is known. */
export const RATE_DOUBT = 0.25;

/** Middle and scale of n for wax in a jug; and where no mass is given. */
export const EXPONENT_OF_WAX = [1.22, 0.05];
export const EXPONENT_TAIL = 2;
export const EXPONENT_OF_ANYTHING = [1.3, 0.2];
export const LAW_DOUBT_OF_ANYTHING = 0.08;

/** The grid on which n is weighed. */
export const EXPONENTS = [1.0001, 1.05, 1.1, 1.15, 1.2, 1.25, 1.3, 1.36, 1.45, 1.58, 1.75, 1.95, 2.2];

/** What a careful dip adds to a thermometer's rounding, standard deviation in °C. */
export const HANDLING_C = 0.1;

/** Standard deviation of the room that she gives, °C. */
export const ROOM_DOUBT_C = 0.5;

/** What stays open of a known jug: its rate, how that goes with the fill, its n. */
export const POUR_DOUBT = 0.03;
export const FILL_DOUBT = 0.15;
export const EXPONENT_POUR_DOUBT = 0.02;

/** A next dip is due at the latest at this part of the earliest arrival. */
export const LATEST = 0.95;

/** Degrees of freedom of Student's t for a reading. */
export const TAIL = 4;

/** Standard deviations off the curve from which a reading is called odd. */
export const ODD = 3.5;

/** A doubt at the target of ± 0.25 °C, nine times in ten, is worth no further dip. */
export const NEED_C = 0.25;

/** Standard deviations either side that hold 90 % of a normal distribution. */
export const NINETY = 1.6448536269514722;

export const MOST_READINGS = 1000;

/** @typedef {[number, number]} Reading seconds from any zero, and °C */
/** @typedef {[number, number, number, number, number]} Learned wax in the jug, k, n, and the doubts of
 *   the logarithm of the rate and of n */
/**
 * @typedef {object} Forecast
 * @property {number} eta_s when the curve crosses the target, seconds from the readings' zero
 * @property {number} low_s
 * @property {number} high_s
 * @property {number} doubt_c half of the 90 % interval of the temperature at `eta_s`
 * @property {number} rate_c_per_min
 * @property {number} exponent
 * @property {number} rate
 * @property {number} room_c
 * @property {number} zero_s
 * @property {number} excess_c
 * @property {number | null} next_dip_s when another reading is worth the trouble
 * @property {number} used
 * @property {number[]} odd which of the readings lie so far off the curve that they hardly count
 * @property {boolean} restarted
 * @property {boolean} guessed
 */
/**
 * @typedef {object} Prior
 * @property {number} log_rate
 * @property {number} rate_doubt
 * @property {number} room_doubt
 * @property {[number, number]} exponent
 * @property {number[]} exponents
 * @property {number[]} weights
 * @property {number} law_doubt
 */
/**
 * @typedef {object} Fit
 * @property {number} zero_s
 * @property {number} excess_c
 * @property {number} rate
 * @property {number} exponent
 * @property {number} room_c
 * @property {number} log_rate
 * @property {number[][]} spread
 * @property {number} evidence
 */
/** @typedef {{fit: Fit, grid: Fit[], weights: number[], exponent_var: number}} Known */
/** @typedef {[number, number, number]} Placed time, temperature and place of a reading */
/** @typedef {[number, number, number]} Gradient */

/** The wax in °C, `t_s` seconds from the readings' zero. @param {Forecast} forecast @param {number} t_s */
export function tempAt(forecast, t_s) {
  const since = checks.number(t_s, "The time") - forecast.zero_s;
  return forecast.room_c + excess(forecast.excess_c, forecast.rate, since, forecast.exponent);
}

/** When the curve passes `temp_c`, seconds from the readings' zero. @param {Forecast} forecast @param {number} temp_c */
export function timeAt(forecast, temp_c) {
  const over = checks.within(temp_c, "The temperature in °C", -20, 300) - forecast.room_c;
  if (over < checks.SMALLEST) throw new checks.ValueError("The wax never gets that cold in this room.");
  return forecast.zero_s + elapsed(forecast.excess_c, over, forecast.rate, forecast.exponent);
}

/** θ in °C after `elapsed_s` seconds.
 * @param {number} start_c @param {number} rate @param {number} elapsed_s @param {number} [exponent] */
export function excess(start_c, rate, elapsed_s, exponent = EXPONENT) {
  const start = checks.positive(start_c, "The excess over the room");
  const k = checks.positive(rate, "The rate");
  const seconds = checks.number(elapsed_s, "The time");
  const n = checks.within(exponent, "The exponent", 1, 3);
  if (grown(start, k, seconds, n) <= 0) throw new checks.ValueError("That is before this curve begins.");
  return relaxed(start, k, seconds, n);
}

/** Seconds in which θ goes from `start_c` to `end_c`.
 * @param {number} start_c @param {number} end_c @param {number} rate @param {number} [exponent] */
export function elapsed(start_c, end_c, rate, exponent = EXPONENT) {
  const start = checks.positive(start_c, "The excess at the start");
  const end = checks.positive(end_c, "The excess at the end");
  const k = checks.positive(rate, "The rate");
  return secondsOf(start, end, k, checks.within(exponent, "The exponent", 1, 3));
}

/** k at n = 5/4 to expect of `mass_g` grams of wax before any reading. @param {number | null} [mass_g] */
export function defaultRate(mass_g = null) {
  const mass = mass_g === null ? DEFAULT_MASS_G : checks.positive(mass_g, "The wax in the jug");
  return DEFAULT_RATE / Math.cbrt(mass / DEFAULT_MASS_G);
}

/** When cooling wax reaches `target_c`.
 * @param {Reading[]} readings @param {number} room_c @param {number} target_c
 * @param {{thermometer_step_c?: number, mass_g?: number | null, history?: number[][],
 *   exponent?: number | null, handling_c?: number, room_doubt_c?: number, need_c?: number}} [options]
 * @returns {Forecast} */
export function forecast(readings, room_c, target_c, options = {}) {
  const {
    thermometer_step_c = 0.1, mass_g = null, history = [], exponent = null,
    handling_c = HANDLING_C, room_doubt_c = ROOM_DOUBT_C, need_c = NEED_C,
  } = options;
  const room = checks.within(room_c, "The room in °C", -20, 50);
  const target = checks.within(target_c, "The target in °C", -20, 300);
  if (target - room < checks.SMALLEST) {
    throw new checks.ValueError(
      "The target is not above the room: the wax will never cool to it. " +
        "Check the target and the room temperature.",
    );
  }
  const need = checks.positive(need_c, "The doubt that is good enough");
  const noise = noiseOf(thermometer_step_c, handling_c);
  const prior = priorOf(mass_g, history, exponent, room_doubt_c);
  return forecastOf(inOrder(readings, room), room, target, noise, prior, need);
}

/** What the readings of one cooling tell of the jug, for the `history` of the next.
 * @param {Reading[]} readings @param {number} room_c
 * @param {{thermometer_step_c?: number, mass_g?: number, history?: number[][], handling_c?: number,
 *   room_doubt_c?: number}} [options]
 * @returns {Learned} */
export function learn(readings, room_c, options = {}) {
  const {
    thermometer_step_c = 0.1, mass_g = DEFAULT_MASS_G, history = [],
    handling_c = HANDLING_C, room_doubt_c = ROOM_DOUBT_C,
  } = options;
  const room = checks.within(room_c, "The room in °C", -20, 50);
  const noise = noiseOf(thermometer_step_c, handling_c);
  const prior = priorOf(mass_g, history, null, room_doubt_c);
  const ordered = inOrder(readings, room);
  const used = ordered.slice(afterLastRise(ordered, noise, prior));
  const known = weighed(used, room, noise, prior);
  const byExponent = slopeOf(known.grid.map((fit) => fit.log_rate), prior.exponents, known);
  const variance = known.fit.spread[1][1] + byExponent ** 2 * known.exponent_var;
  const [rate, rateVar] = without(known.fit.log_rate, variance, prior.log_rate, prior.rate_doubt ** 2);
  const [middle, scale] = prior.exponent;
  const [open, nVar] = without(known.fit.exponent, known.exponent_var, middle, scale * scale);
  const n = Math.min(Math.max(open, 1), 2.5);
  return [mass_g, Math.exp(rate) * REFERENCE_C ** -n, n, Math.sqrt(rateVar), Math.sqrt(nVar)];
}

// ---- the forecast ---------------------------------------------------------------------------

/** @param {Placed[]} ordered @param {number} room @param {number} target @param {number} noise
 * @param {Prior} prior @param {number} need @returns {Forecast} */
function forecastOf(ordered, room, target, noise, prior, need) {
  const first = afterLastRise(ordered, noise, prior);
  const used = ordered.slice(first);
  const known = weighed(used, room, noise, prior);
  const { fit, grid } = known;
  const over = Math.max(target - fit.room_c, 0.05);
  const eta = fit.zero_s + secondsOf(fit.excess_c, over, fit.rate, fit.exponent);
  const last_s = used[used.length - 1][0];
  const moved = grid.map(
    (each, index) =>
      each.zero_s + secondsOf(each.excess_c, Math.max(target - each.room_c, 0.05), each.rate, prior.exponents[index]),
  );
  const byExponent = slopeOf(moved, prior.exponents, known);
  const sure = Math.sqrt(
    spreadAlong(fit, timeGradient(fit, over)) +
      byExponent ** 2 * known.exponent_var +
      (prior.law_doubt * (eta - last_s)) ** 2,
  );
  const [low, high] = interval(eta, last_s, sure);
  const speed = fit.rate * over ** fit.exponent;
  const nowOver = relaxed(fit.excess_c, fit.rate, last_s - fit.zero_s, fit.exponent);
  const doubt = NINETY * sure * speed;
  const odd = ordered
    .slice(first)
    .filter(([time_s, temp_c]) => Math.abs(temp_c - tempOf(fit, time_s)) > ODD * noise)
    .map(([, , index]) => index)
    .sort((a, b) => a - b);
  return {
    eta_s: eta,
    low_s: low,
    high_s: high,
    doubt_c: doubt,
    rate_c_per_min: 60 * fit.rate * nowOver ** fit.exponent,
    exponent: fit.exponent,
    rate: fit.rate,
    room_c: fit.room_c,
    zero_s: fit.zero_s,
    excess_c: fit.excess_c,
    next_dip_s: nextDip(known, noise, prior, last_s, eta, low, doubt, need),
    used: used.length,
    odd,
    restarted: first > 0,
    guessed: Math.sqrt(fit.spread[1][1]) > RATE_DOUBT / 3,
  };
}

// ---- the law --------------------------------------------------------------------------------

/** @param {number} start @param {number} k @param {number} seconds @param {number} n */
function grown(start, k, seconds, n) {
  return 1 + (n - 1) * k * seconds * Math.pow(start, n - 1);
}

/** θ after `seconds`; before its beginning the curve is held at its hottest.
 * @param {number} start @param {number} k @param {number} seconds @param {number} n */
function relaxed(start, k, seconds, n) {
  if (n === 1) return start * Math.exp(Math.min(-k * seconds, 200));
  const growth = Math.max((n - 1) * k * seconds * Math.pow(start, n - 1), -1 + 1e-9);
  return start * Math.exp(-Math.log1p(growth) / (n - 1));
}

/** @param {number} start @param {number} end @param {number} k @param {number} n */
function secondsOf(start, end, k, n) {
  if (n === 1) return Math.log(start / end) / k;
  return (Math.pow(end, 1 - n) * -Math.expm1((1 - n) * Math.log(start / end))) / ((n - 1) * k);
}

// ---- what is expected before the dips -------------------------------------------------------

/** @param {number | null} mass_g @param {number[][]} history @param {number | null} exponent
 * @param {number} room_doubt_c @returns {Prior} */
function priorOf(mass_g, history, exponent, room_doubt_c) {
  let log_rate = expected(mass_g === null ? DEFAULT_MASS_G : mass_g);
  let rate_doubt = RATE_DOUBT;
  let [middle, scale] = mass_g === null ? EXPONENT_OF_ANYTHING : EXPONENT_OF_WAX;
  const past = history.map(pastOf);
  if (past.length > 0 && mass_g !== null) {
    [log_rate, rate_doubt] = rateFrom(past, mass_g, log_rate);
    [middle, scale] = exponentFrom(past, middle, scale);
  }
  const room_doubt = Math.max(checks.notNegative(room_doubt_c, "The doubt of the room"), 1e-6);
  if (exponent !== null) {
    const fixed = checks.within(exponent, "The exponent", 1, 3);
    return { log_rate, rate_doubt, room_doubt, exponent: [fixed, 1e-6], exponents: [fixed], weights: [1], law_doubt: 0 };
  }
  const exponents =
    past.length > 0 ? [-4, -2, -1, 0, 1, 2, 4].map((step) => Math.max(1.0001, middle + step * scale)) : EXPONENTS;
  const weights = exponents.map((n, index) => {
    const below = exponents[Math.max(0, index - 1)];
    const above = exponents[Math.min(exponents.length - 1, index + 1)];
    const away = (n - middle) / scale;
    const tail = (1 + (away * away) / EXPONENT_TAIL) ** (-(EXPONENT_TAIL + 1) / 2);
    return ((above - below) / 2) * tail;
  });
  const law_doubt = mass_g === null ? LAW_DOUBT_OF_ANYTHING : 0;
  return { log_rate, rate_doubt, room_doubt, exponent: [middle, scale], exponents, weights, law_doubt };
}

/** ln of the rate at θ = 50 °C that jugs with this much wax have in general. @param {number} mass_g */
function expected(mass_g) {
  return Math.log(defaultRate(mass_g)) + EXPONENT * Math.log(REFERENCE_C);
}

/** @param {number[]} each @returns {Learned} */
function pastOf(each) {
  if (!(3 <= each.length && each.length <= 5)) {
    throw new checks.ValueError("A past pour is its wax, its rate and its exponent.");
  }
  const [mass_g, rate, exponent, rate_doubt = 0.03, exponent_doubt = 0.05] = each;
  checks.positive(mass_g, "The wax of a past pour");
  checks.positive(rate, "The rate of a past pour");
  checks.within(exponent, "The exponent of a past pour", 1, 3);
  checks.positive(rate_doubt, "The doubt of a past rate");
  checks.positive(exponent_doubt, "The doubt of a past exponent");
  return [mass_g, rate, exponent, rate_doubt, exponent_doubt];
}

/** @param {Learned[]} past @param {number} mass_g @param {number} general @returns {[number, number]} */
function rateFrom(past, mass_g, general) {
  let a = 1 / RATE_DOUBT ** 2;
  let b = 0;
  let c = 1 / FILL_DOUBT ** 2;
  let p = 0;
  let q = 0;
  for (const [mass, k, n, doubt] of past) {
    const rate = Math.log(k) + n * Math.log(REFERENCE_C);
    const away = rate - expected(mass);
    const fuller = Math.log(mass / mass_g);
    const weight = 1 / (doubt ** 2 + POUR_DOUBT ** 2);
    a += weight;
    b += weight * fuller;
    c += weight * fuller * fuller;
    p += weight * away;
    q += weight * fuller * away;
  }
  const determinant = a * c - b * b;
  const departure = (c * p - b * q) / determinant;
  return [general + departure, Math.sqrt(c / determinant + POUR_DOUBT ** 2)];
}

/** @param {Learned[]} past @param {number} middle @param {number} scale @returns {[number, number]} */
function exponentFrom(past, middle, scale) {
  let weight = 1 / scale ** 2;
  let total = weight * middle;
  for (const [, , n, , doubt] of past) {
    const more = 1 / (doubt ** 2 + EXPONENT_POUR_DOUBT ** 2);
    weight += more;
    total += more * n;
  }
  return [total / weight, Math.sqrt(1 / weight + EXPONENT_POUR_DOUBT ** 2)];
}

/** Value and variance with a prior taken off.
 * @param {number} value @param {number} variance @param {number} prior @param {number} priorVar
 * @returns {[number, number]} */
function without(value, variance, prior, priorVar) {
  const precision = Math.max(1 / variance - 1 / priorVar, 0.01 / priorVar);
  return [prior + (value - prior) / variance / precision, 1 / precision];
}

// ---- the readings ---------------------------------------------------------------------------

/** Standard deviation of a reading, °C. @param {number} thermometer_step_c @param {number} handling_c */
function noiseOf(thermometer_step_c, handling_c) {
  const step = checks.within(thermometer_step_c, "The thermometer's step in °C", 0.001, 5);
  const handling = checks.within(handling_c, "The doubt of a dip in °C", 0, 5);
  return Math.sqrt((step * step) / 12 + handling * handling);
}

/** @param {Reading[]} readings @param {number} room @returns {Placed[]} */
function inOrder(readings, room) {
  if (readings.length === 0) {
    throw new checks.ValueError("Take a reading first: dip the thermometer and enter what it says.");
  }
  if (readings.length > MOST_READINGS) {
    throw new checks.ValueError("Too many readings for one cooling: start a new one.");
  }
  const placed = readings.map(([time_s, temp_c], index) => {
    checks.number(time_s, "The time of a reading");
    checks.within(temp_c, "A reading in °C", -20, 300);
    if (temp_c - room < checks.SMALLEST) {
      throw new checks.ValueError(
        "A reading is not above the room temperature: the wax is cold, or the room " +
          "temperature is wrong. Check both.",
      );
    }
    return /** @type {Placed} */ ([time_s, temp_c, index]);
  });
  // Of two readings at one time the hotter comes first, so that they don't count as a rise.
  return placed.sort((a, b) => a[0] - b[0] || b[1] - a[1] || a[2] - b[2]);
}

/** Index of the first reading after the wax was last warmed; a slip of the hand is no warming.
 * @param {Placed[]} ordered @param {number} noise @param {Prior} prior */
function afterLastRise(ordered, noise, prior) {
  const clear = Math.max(1, 4 * noise);
  const fastest = Math.exp(prior.log_rate + 3 * prior.rate_doubt) / REFERENCE_C ** EXPONENT;
  let first = 0;
  for (let index = 1; index < ordered.length; index += 1) {
    const [time_s, temp_c] = ordered[index];
    const before_c = ordered[index - 1][1];
    if (temp_c - before_c <= clear) continue;
    if (index >= first + 2 && temp_c <= ordered[index - 2][1] + clear) continue;
    if (index + 1 < ordered.length) {
      const [next_s, next_c] = ordered[index + 1];
      const allowed = (next_s - time_s) * fastest * (temp_c + 20) ** EXPONENT + clear;
      if (next_c <= before_c + clear && temp_c - next_c > allowed) continue;
    }
    first = index;
  }
  return first;
}

// ---- the fit --------------------------------------------------------------------------------

/** @param {Placed[]} used @param {number} room @param {number} noise @param {Prior} prior @returns {Known} */
function weighed(used, room, noise, prior) {
  const grid = prior.exponents.map((n) => fitted(used, room, noise, prior, n));
  let best = -Infinity;
  for (const { evidence } of grid) best = Math.max(best, evidence);
  const weights = grid.map(({ evidence }, index) => prior.weights[index] * Math.exp(evidence - best));
  let total = 0;
  let mean = 0;
  weights.forEach((weight, index) => {
    total += weight;
    mean += weight * prior.exponents[index];
  });
  mean /= total;
  let variance = 0;
  weights.forEach((weight, index) => {
    variance += (weight / total) * (prior.exponents[index] - mean) ** 2;
  });
  return {
    fit: grid.length > 1 ? fitted(used, room, noise, prior, mean) : grid[0],
    grid,
    weights: weights.map((weight) => weight / total),
    exponent_var: variance,
  };
}

/** Gauss–Newton for the temperature at the middle of the dips, the rate and the room.
 * @param {Placed[]} used @param {number} room @param {number} noise @param {Prior} prior @param {number} n
 * @returns {Fit} */
function fitted(used, room, noise, prior, n) {
  let zero = 0;
  let temp = 0;
  for (const [time_s, temp_c] of used) {
    zero += time_s / used.length;
    temp += temp_c / used.length;
  }
  let log_rate = prior.log_rate;
  let warmer = 0;
  /** @type {number[][]} */
  let spread = [];
  for (let turn = 0; turn < 40; turn += 1) {
    const k = Math.exp(log_rate) * REFERENCE_C ** -n;
    const over = temp - room - warmer;
    const a = [[0, 0, 0], [0, prior.rate_doubt ** -2, 0], [0, 0, prior.room_doubt ** -2]];
    const b = [0, (prior.log_rate - log_rate) / prior.rate_doubt ** 2, -warmer / prior.room_doubt ** 2];
    for (const [time_s, temp_c] of used) {
      const since = time_s - zero;
      const theta = relaxed(over, k, since, n);
      const off = temp_c - (room + warmer + theta);
      const weight = (TAIL + 1) / (TAIL + (off / noise) ** 2) / noise ** 2;
      const slope = (theta / over) ** n;
      const by = [slope, -k * since * theta ** n, 1 - slope];
      for (let row = 0; row < 3; row += 1) {
        b[row] += weight * by[row] * off;
        for (let column = 0; column < 3; column += 1) a[row][column] += weight * by[row] * by[column];
      }
    }
    spread = inverse(a);
    const steps = spread.map((line) => line[0] * b[0] + line[1] * b[1] + line[2] * b[2]);
    const part = Math.min(1, 8 / (Math.abs(steps[0]) + 1e-12), 0.5 / (Math.abs(steps[1]) + 1e-12));
    temp = Math.max(temp + part * steps[0], room + 0.1);
    log_rate += part * steps[1];
    // The room can't be found above the wax.
    warmer = Math.min(warmer + part * steps[2], temp - room - 0.05);
    if (Math.abs(steps[0]) < 1e-11 && Math.abs(steps[1]) < 1e-12 && Math.abs(steps[2]) < 1e-11) break;
  }
  const k = Math.exp(log_rate) * REFERENCE_C ** -n;
  const over = temp - room - warmer;
  let cost = ((log_rate - prior.log_rate) / prior.rate_doubt) ** 2 + (warmer / prior.room_doubt) ** 2;
  for (const [time_s, temp_c] of used) {
    const off = temp_c - (room + warmer + relaxed(over, k, time_s - zero, n));
    cost += (TAIL + 1) * Math.log1p((off / noise) ** 2 / TAIL);
  }
  return {
    zero_s: zero,
    excess_c: over,
    rate: k,
    exponent: n,
    room_c: room + warmer,
    log_rate,
    spread,
    evidence: 0.5 * (Math.log(determinantOf(spread)) - cost),
  };
}

/** @param {Fit} fit @param {number} time_s */
function tempOf(fit, time_s) {
  return fit.room_c + relaxed(fit.excess_c, fit.rate, time_s - fit.zero_s, fit.exponent);
}

/** How the time at which θ is `over` moves with temperature, ln of the rate, and room.
 * @param {Fit} fit @param {number} over @returns {Gradient} */
function timeGradient(fit, over) {
  const there = 1 / (fit.rate * over ** fit.exponent);
  const here = 1 / (fit.rate * fit.excess_c ** fit.exponent);
  return [here, -secondsOf(fit.excess_c, over, fit.rate, fit.exponent), there - here];
}

/** How the temperature at a time moves with the same three. @param {Fit} fit @param {number} time_s @returns {Gradient} */
function tempGradient(fit, time_s) {
  const since = time_s - fit.zero_s;
  const theta = relaxed(fit.excess_c, fit.rate, since, fit.exponent);
  const slope = (theta / fit.excess_c) ** fit.exponent;
  return [slope, -fit.rate * since * theta ** fit.exponent, 1 - slope];
}

/** Variance along a gradient, or covariance of two. @param {Fit} fit @param {Gradient} one @param {Gradient} [other] */
function spreadAlong(fit, one, other = one) {
  let total = 0;
  for (let row = 0; row < 3; row += 1) {
    for (let column = 0; column < 3; column += 1) total += one[row] * fit.spread[row][column] * other[column];
  }
  return total;
}

/** How a quantity goes with n, by weighted regression over the grid; 0 where n is known.
 * @param {number[]} values @param {number[]} exponents @param {Known} known */
function slopeOf(values, exponents, known) {
  if (known.exponent_var < 1e-12) return 0;
  let mean = 0;
  let middle = 0;
  known.weights.forEach((weight, index) => {
    mean += weight * values[index];
    middle += weight * exponents[index];
  });
  let both = 0;
  known.weights.forEach((weight, index) => {
    both += weight * (values[index] - mean) * (exponents[index] - middle);
  });
  return both / known.exponent_var;
}

/** When another reading shrinks the doubt under what is needed; the earliest such time.
 * @param {Known} known @param {number} noise @param {Prior} prior @param {number} last_s
 * @param {number} eta_s @param {number} low_s @param {number} doubt_c @param {number} need_c
 * @returns {number | null} */
function nextDip(known, noise, prior, last_s, eta_s, low_s, doubt_c, need_c) {
  const ahead = eta_s - last_s;
  if (doubt_c <= need_c || ahead <= 60) return null;
  const latest = last_s + LATEST * (low_s - last_s);
  const tempsAt = (/** @type {number} */ time_s) => known.grid.map((each) => tempOf(each, time_s));
  const atTarget = tempGradient(known.fit, eta_s);
  const targetN = slopeOf(tempsAt(eta_s), prior.exponents, known);
  const before = spreadAlong(known.fit, atTarget) + targetN ** 2 * known.exponent_var;
  let best_s = null;
  let best = before;
  for (let twentieth = 1; twentieth <= 20; twentieth += 1) {
    const time_s = last_s + ((latest - last_s) * twentieth) / 20;
    if (time_s - last_s < 30) continue;
    const there = tempGradient(known.fit, time_s);
    const thereN = slopeOf(tempsAt(time_s), prior.exponents, known);
    const shared = spreadAlong(known.fit, atTarget, there) + targetN * thereN * known.exponent_var;
    const seen = spreadAlong(known.fit, there) + thereN ** 2 * known.exponent_var + noise ** 2;
    const after = before - (shared * shared) / seen;
    if (after < best) {
      best = after;
      best_s = time_s;
    }
    if (NINETY * Math.sqrt(Math.max(after, 0)) <= need_c) break;
  }
  return best < 0.8 * before ? best_s : null;
}

/** 90 % either side, stretched so that an arrival still to come does not lie in the past.
 * @param {number} eta_s @param {number} last_s @param {number} sure @returns {[number, number]} */
function interval(eta_s, last_s, sure) {
  const ahead = eta_s - last_s;
  if (ahead <= 0) return [eta_s - NINETY * sure, eta_s + NINETY * sure];
  const doubt = NINETY * sure;
  const stretch = Math.exp(Math.min(doubt / ahead, 5));
  // Where the doubt is longer than the wait, a multiple of the wait would have no end.
  return [last_s + ahead / stretch, Math.min(last_s + ahead * stretch, eta_s + doubt * (Math.E - 1))];
}

/** Inverse of a symmetric, positive 3 × 3 matrix, by cofactors. @param {number[][]} m */
function inverse(m) {
  const [[a, b, c], [, e, f], [, , i]] = m;
  const determinant = determinantOf(m);
  const [p, q, r] = [e * i - f * f, c * f - b * i, b * f - c * e];
  const [s, t, u] = [a * i - c * c, b * c - a * f, a * e - b * b];
  return [[p, q, r], [q, s, t], [r, t, u]].map((row) => row.map((each) => each / determinant));
}

/** @param {number[][]} m */
function determinantOf(m) {
  const [[a, b, c], [, e, f], [, , i]] = m;
  return Math.max(a * (e * i - f * f) - b * (b * i - c * f) + c * (b * f - c * e), 1e-300);
}
