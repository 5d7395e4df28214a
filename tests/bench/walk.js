/** Pours played in the page: sheets from records, events one by one, and random walks of them. */

import { answering } from "/bench/answers.js";
import { calendarOf } from "/bench/calendar.js";
import { alarmOf, mixNow, riseOf, waitOf } from "/bench/countdown.js";
import * as unitsModule from "/bench/display_units.js";
import * as dues from "/bench/due.js";
import * as folding from "/bench/fold.js";
import * as mixing from "/bench/mixing.js";
import { seldomOf } from "/bench/more.js";
import { jugHistory, learnedEfficiency } from "/bench/past_pours.js";
import { lastUndoable } from "/bench/pours.js";
import { promptFor } from "/bench/prompt.js";
import { readingRequest } from "/bench/reading_request.js";
import { recipeFacts } from "/bench/recipe_facts.js";
import { makeSheet, meltEnergyOf, vesselsFrom, vesselsOfJug } from "/bench/sheet.js";
import { openSheet } from "/bench/sheet_versions.js";
import { sizeVessel, USUAL_MIX } from "/bench/sizing.js";
import { expectedC, nextFragrance } from "/bench/temperature_prompt.js";
import { vesselShape } from "/bench/vessel_shape.js";
import { excess } from "/formulas/cooling/law.js";
import { roundTo } from "/formulas/rounding.js";
import { EARLIEST, nextStamp } from "/records/stamp.js";
import { clockText, dayText } from "/words/dates.js";
import { InputError } from "/words/door.js";

export { hands } from "./hands.js";
export {
  alarmOf,
  answering,
  calendarOf,
  clockText,
  dayText,
  dues,
  excess,
  expectedC,
  folding,
  InputError,
  jugHistory,
  lastUndoable,
  learnedEfficiency,
  makeSheet,
  meltEnergyOf,
  mixing,
  mixNow,
  openSheet,
  promptFor,
  readingRequest,
  recipeFacts,
  riseOf,
  roundTo,
  sizeVessel,
  USUAL_MIX,
  vesselShape,
  vesselsFrom,
  vesselsOfJug,
  waitOf,
};
export const { fold, stageOf } = folding;
export const { grouped, displayUnits, percent } = unitsModule;
export const BEGUN_MS = 1_795_600_000_000;

const byId = (records) => new Map(records.map((record) => [record.id, record]));

/** The sheet from what the Python side asked, frozen: nothing may change it. */
export const sheetOf = (asked) =>
  freeze(makeSheet(asked.recipe, materialsOf(asked), asked.tools, asked.count, asked.also ?? []));

/** What is kept; vessel and wick are the recipe's, whatever their ids. */
export const materialsOf = ({ recipe, vessel, waxes, oils, additives, wick }) => ({
  vessels: new Map([[recipe.vessel, vessel]]),
  waxes: byId(waxes),
  oils: byId(oils),
  additives: byId(additives),
  wicks: new Map([[recipe.wick, wick]]),
});

export const mixFrom = (asked) => mixing.mixOf(asked.recipe, materialsOf(asked));

export const cautionsFor = (asked, units = displayUnits({})) =>
  mixing.cautionsFor(mixFrom(asked), asked.recipe, materialsOf(asked), (celsius) =>
    units.text(celsius, "temperature", 1),
  );

export function freeze(value) {
  if (value !== null && typeof value === "object" && !Object.isFrozen(value)) {
    Object.freeze(value);
    Object.values(value).forEach(freeze);
  }
  return value;
}

/** What of a state names its events, and says nothing else. */
const NAMES = ["last", "counted", "same", "answers", "readings"];

/** A state as text, without what names its events. */
export function textOf(state) {
  return JSON.stringify(state, (name, value) => {
    if (NAMES.includes(name)) return undefined;
    return value instanceof Map ? [...value] : value instanceof Set ? [...value] : value;
  });
}

/** An event as it was kept before events named what they answer. */
const unnamed = ({ over, vessel, wait, ...event }) => event;

