/** Two or three phones at one pour: each knows what it has heard, and what it did itself. */

import { answering } from "/bench/answers.js";
import { stepCue } from "/bench/cues.js";
import { displayUnits } from "/bench/display_units.js";
import { eventWords } from "/bench/event_words.js";
import { fold, stageOf } from "/bench/fold.js";
import { lastUndoable } from "/bench/pours.js";
import { promptFor } from "/bench/prompt.js";
import { EARLIEST, nextStamp } from "/records/stamp.js";
import { BEGUN_MS, eventOf, freeze, jugProblem, pick, promptProblem, random, seldom, sheetOf, textOf } from "./walk.js";

const byId = (a, b) => (a.id < b.id ? -1 : 1);

/** One phone. Its clock may be off before it hears of the server's: stamps and times are then its own. */
class Hand {
  constructor(name, sheet) {
    this.name = name;
    this.sheet = sheet;
    this.events = [];
    this.stamp = EARLIEST;
  }
  get state() {
    return fold(this.sheet, this.events);
  }
  /** All or none, as a screen that showed `state` has it. */
  keep(state, events, at) {
    for (const event of events) {
      this.stamp = nextStamp(this.stamp, at, this.name);
      const named = answering(state, event);
      this.events.push(freeze({ ...named, at, of: ["pour", "p"], id: this.stamp, by: this.name }));
    }
  }
  hear(events) {
    const known = new Set(this.events.map(({ id }) => id));
    this.events = [...this.events, ...events.filter(({ id }) => !known.has(id))].sort(byId);
    for (const { id } of events) if (id > this.stamp) this.stamp = id;
  }
}

function exchange(hands) {
  const all = hands.flatMap(({ events }) => events);
  for (const hand of hands) hand.hear(all);
}

/** What a fold of any hands' events may never come to. */
export function stateProblem(state) {
  for (const [index, jug] of state.jugs.entries()) {
    const vessels = jug.poured.map(({ vessel }) => vessel);
    if (new Set(vessels).size !== vessels.length) return `a vessel of jug ${index} is filled twice`;
    if (vessels.some((vessel) => !(vessel >= 0 && vessel < jug.vessels))) return `a vessel over in jug ${index}`;
    if (jug.open.some((vessel) => vessels.includes(vessel))) return "a vessel is filled and open";
    if (jug.open.length + vessels.length !== jug.vessels) return "a vessel is neither filled nor open";
    if (jug.went_on > 2) return `${jug.went_on} waits are over`;
    const problem = jugProblem(jug);
    if (problem) return problem;
  }
  return null;
}

function shownProblem({ sheet, state, events }, index, at, units) {
  const shown = promptFor(sheet, state, index, at, units);
  const problem = promptProblem(shown);
  if (problem) return `${problem} (${shown.title})`;
  if (!stepCue(sheet, state, index, at, units).words) return "nothing said";
  // As the log has it.
  const record = { id: "p", sheet };
  return events.every((event) => eventWords(event, record)) ? null : "an event without words";
}

/** Let one hand do what its board offers. */
export function act(hand, draw, at, units, wild) {
  const { state, sheet } = hand;
  if (["setting", "abandoned"].includes(stageOf(state))) return null;
  const open = state.jugs.findIndex(({ step }) => step !== "done");
  const index = draw() < 0.8 ? Math.max(0, open) : Math.floor(draw() * state.jugs.length);
  const jug = state.jugs[index];
  const said = promptFor(sheet, state, index, at, units);
  if (draw() < 0.06) {
    const last = lastUndoable({ state }, index);
    const ids = last ? [last.id, ...(state.same.get(last.id) ?? [])] : [];
    hand.keep(
      state,
      ids.map((event) => ({ type: "undone", event })),
      at,
    );
    return null;
  }
  const offered = draw() < 0.85 || said.others.length === 0 ? said.main : pick(draw, said.others);
  const action =
    offered?.view === "more" ? seldom(draw, jug, index, { several: state.jugs.length > 1, whole: false }) : offered;
  if (!action || action.view) return null;
  if (action.undo) {
    const events = action.undo.map((event) => ({ type: "undone", event }));
    if (events.length === 0) return "a choice that changes nothing";
    hand.keep(state, events, at);
    return null;
  }
  const event = eventOf(wild ? draw : () => 0.2, sheet, jug, index, action);
  if (event === null) return `nothing to weigh (${said.title})`;
  hand.keep(state, [event], at);
  return null;
}

