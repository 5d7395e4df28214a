/**
 * When the wax will be at temperature, and how sure that is: dθ/dt = −k·θ^n, fitted to a few dips
 * with priors on rate, exponent and room. The Python twin tells the reasons.
 */
import { InputError } from "../words/door.js";
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
export const POUR_DOUBTS = 2;
export const FILL_DOUBT = 0.15;
export const EXPONENT_POUR_DOUBT = 0.02;

/** A next dip is due at the latest at this part of the earliest arrival. */
export const LATEST = 0.95;

/** Degrees of freedom of Student's t for a reading. */
export const TAIL = 4;

/** A fit starts with the wax at least this far above the room. */
export const LEAST_EXCESS_C = 0.5;

/** Of how many readings, spread over all, the start of a fit is made; and the steps of a fit. */
export const MOST_PICKED = 6;
export const MOST_STEPS = 40;

/** How far the logarithm of a learned rate may lie from what was expected. */
export const MOST_LEARNED = 3;

/** What stays open of n however well the dips tell it. */
export const LEAST_EXPONENT_DOUBT = 0.003;

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
  if (over < checks.SMALLEST) throw new InputError("The wax never gets that cold in this room.");
  return forecast.zero_s + elapsed(forecast.excess_c, over, forecast.rate, forecast.exponent);
}

/** θ in °C after `elapsed_s` seconds.
 * @param {number} start_c @param {number} rate @param {number} elapsed_s @param {number} [exponent] */
export function excess(start_c, rate, elapsed_s, exponent = EXPONENT) {
  const start = checks.positive(start_c, "The excess over the room");
  const k = checks.positive(rate, "The rate");
  const seconds = checks.number(elapsed_s, "The time");
  const n = checks.within(exponent, "The exponent", 1, 3);
  if (grown(start, k, seconds, n) <= 0) throw new InputError("That is before this curve begins.");
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
    thermometer_step_c = 0.1,
    mass_g = null,
    history = [],
    exponent = null,
    handling_c = HANDLING_C,
    room_doubt_c = ROOM_DOUBT_C,
    need_c = NEED_C,
  } = options;
  const room = checks.within(room_c, "The room in °C", -20, 50);
  const target = checks.within(target_c, "The target in °C", -20, 300);
  if (target - room < checks.SMALLEST) {
    throw new InputError(
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
    thermometer_step_c = 0.1,
    mass_g = DEFAULT_MASS_G,
    history = [],
    handling_c = HANDLING_C,
    room_doubt_c = ROOM_DOUBT_C,
  } = options;
  const room = checks.within(room_c, "The room in °C", -20, 50);
  const mass = checks.positive(mass_g, "The wax in the jug");
  const noise = noiseOf(thermometer_step_c, handling_c);
  const prior = priorOf(mass, history, null, room_doubt_c);
  const ordered = inOrder(readings, room);
  const used = ordered.slice(afterLastRise(ordered, room, noise, prior));
  const known = weighed(used, room, noise, prior);
  const byExponent = slopeOf(
    known.grid.map((fit) => fit.log_rate),
    prior.exponents,
    known,
  );
  const variance = known.fit.spread[1][1] + byExponent ** 2 * known.exponent_var;
  const [told, rateVar] = without(known.fit.log_rate, variance, prior.log_rate, prior.rate_doubt ** 2);
  // Dips that say next to nothing say nothing absurd.
  const rate = Math.min(Math.max(told, prior.log_rate - MOST_LEARNED), prior.log_rate + MOST_LEARNED);
  const [middle, scale] = prior.exponent;
  const [open, nVar] = without(known.fit.exponent, known.exponent_var, middle, scale * scale);
  const n = Math.min(Math.max(open, 1), 2.5);
  return [mass, Math.exp(rate) * REFERENCE_C ** -n, n, Math.sqrt(rateVar), Math.sqrt(nVar)];
}

// ---- the forecast ---------------------------------------------------------------------------

/** @param {Placed[]} ordered @param {number} room @param {number} target @param {number} noise
 * @param {Prior} prior @param {number} need @returns {Forecast} */