/** A pour in the making. */
export class Play {
  constructor(sheet, units = displayUnits({})) {
    this.sheet = sheet;
    this.units = units;
    this.events = [];
    this.stamp = EARLIEST;
    this.at = BEGUN_MS;
    this.folded = { state: null, events: -1 };
  }
  /** Folded once an event and frozen: whoever reads it may change nothing of it. */
  get state() {
    if (this.folded.events !== this.events.length) {
      this.folded = { state: freeze(fold(this.sheet, this.events)), events: this.events.length };
    }
    return this.folded.state;
  }
  jug(index = 0) {
    return this.state.jugs[index];
  }
  prompt(index = 0, ahead = false, whole = false) {
    return promptFor(this.sheet, this.state, index, this.at, this.units, { ahead, whole });
  }
  keep(event, after_s = 0) {
    this.at += after_s * 1000;
    this.stamp = nextStamp(this.stamp, this.at, "test");
    const named = answering(this.state, event);
    const kept = freeze({ ...named, at: this.at, of: ["pour", "p"], id: this.stamp });
    this.events.push(kept);
    return kept;
  }
  weigh(part, index, read_g, jug = 0) {
    return this.keep({ type: "weighed", jug, part, index, read_g }, 20);
  }
  /** Do what the board says, reading the marks, until `until` is true of this pour. */
  honest(until = () => false, cooling = { start_c: 84, rate: 1.2e-4 }) {
    for (let turn = 0; turn < 3000; turn += 1) {
      const { state } = this;
      if (stageOf(state) === "setting" || until(this, state)) return this;
      const index = Math.max(
        0,
        state.jugs.findIndex(({ step }) => step !== "done"),
      );
      const jug = state.jugs[index];
      const { main } = promptFor(this.sheet, state, index, this.at, this.units);
      if (main.pad === "weigh") {
        this.weigh(jug.current.part, jug.current.index, jug.current.target_g, index);
      } else if (main.pad === "vessel") {
        this.keep({ type: "poured", jug: index, read_g: main.expected }, 60);
      } else if (main.pad === "temperature") {
        this.at += 150_000;
        const since_s = (this.at - jug.melted_at) / 1000;
        const temp_c = roundTo(
          this.sheet.room_c + excess(cooling.start_c - this.sheet.room_c, cooling.rate, since_s),
          this.sheet.thermometer_step_c,
        );
        this.keep({ type: "read", jug: index, temp_c });
      } else {
        this.keep(main.event, 60);
      }
    }
    throw new Error(`the pour did not end: ${this.prompt().title}`);
  }
  to(step, jug = 0) {
    return this.honest((_, state) => state.jugs[jug].step === step);
  }
}

// ---- what must hold after every event ----------------------------------------------------------