/**
 * Let hands work at random, now and then out of hearing, and look at everything after each exchange; then let one of
 * them settle what differs and go on to the end.
 */
export function hands({ asked, units: given, seed, length, count }) {
  const draw = random(seed);
  const units = displayUnits(given);
  const sheet = sheetOf(asked);
  const all = ["a", "b", "c"].slice(0, count).map((name) => new Hand(name, sheet));
  const seen = { clashes: 0, same: 0, exchanges: 0 };
  let at = BEGUN_MS;
  const found = (problem, hand = all[0]) => ({ problem, events: hand.events, seen });
  for (let turn = 0; turn < length; turn += 1) {
    at += pick(draw, [1, 600, 900, 15_000, 60_000, 240_000]);
    const hand = pick(draw, all);
    const failed = act(hand, draw, at, units, draw() < 0.3);
    if (failed) return found(failed, hand);
    const problem = stateProblem(hand.state) ?? shownProblem(hand, 0, at, units);
    if (problem) return found(problem, hand);
    if (draw() > 0.4) continue;
    exchange(all);
    seen.exchanges += 1;
    const [first, ...others] = all.map(({ state }) => textOf(state));
    if (others.some((other) => other !== first)) return found("two phones fold differently");
    const { state } = all[0];
    seen.clashes += state.jugs.filter(({ clashes }) => clashes.length > 0).length;
    seen.same += state.same.size;
    for (const index of state.jugs.keys()) {
      const odd = stateProblem(state) ?? shownProblem(all[0], index, at, units);
      if (odd) return found(odd);
    }
  }
  exchange(all);
  return finish(all[0], at, units) ?? { ...found(null), ended: stageOf(all[0].state) };
}

/** One hand alone does what the board says until the batch is left to set: it must come to an end. */
function finish(hand, begun_ms, units) {
  let at = begun_ms;
  for (let turn = 0; turn < 400; turn += 1) {
    const { state, sheet } = hand;
    if (["setting", "abandoned"].includes(stageOf(state))) return null;
    at += 120_000;
    const index = Math.max(
      0,
      state.jugs.findIndex(({ step, clashes }) => step !== "done" || clashes.length > 0),
    );
    const jug = state.jugs[index];
    const { main } = promptFor(sheet, state, index, at, units);
    if (main.undo) {
      const events = main.undo.map((event) => ({ type: "undone", event }));
      hand.keep(state, events, at);
      if (hand.state.jugs.some(({ clashes }) => clashes[0]?.question === jug.clashes[0]?.question && jug.clashes[0]))
        return { problem: "what was chosen is asked again", events: hand.events };
    } else if (main.pad === "temperature" && hand.events.slice(-3).every(({ type }) => type === "read")) {
      // A thermometer that stands still is not believed for ever.
      hand.keep(state, [{ type: "went_on", jug: index }], at);
    } else if (main.pad === "temperature") {
      const window = jug.step === "cool" && sheet.load > 0 ? sheet.fragrance : sheet.pour;
      hand.keep(state, [{ type: "read", jug: index, temp_c: window.target_c }], at);
    } else if (main.pad) {
      hand.keep(state, [eventOf(() => 0.2, sheet, jug, index, main)], at);
    } else hand.keep(state, [main.event], at);
  }
  const { state, sheet } = hand;
  const index = state.jugs.findIndex(({ step }) => step !== "done");
  const { title, doing, lines } = promptFor(sheet, state, Math.max(0, index), at, units);
  return { problem: `it does not end: ${[title, doing, ...lines].join(" | ")}`, events: hand.events };
}