function forecastOf(ordered, room, target, noise, prior, need) {
  const first = afterLastRise(ordered, room, noise, prior);
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
  return start * Math.exp(Math.min(-Math.log1p(growth) / (n - 1), 200));
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
    return {
      log_rate,
      rate_doubt,
      room_doubt,
      exponent: [fixed, 1e-6],
      exponents: [fixed],
      weights: [1],
      law_doubt: 0,
    };
  }
  const exponents =
    past.length > 0
      ? [-4, -2, -1, 0, 1, 2, 4].map((step) => Math.min(Math.max(1.0001, middle + step * scale), 3))
      : EXPONENTS;
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
    throw new InputError("A past pour is its wax, its rate and its exponent.");
  }
  const [mass_g, rate, exponent, rate_doubt = 0.03, exponent_doubt = 0.05] = each;
  checks.positive(mass_g, "The wax of a past pour");
  checks.positive(rate, "The rate of a past pour");
  checks.within(exponent, "The exponent of a past pour", 1, 3);
  checks.positive(rate_doubt, "The doubt of a past rate");
  checks.positive(exponent_doubt, "The doubt of a past exponent");
  return [mass_g, rate, exponent, rate_doubt, exponent_doubt];
}

/** ln of this jug's rate at this fill, and its doubt; how far its pours scatter is learned as well.
 * @param {Learned[]} past @param {number} mass_g @param {number} general @returns {[number, number]} */
function rateFrom(past, mass_g, general) {
  const points = past.map(
    ([mass, k, n, doubt]) =>
      /** @type {[number, number, number]} */ ([
        Math.log(mass / mass_g),
        Math.log(k) + n * Math.log(REFERENCE_C) - expected(mass),
        doubt ** 2,
      ]),
  );
  const [first, slope] = regressed(points, POUR_DOUBT ** 2);
  let total = POUR_DOUBTS * POUR_DOUBT ** 2;
  for (const [fuller, away, variance] of points) {
    const off = away - first - slope * fuller;
    total += Math.max(0, off * off - variance);
  }
  const scatter = total / (POUR_DOUBTS + points.length);
  const [departure, , variance] = regressed(points, scatter);
  return [general + departure, Math.sqrt(variance + scatter)];
}

/** Level at this fill, slope, and the level's variance.
 * @param {[number, number, number][]} points ln of the fill, departure, variance
 * @param {number} scatter @returns {[number, number, number]} */
function regressed(points, scatter) {
  let a = 1 / RATE_DOUBT ** 2;
  let b = 0;
  let c = 1 / FILL_DOUBT ** 2;
  let p = 0;
  let q = 0;
  for (const [fuller, away, variance] of points) {
    const weight = 1 / (variance + scatter);
    a += weight;
    b += weight * fuller;
    c += weight * fuller * fuller;
    p += weight * away;
    q += weight * fuller * away;
  }
  const determinant = a * c - b * b;
  return [(c * p - b * q) / determinant, (a * q - b * p) / determinant, c / determinant];
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
    throw new InputError("Take a reading first: dip the thermometer and enter what it says.");
  }
  if (readings.length > MOST_READINGS) {
    throw new InputError("Too many readings for one cooling: start a new one.");
  }
  let cold = 0;
  const placed = readings.map(([time_s, temp_c], index) => {
    checks.number(time_s, "The time of a reading");
    checks.within(temp_c, "A reading in °C", -20, 300);
    if (temp_c - room < checks.SMALLEST) cold += 1;
    return /** @type {Placed} */ ([time_s, temp_c, index]);
  });
  // One of three or more may be a slip, 17.4 for 71.4; else there is nothing to go by.
  if (2 * cold >= placed.length) {
    throw new InputError(
      "A reading is not above the room temperature: the wax is cold, or the room " +
        "temperature is wrong. Check both.",
    );
  }
  // Of two readings at one time the hotter comes first, so that they don't count as a rise.
  return placed.sort((a, b) => a[0] - b[0] || b[1] - a[1] || a[2] - b[2]);
}

/** Index of the first reading after the wax was last warmed; a slip of the hand is no warming.
 * @param {Placed[]} ordered @param {number} room @param {number} noise @param {Prior} prior */