const NONSENSE = /NaN|undefined|Infinity|null|\[object|-0(\.0+)?(?![.\d])/;

export function textsOf(said) {
  return [
    said.title,
    said.doing,
    said.number,
    said.unit,
    said.say,
    ...said.lines,
    ...said.checks,
    ...said.cautions,
    ...[said.main, ...said.others].filter(Boolean).map(({ label }) => label),
  ];
}

export function promptProblem(said) {
  if (!said.title) return "no title";
  if (!said.step) return "no step";
  const empty = textsOf(said).find((text) => typeof text !== "string");
  if (empty !== undefined) return "a text is none";
  const odd = textsOf(said).find((text) => NONSENSE.test(text));
  if (odd !== undefined) return `nonsense: ${odd}`;
  if (said.title !== "Jug done" && said.main === null) return "nothing to do";
  for (const action of [said.main, ...said.others].filter(Boolean)) {
    if (!action.label || !(action.event || action.pad || action.view || action.undo))
      return `an empty button: ${JSON.stringify(action)}`;
  }
  if (said.beam && !(said.beam.low_g <= said.beam.target_g && said.beam.target_g <= said.beam.high_g)) {
    return `the mark is outside its band: ${JSON.stringify(said.beam)}`;
  }
  return null;
}

/** A mark must be something that a scale can show, and no temperature is ever offered as read. */
export function expectedProblem({ main }, sheet) {
  if (!main?.pad || main.expected === null) return null;
  if (main.pad === "temperature") return `${main.expected} is offered as read`;
  return main.expected >= 0 && main.expected <= 1e6 ? null : `${main.expected} expected at ${sheet.title}`;
}

/** Where a ladder opens must be wax. */
export function aroundProblem(sheet, jug, now_ms) {
  const around_c = expectedC(sheet, jug, now_ms);
  return around_c === null || (around_c >= -60 && around_c <= 420) ? null : `a ladder around ${around_c}`;
}

const LITTLE = 1e-6;

export function jugProblem(jug) {
  const mix_g = jug.wax_g + jug.extras_g + jug.fragrance_g;
  const poured_g = [...jug.poured, ...jug.others].reduce((sum, { read_g }) => sum + read_g, 0);
  const spilled = jug.spills.some(({ mixed }) => mixed);
  const toPour = jug.open.map((vessel) => jug.vessel_targets_g[vessel]);
  const toPour_g = toPour.reduce((sum, grams) => sum + grams, 0);
  if (jug.left_g < 0) return `${jug.left_g} g left in the jug`;
  const most_g = Math.max(0, mix_g - poured_g);
  if (jug.left_g > most_g + LITTLE || (!spilled && jug.left_g < most_g - LITTLE))
    return `${jug.left_g} g left of ${mix_g} g, ${poured_g} g poured`;
  if (toPour.some((grams) => !(grams >= 0))) return "a vessel's mark below nothing";
  if (toPour_g > jug.left_g + LITTLE) return `${toPour_g} g to pour from ${jug.left_g} g`;
  if (jug.wax_g < 0 || jug.extras_g < 0) return "less than nothing is left after a spill";
  if (jug.vessel_targets_g.length !== jug.vessels)
    return `${jug.vessel_targets_g.length} marks for ${jug.vessels} vessels`;
  for (const { target_g, low_g, high_g, reads_g } of jug.weighings) {
    if (!(target_g >= 0 && low_g <= target_g && target_g <= high_g && Number.isFinite(reads_g)))
      return "a weighing without a mark in its band";
  }
  return null;
}

// ---- random walks ------------------------------------------------------------------------------

/** Numbers from 0 to 1, the same from the same seed (mulberry32). */
export function random(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export const pick = (draw, list) => list[Math.floor(draw() * list.length)];

/** A reading of a scale: mostly near the mark, sometimes wild. */
export function massRead(draw, target_g, step_g) {
  const share = pick(draw, [
    1,
    1,
    1,
    1,
    1 + (draw() - 0.5) * 0.01,
    1 + (draw() - 0.5) * 0.1,
    1 + (draw() - 0.5),
    draw() * 3,
    0,
  ]);
  const exact = target_g * share;
  return draw() < 0.9 ? roundTo(exact, step_g) : exact;
}

/** A dip: mostly a little cooler than before, sometimes a slip. */
export function tempRead(draw, sheet, jug) {
  const last = jug.dips.at(-1)?.temp_c ?? 84;
  const exact = pick(draw, [
    last - draw() * 6,
    last - draw() * 6,
    last - draw() * 2,
    last + draw(),
    last + 20 * (draw() - 0.5),
    20 + draw() * 90,
    ...(jug.step === "melt" ? [sheet.highest_c + draw() * 5] : []),
    sheet.room_c,
    5,
  ]);
  return roundTo(exact, sheet.thermometer_step_c);
}

/**
 * Walk at random through a pour, doing what the board offers, and look at everything after every event.
 * @returns {{problem: string | null, events: any[], steps: string[], length: number}}
 */
export function walk({ asked, units, seed, length }) {
  const draw = random(seed);
  const play = new Play(sheetOf(asked), displayUnits(units));
  const steps = new Set();
  const found = (problem) => ({ problem, events: play.events, steps: [...steps], length: play.events.length });
  for (let turn = 0; turn < length; turn += 1) {
    const before = play.state;
    const index =
      draw() < 0.85
        ? Math.max(
            0,
            before.jugs.findIndex(({ step }) => step !== "done"),
          )
        : Math.floor(draw() * before.jugs.length);
    if (["setting", "abandoned"].includes(stageOf(before))) break;
    for (const jug of before.jugs) {
      const problem = jugProblem(jug) ?? aroundProblem(play.sheet, jug, play.at);
      if (problem) return found(problem);
    }
    for (const [ahead, whole] of [
      [false, false],
      [true, false],
      [false, true],
    ]) {
      const shown = play.prompt(index, ahead, whole);
      const problem = promptProblem(shown) ?? expectedProblem(shown, play.sheet);
      if (problem) return found(`${problem} (${shown.title})`);
    }
    const jug = before.jugs[index];
    const ahead = draw() < 0.3;
    const said = play.prompt(index, ahead, seed % 3 === 0);
    steps.add(said.step);
    play.at += pick(draw, [1, 900, 15_000, 60_000, 240_000, 3_600_000]);
    const chance = draw();
    const correctable = play.events.filter(({ type }) => ["weighed", "read", "poured"].includes(type));
    if (chance < 0.07) {
      const last = lastUndoable({ state: before }, index);
      if (last) play.keep({ type: "undone", event: last.id });
      continue;
    }
    if (chance < 0.11 && correctable.length > 0) {
      const event = pick(draw, correctable);
      const field = event.type === "read" ? "temp_c" : "read_g";
      const value = field === "temp_c" ? 40 + draw() * 50 : massRead(draw, event.read_g, play.sheet.step_g);
      play.keep({ type: "corrected", event: event.id, field, value });
      continue;
    }
    if (chance < 0.13) {
      play.keep(
        pick(draw, [
          { type: "noted", text: "a draught" },
          { type: "weighed_twice", jug: index, read_g: 3 },
        ]),
      );
      continue;
    }
    const whole = seed % 3 === 0;
    const others = said.others.filter(({ view }) => view !== "more" || draw() < 0.1);
    const offered = chance < 0.75 || others.length === 0 ? said.main : pick(draw, others);
    const action =
      offered?.view === "more" ? seldom(draw, jug, index, { several: before.jugs.length > 1, whole }) : offered;
    if (!action || action.view) continue;
    const event = eventOf(draw, play.sheet, jug, index, action);
    if (event === null) return found(`nothing to weigh (${said.title})`);
    play.keep(event);
    const undone = fold(play.sheet, [
      ...play.events,
      { type: "undone", event: play.stamp, id: "~", at: play.at, of: ["pour", "p"] },
    ]);
    if (textOf(undone) !== textOf(before)) return found(`undo of ${event.type} does not restore what was`);
    if (undone.counted.length !== before.counted.length) return found("undo counts");
  }
  const whole = play.state;
  if (textOf(whole) !== textOf(fold(play.sheet, play.events))) return found("folding twice differs");
  if (textOf(whole) !== textOf(fold(play.sheet, play.events.map(unnamed))))
    return found("of one hand, names change what is");
  const restored = JSON.parse(JSON.stringify(play.events));
  if (textOf(whole) !== textOf(fold(play.sheet, restored))) return found("folding what was kept differs");
  return found(null);
}

/** Mostly a vessel or a spill: who gives up does not walk on. */
export function seldom(draw, jug, index, way) {
  const all = seldomOf(jug, index, way);
  const action = pick(draw, draw() < 0.9 && all.length > 1 ? all.filter(({ sure }) => !sure) : all);
  if (!action.counts) return action;
  const filled = Math.floor(draw() * (jug.open.length + 1));
  return { ...action, event: { ...action.event, filled } };
}

export function eventOf(draw, sheet, jug, index, action) {
  if (action.pad === "left") return { type: "spilled", jug: index, read_g: draw() * jug.left_g };
  if (action.pad === "other") return { type: "filled_other", jug: index, read_g: draw() * jug.left_g };
  if (action.event) return action.event;
  if (action.pad === "temperature") return { type: "read", jug: index, temp_c: tempRead(draw, sheet, jug) };
  if (action.pad === "vessel") {
    return {
      type: "poured",
      jug: index,
      read_g: massRead(draw, jug.vessel_targets_g[jug.open[0]], sheet.step_g),
    };
  }
  const weighing = jug.current ?? nextFragrance(jug);
  if (weighing === null) return null;
  const step_g = ["wax", "restore"].includes(weighing.part) ? sheet.step_g : sheet.fine_step_g;
  return {
    type: "weighed",
    jug: index,
    part: weighing.part,
    index: weighing.index,
    read_g: massRead(draw, weighing.target_g, step_g),
  };
}

/** Take everything back, one by one, and answer whether nothing is left of it. */
export function undoAll(play) {
  const fresh = textOf(fold(play.sheet, []));
  for (let turn = 0; turn < 1000; turn += 1) {
    const { state } = play;
    const last = state.jugs
      .map((_, jug) => lastUndoable({ state }, jug))
      .filter(Boolean)
      .sort((a, b) => (a.id < b.id ? 1 : -1))[0];
    if (last === undefined) return textOf(state) === fresh;
    play.keep({ type: "undone", event: last.id });
  }
  return false;
}

/** The same; null where such a pour can't be planned. */
export function walkIfPlanned(given) {
  try {
    return walk(given);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return null;
  }
}
