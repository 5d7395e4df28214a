/** Burns played in the page: a candle at a time, by what its board offers. */

import { displayUnits } from "/bench/display_units.js";
import * as cues from "/burns/burn_cues.js";
import { foldTest, HOUR_MS } from "/burns/burn_fold.js";
import { burnPrompt, nextCandle } from "/burns/burn_prompt.js";
import { burnRequest } from "/burns/burn_request.js";
import { answering, clockOf } from "/burns/tests.js";
import { nextStamp } from "/records/stamp.js";

export const units = displayUnits({});

/** Numbers from a seed, the same at every run: 0 to 1. */
export function random(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** A test with its events, as a phone holds it. */
export class Played {
  events = [];
  #stamp = "";

  constructor(sheet, now_ms) {
    this.sheet = sheet;
    this.now_ms = now_ms;
    this.id = "t";
    this.state = foldTest(sheet, []);
  }

  add(event) {
    this.#stamp = nextStamp(this.#stamp, this.now_ms, "walker");
    const kept = { ...answering(this.state, event), at: this.now_ms, id: this.#stamp, of: ["burn_test", "t"] };
    this.events.push(kept);
    this.state = foldTest(this.sheet, this.events);
    return kept;
  }

  prompt(candle) {
    return burnPrompt(this, candle, this.now_ms, units);
  }
}

/** All that a board offers, one by one. */
export function offered({ main, others, stops }) {
  const all = [main, ...others, ...stops].filter(Boolean);
  return all.flatMap((action) => (action.more ? action.more : [action]));
}

/** The event that an action leads to; `read` says what the instrument shows. */
export function eventOf(test, candle, { event, pad, grade }, read) {
  if (pad) {
    const request = burnRequest(test, candle, pad, test.now_ms, units);
    const value = read(pad);
    return { event: request.event(value), doubt: request.doubt(value) };
  }
  if (grade) {
    const { sitting } = test.state.candles[candle];
    const mark = clockOf(test.state.candles[candle], test.now_ms).mark;
    return { event: { type: "saw", candle, burn: sitting, mark, what: grade, grade: 1 }, doubt: null };
  }
  return { event, doubt: null };
}

/** Wander through a test: touch what is offered, at any time, and keep what it leads to.
 * @returns what was kept, and where a touch led to nothing */
export function wander(sheet, seed, steps, now_ms) {
  const next = random(seed);
  const test = new Played(sheet, now_ms);
  const dead = [];
  const shown = new Set();
  for (let n = 0; n < steps; n += 1) {
    const candle = Math.floor(next() * sheet.candles.length);
    test.now_ms += Math.round(next() * 0.4 * HOUR_MS);
    const prompt = test.prompt(candle);
    shown.add(prompt.step);
    cues.burnCues(test, candle);
    cues.burnCue(test, candle, test.now_ms, units);
    nextCandle(test, candle, test.now_ms);
    const actions = offered(prompt);
    if (actions.length === 0) continue;
    const isStop = next() < 0.03;
    const open = isStop ? actions : actions.filter(({ label }) => !prompt.stops.some((stop) => stop.label === label));
    const action = prompt.main && next() < 0.6 ? prompt.main : open[Math.floor(next() * open.length)];
    if (!action) continue;
    const before = JSON.stringify(test.state.candles[candle], plain);
    const read = (pad) =>
      ({ before: 200 - n / 10, after: 199 - n / 10, hottest: 50 })[pad] ?? 20 + Math.floor(next() * 30);
    const { event } = eventOf(test, candle, action, read);
    test.add(event);
    if (JSON.stringify(test.state.candles[candle], plain) === before) dead.push([prompt.step, action.label]);
  }
  return { events: test.events, dead, shown: [...shown], clashes: test.state.clashes.length };
}

/** Maps and sets as lists. */
export function plain(_, value) {
  if (value instanceof Map) return [...value.keys()];
  return value instanceof Set ? [...value] : value;
}