function afterLastRise(ordered, room, noise, prior) {
  const clear = Math.max(1, 4 * noise);
  const rate = Math.exp(prior.log_rate) * REFERENCE_C ** -EXPONENT;
  /** How far the second lies off where the first should lead, and the fall expected.
   * @param {Placed} one @param {Placed} other */
  const off = (one, other) => {
    const over = Math.max(one[1] - room, LEAST_EXCESS_C);
    const then = relaxed(over, rate, other[0] - one[0], EXPONENT);
    return [Math.abs(other[1] - room - then), over - then];
  };
  let first = 0;
  let kept = [ordered[0]];
  let low_c = ordered[0][1];
  for (let index = 1; index < ordered.length; index += 1) {
    const now = ordered[index];
    const before = kept[kept.length - 1];
    if (now[1] - before[1] <= clear && now[1] - low_c <= 2 * clear) {
      kept.push(now);
      low_c = Math.min(low_c, now[1]);
      continue;
    }
    // A low one, after which this goes on where the one before had left off.
    if (kept.length > 1 && now[1] - before[1] > clear) {
      const [away, fall] = off(kept[kept.length - 2], now);
      if (away <= clear + fall / 2) {
        kept[kept.length - 1] = now;
        low_c = Math.min(...kept.map(([, temp_c]) => temp_c));
        continue;
      }
    }
    // A high one, after which the next does so.
    if (index + 1 < ordered.length) {
      const after = ordered[index + 1];
      if (after[1] <= low_c + clear && off(before, after)[0] < off(now, after)[0]) continue;
    } else if (kept.length > 1 && now[1] <= kept[kept.length - 2][1] + clear) {
      // The last may be a touch of the hot base: too early an alarm is the lesser harm.
      continue;
    }
    first = index;
    kept = [now];
    low_c = now[1];
  }
  return first;
}

// ---- the fit --------------------------------------------------------------------------------

/** @typedef {{log_over: number, log_rate: number, warmer: number}} State */
/** @typedef {{used: Placed[], room: number, noise: number, prior: Prior}} Given */

/** @param {Placed[]} used @param {number} room @param {number} noise @param {Prior} prior @returns {Known} */
function weighed(used, room, noise, prior) {
  const given = { used, room, noise, prior };
  const { exponents } = prior;
  let middle = 0;
  exponents.forEach((_, index) => {
    if (prior.weights[index] > prior.weights[middle]) middle = index;
  });
  const start = begin(given, exponents[middle]);
  /** @type {Fit[]} */
  const grid = [];
  grid[middle] = fitted(given, exponents[middle], start);
  // From the middle outwards each fit starts where its neighbour ended.
  for (let index = middle + 1; index < exponents.length; index += 1) {
    grid[index] = fitted(given, exponents[index], start, grid[index - 1]);
  }
  for (let index = middle - 1; index >= 0; index -= 1) {
    grid[index] = fitted(given, exponents[index], start, grid[index + 1]);
  }
  let best = -Infinity;
  for (const { evidence } of grid) best = Math.max(best, evidence);
  const weights = grid.map(({ evidence }, index) => prior.weights[index] * Math.exp(evidence - best));
  let total = 0;
  let mean = 0;
  weights.forEach((weight, index) => {
    total += weight;
    mean += weight * exponents[index];
  });
  mean /= total;
  let variance = 0;
  weights.forEach((weight, index) => {
    variance += (weight / total) * (exponents[index] - mean) ** 2;
  });
  let shares = weights.map((weight) => weight / total);
  const top = shares.indexOf(Math.max(...shares));
  if (grid.length > 1 && shares[top] > 0.9) {
    [mean, variance] = between(grid, top);
    shares = shares.map((_, index) => (index === top ? 0.5 : Math.abs(index - top) === 1 ? 0.25 : 0));
  }
  return {
    fit: grid.length > 1 ? fitted(given, mean, start, grid[middle]) : grid[0],
    grid,
    weights: shares,
    exponent_var: variance,
  };
}

/** Mean and variance of n where the dips tell it finer than the grid: a parabola through the
 * logarithms of the evidence. @param {Fit[]} grid @param {number} top @returns {[number, number]} */
function between(grid, top) {
  const n = grid[top].exponent;
  if (0 < top && top < grid.length - 1) {
    const under = n - grid[top - 1].exponent;
    const above = grid[top + 1].exponent - n;
    if (under > 0 && above > 0) {
      const left = (grid[top].evidence - grid[top - 1].evidence) / under;
      const right = (grid[top].evidence - grid[top + 1].evidence) / above;
      const bend = (left + right) / (under + above);
      if (bend > 0) {
        const to = (bend * above - right) / (2 * bend);
        return [n + Math.min(Math.max(to, -under), above), 1 / (2 * bend) + LEAST_EXPONENT_DOUBT ** 2];
      }
    }
  }
  return [n, LEAST_EXPONENT_DOUBT ** 2];
}

