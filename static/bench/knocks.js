/**
 * Two knocks, or two claps, told from all else that shakes or sounds: two short sharp rises over a moving
 * floor, alike in strength, then quiet. Pure: levels and times in, 'now they were two' out.
 */

/** Between the two (s). */
const NEAREST_S = 0.15;
const FURTHEST_S = 0.9;
/** A knock rises to its peak within this, and is down to a third of it within that (s). */
const RISE_S = 0.04;
const SHORT_S = 0.12;
/** What bounces longer than this is something that is set down (s). */
const BOUNCE_S = 0.15;
/** The stronger of two is at most so many times the weaker: an edge and then a foot set down differ more. */
const ALIKE = 3;
/** Nothing counts for so long after two that did, and at first, until the floor is known (s). */
const DEAD_S = 1.5;
const WARM_S = 0.5;
/** The floor follows the mean within this; what rings or echoes on fades by this (s). */
const FLOOR_S = 0.6;
const FADE_S = 0.1;
/** After a gap this long the phone slept, and all begins anew (s). */
const GAP_S = 0.5;

/**
 * @typedef {object} Sort what the levels are
 * @property {number} least no knock is weaker
 * @property {number} over a knock stands so many times over the floor
 * @property {number} restless a floor above this: the phone is carried, or it is too loud to tell
 */

/** Of a phone on the bench, in m/s². Browsers round to a tenth. @type {Sort} */
export const SHAKEN = { least: 0.5, over: 5, restless: 0.5 };
/** Of a microphone: root mean square, full scale is 1. @type {Sort} */
export const HEARD = { least: 0.03, over: 6, restless: 0.1 };

/**
 * Answers a function that is given each level (not negative) and its time (s), and answers whether two knocks
 * are now complete, which is only known when quiet has followed.
 * @param {Sort} sort @returns {(t_s: number, level: number) => boolean}
 */
export function twoKnocks({ least, over, restless }) {
  let began_s = NaN;
  let last_s = NaN;
  let floor = 0;
  let echo = 0;
  /** what is above the threshold now @type {{from_s: number, peak_s: number, peak: number} | null} */
  let burst = null;
  /** what came without FURTHEST_S of quiet between @type {{from_s: number, last_s: number, peak: number}[]} */
  let knocks = [];
  let spoilt = false;
  let dead_s = -Infinity;

  /** Whatever this is, it is not two knocks, nor is what follows without quiet before it. @param {number} t_s */
  function spoil(t_s) {
    spoilt = true;
    knocks = [{ from_s: t_s, last_s: t_s, peak: 0 }];
  }

  /** @param {{from_s: number, peak_s: number, peak: number}} ended */
  function take({ from_s, peak_s, peak }) {
    if (spoilt || peak_s - from_s > RISE_S || from_s < dead_s) return spoil(from_s);
    const before = knocks[knocks.length - 1];
    if (before === undefined || from_s - before.last_s >= NEAREST_S) {
      knocks.push({ from_s, last_s: from_s, peak });
    } else if (from_s - before.from_s > BOUNCE_S) {
      spoil(from_s);
    } else {
      // It bounced.
      before.last_s = from_s;
      before.peak = Math.max(before.peak, peak);
    }
  }

  return (t_s, level) => {
    if (!Number.isFinite(t_s) || !(level >= 0 && level < Infinity) || t_s <= last_s) return false;
    if (!(t_s - last_s <= GAP_S)) {
      began_s = t_s;
      floor = Math.min(level, restless);
      echo = 0;
      burst = null;
      knocks = [];
      spoilt = false;
    }
    const passed_s = t_s - last_s || 0;
    last_s = t_s;
    echo *= Math.exp(-passed_s / FADE_S);
    if (burst === null) {
      const rises = t_s - began_s >= WARM_S && level >= Math.max(least, echo);
      if (rises && level >= over * floor) burst = { from_s: t_s, peak_s: t_s, peak: level };
      // What the floor has all but risen to still rattles.
      else if (rises && level >= (over / 2) * floor) spoil(t_s);
    } else {
      if (level > burst.peak) Object.assign(burst, { peak_s: t_s, peak: level });
      if (t_s - burst.from_s > SHORT_S) spoil(t_s);
      if (level < burst.peak / 3) {
        take(burst);
        burst = null;
      }
    }
    echo = Math.max(echo, level);
    // Two hard knocks are no restlessness.
    floor += (Math.min(level, 1.5 * restless) - floor) * (1 - Math.exp(-passed_s / FLOOR_S));
    if (floor > restless) spoil(t_s);
    const latest = knocks[knocks.length - 1];
    if (latest === undefined || burst !== null || t_s - latest.last_s <= FURTHEST_S) return false;
    const [one, two] = knocks;
    const isTwo =
      !spoilt && knocks.length === 2 && Math.max(one.peak, two.peak) <= ALIKE * Math.min(one.peak, two.peak);
    knocks = [];
    spoilt = false;
    if (isTwo) dead_s = t_s + DEAD_S;
    return isTwo;
  };
}

/** What is slower than this is the phone being turned, and gravity (s). */
const SLOW_S = 0.25;

/** Answers a function from a time (s) and an acceleration with or without gravity (m/s²), whichever way the
 * phone leans, to how strongly it is shaken (m/s²; NaN where that can't be told).
 * @returns {(t_s: number, x: number, y: number, z: number) => number} */
export function shaking() {
  /** @type {number[]} */
  let slow = [];
  let last_s = NaN;
  return (t_s, ...axes) => {
    const passed_s = t_s - last_s;
    if (![t_s, ...axes].every(Number.isFinite) || passed_s <= 0) return NaN;
    last_s = t_s;
    if (!(passed_s <= GAP_S)) slow = axes;
    const part = 1 - Math.exp(-(passed_s || 0) / SLOW_S);
    slow = slow.map((mean, axis) => mean + (axes[axis] - mean) * part);
    return Math.hypot(...axes.map((value, axis) => value - slow[axis]));
  };
}