/** The first excess and the rate to start the fit from: of the curves through one reading with the
 * rate expected, and of those through two, the one that explains all of them best.
 * @param {Given} given @param {number} n @returns {State} */
function begin(given, n) {
  const { used, room, prior } = given;
  const zero = used[0][0];
  const last = used.length - 1;
  const picked = [];
  for (let part = 0; part < Math.min(last + 1, MOST_PICKED); part += 1) {
    const [time_s, temp_c] = used[Math.floor((last * part) / Math.max(Math.min(last, MOST_PICKED - 1), 1))];
    picked.push([time_s - zero, Math.max(temp_c - room, LEAST_EXCESS_C)]);
  }
  const curves = picked.map(([since, over]) => [since, over, prior.log_rate]);
  for (let second = 0; second < picked.length; second += 1) {
    for (let first = 0; first < second; first += 1) {
      const [since, hot] = picked[first];
      const [later, cool] = picked[second];
      if (later - since > 0 && hot > cool) {
        const log_rate = Math.log(secondsOf(hot, cool, 1, n) / (later - since)) + n * Math.log(REFERENCE_C);
        if (Math.abs(log_rate - prior.log_rate) < 3) curves.push([since, hot, log_rate]);
      }
    }
  }
  let least = Infinity;
  let best = { log_over: 0, log_rate: 0, warmer: 0 };
  for (const [since, over, log_rate] of curves) {
    const k = Math.exp(log_rate) * REFERENCE_C ** -n;
    const start = Math.log(Math.min(relaxed(over, k, -since, n), 400));
    const state = { log_over: start, log_rate, warmer: 0 };
    const cost = costOf(given, n, start, state);
    // Only a clear difference counts: two that are as good must not be told apart by rounding.
    if (cost < least - 1e-6 * (1 + cost)) {
      least = cost;
      best = state;
    }
  }
  return best;
}

/** −2 ln of the posterior, but for a constant.
 * @param {Given} given @param {number} n @param {number} begun @param {State} state */
function costOf({ used, room, noise, prior }, n, begun, { log_over, log_rate, warmer }) {
  const zero = used[0][0];
  const k = Math.exp(log_rate) * REFERENCE_C ** -n;
  const over = Math.exp(log_over);
  let total = ((log_rate - prior.log_rate) / prior.rate_doubt) ** 2;
  total += (warmer / prior.room_doubt) ** 2 + (log_over - begun) ** 2;
  for (const [time_s, temp_c] of used) {
    const off = temp_c - (room + warmer + relaxed(over, k, time_s - zero, n));
    total += (TAIL + 1) * Math.log1p((off / noise) ** 2 / TAIL);
  }
  return total;
}

/** Gauss–Newton, damped where a step does not help, for temperature, rate and room; the excess is
 * kept as its logarithm, so that no step can take the wax below the room.
 * @param {Given} given @param {number} n @param {State} start @param {Fit | null} [near] @returns {Fit} */
function fitted(given, n, start, near = null) {
  const { used, room } = given;
  const begun = start.log_over;
  let state =
    near === null ? start : { log_over: Math.log(near.excess_c), log_rate: near.log_rate, warmer: near.room_c - room };
  let cost = costOf(given, n, begun, state);
  let damping = 0;
  for (let turn = 0; turn < MOST_STEPS; turn += 1) {
    const [a, b] = normal(given, n, begun, state);
    const damped = a.map((line, row) => line.map((each, column) => (row === column ? each * (1 + damping) : each)));
    const steps = inverse(damped)[0].map((line) => line[0] * b[0] + line[1] * b[1] + line[2] * b[2]);
    const size = steps[0] * b[0] + steps[1] * b[1] + steps[2] * b[2];
    const part = Math.min(1, 2 / (Math.abs(steps[1]) + 1e-12));
    const grows = (part * (steps[0] - steps[2])) / Math.exp(state.log_over);
    const tried = {
      log_over: state.log_over + Math.log1p(Math.min(Math.max(grows, -0.75), 3)),
      log_rate: state.log_rate + part * steps[1],
      warmer: state.warmer + part * steps[2],
    };
    // A small step needs no proof, and rounding would hide it.
    if (size > 1e-6) {
      const newCost = costOf(given, n, begun, tried);
      if (newCost > cost) {
        damping = Math.max(10 * damping, 1e-2);
        continue;
      }
      cost = newCost;
    }
    damping = damping > 1e-3 ? damping / 10 : 0;
    state = tried;
    if (size < 1e-20) break;
  }
  const [spread, logDeterminant] = inverse(normal(given, n, begun, state)[0]);
  return {
    zero_s: used[0][0],
    excess_c: Math.exp(state.log_over),
    rate: Math.exp(state.log_rate) * REFERENCE_C ** -n,
    exponent: n,
    room_c: room + state.warmer,
    log_rate: state.log_rate,
    spread,
    evidence: -0.5 * (logDeterminant + costOf(given, n, begun, state)),
  };
}

/** The normal equations in (temperature at the first reading, ln of the rate, room).
 * @param {Given} given @param {number} n @param {number} begun @param {State} state
 * @returns {[number[][], number[]]} */
function normal({ used, room, noise, prior }, n, begun, { log_over, log_rate, warmer }) {
  const zero = used[0][0];
  const k = Math.exp(log_rate) * REFERENCE_C ** -n;
  const over = Math.exp(log_over);
  const speed = k * Math.pow(over, n);
  const pull = (log_over - begun) / over;
  const b = [-pull, (prior.log_rate - log_rate) / prior.rate_doubt ** 2, pull - warmer / prior.room_doubt ** 2];
  const stiff = 1 / over ** 2;
  const a = [
    [stiff, 0, -stiff],
    [0, prior.rate_doubt ** -2, 0],
    [-stiff, 0, stiff + prior.room_doubt ** -2],
  ];
  for (const [time_s, temp_c] of used) {
    const since = time_s - zero;
    const theta = relaxed(over, k, since, n);
    const off = temp_c - (room + warmer + theta);
    const weight = (TAIL + 1) / (TAIL + (off / noise) ** 2) / noise ** 2;
    const slope = Math.pow(theta / over, n);
    const by = [slope, -speed * since * slope, 1 - slope];
    for (let row = 0; row < 3; row += 1) {
      b[row] += weight * by[row] * off;
      for (let column = 0; column < 3; column += 1) a[row][column] += weight * by[row] * by[column];
    }
  }
  return [a, b];
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
  let mean = 0;
  let middle = 0;
  let total = 0;
  known.weights.forEach((weight, index) => {
    total += weight;
    mean += weight * values[index];
    middle += weight * exponents[index];
  });
  mean /= total;
  middle /= total;
  let both = 0;
  let wide = 0;
  known.weights.forEach((weight, index) => {
    both += weight * (values[index] - mean) * (exponents[index] - middle);
    wide += weight * (exponents[index] - middle) ** 2;
  });
  return wide > 1e-12 ? both / wide : 0;
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
    // A later dip has to be clearly better: a tie must not be settled by rounding.
    if (after < best * (1 - 1e-6)) {
      best = after;
      best_s = time_s;
    }
    if (NINETY * Math.sqrt(Math.max(after, 0)) <= need_c) break;
  }
  return best < 0.8 * before ? best_s : null;
}

/** 90 % either side, stretched so that an arrival more than a second ahead does not lie in the past.
 * @param {number} eta_s @param {number} last_s @param {number} sure @returns {[number, number]} */
function interval(eta_s, last_s, sure) {
  const ahead = eta_s - last_s;
  if (ahead <= 1) return [eta_s - NINETY * sure, eta_s + NINETY * sure];
  const doubt = NINETY * sure;
  const stretch = Math.exp(Math.min(doubt / ahead, 5));
  // Where the doubt is longer than the wait, a multiple of the wait would have no end.
  return [last_s + ahead / stretch, Math.min(last_s + ahead * stretch, eta_s + doubt * (Math.E - 1))];
}

/** Inverse of a symmetric, positive 3 × 3 matrix as LDLᵀ, and the log of its determinant.
 * @param {number[][]} m @returns {[number[][], number]} */
function inverse(m) {
  const [[a, b, c], [, e, f], [, , i]] = m;
  const p = b / a;
  const q = c / a;
  const second = Math.max(e - b * p, 1e-14 * e);
  const r = (f - b * q) / second;
  const third = Math.max(i - c * q - r * r * second, 1e-14 * i);
  const s = p * r - q;
  const rows = [
    [1 / a + (p * p) / second + (s * s) / third, -p / second - (s * r) / third, s / third],
    [-p / second - (s * r) / third, 1 / second + (r * r) / third, -r / third],
    [s / third, -r / third, 1 / third],
  ];
  return [rows, Math.log(a) + Math.log(second) + Math.log(third)];
}
