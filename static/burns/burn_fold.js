/**
 * A burn test is a list of events; how its candles stand is a fold over them.
 *
 * A candle burns in sittings: it is trimmed, weighed, lit, looked at by marks, put out, left to rest and weighed again.
 * Two phones may tell the same of it out of hearing of each other: an event names which candle, sitting and mark it is
 * of, and the answer that it replaces; so what agrees is one, and what differs is asked (`Answers`).
 */
import { Answers } from "../bench/answers.js";
import { BURNS_EVENT_TYPES } from "../records/burns_event_types.js";
import { effectiveEvents, isStep, know } from "../records/events.js";

know(BURNS_EVENT_TYPES);

/** @typedef {import("../records/event_types.js").BurnTestEvent} BurnTestEvent */
/**
 * @typedef {object} TestSheet what a test asks, and of which candles
 * @property {number} version
 * @property {string} title
 * @property {string | null} recipe
 * @property {{id: string | null, name: string}} vessel
 * @property {number} width_mm inside the vessel, where the wax stands
 * @property {{id: string | null, name: string, share: number}[]} waxes
 * @property {{id: string | null, name: string, share: number}[]} oils
 * @property {number} load of the wax
 * @property {number} fuel_g wax, fragrance and additives in one candle
 * @property {number} solid_density g/ml
 * @property {{id: string, name: string, series: string, size: string}[]} wicks the smallest first
 * @property {{wick: number, pour: string | null, vessel: number | null}[]} candles
 * @property {number[]} marks_h
 * @property {number} step_g of the scale
 * @property {number | null} [hottest_c] how hot a place of the vessel may get; null: she set no limit
 */
/** @typedef {"soot" | "mushroom" | "flicker" | "drowning" | "wall"} Graded what is seen in four steps, 0 none to 3 bad */
/**
 * @typedef {object} Seen at a mark; what is not there was not looked at
 * @property {true} [pool_full] to the wall all round @property {number} [pool_mm] @property {number} [across_mm]
 * @property {number} [depth_mm]
 * @property {true} [flame_low] lower than the limit @property {number} [flame_mm]
 * @property {number} [hottest_c]
 * @property {number} [soot] @property {number} [mushroom] @property {number} [flicker] @property {number} [drowning]
 * @property {number} [wall]
 */
/**
 * @typedef {object} Mark
 * @property {number} due_ms
 * @property {number | null} at_ms when it was first looked at
 * @property {Seen} seen
 * @property {boolean} done nothing more of it is to be told
 */
/**
 * @typedef {object} Sitting
 * @property {number | null} before_g @property {number | null} lit_at
 * @property {Mark[]} marks in order; none before it is lit
 * @property {number | null} stopped_at @property {Why | null} why @property {string} text
 * @property {number | null} smoke_s @property {boolean} smoke_told it was said, or said that nobody looked
 * @property {number | null} after_g
 * @property {number | null} hours from lit to out
 * @property {Map<string, Answers<BurnTestEvent>>} answers
 * @property {Set<number>} told marks of which it was said that this is all
 * @property {Set<number>} none marks at which there was nothing else to see
 */
/** @typedef {Extract<BurnTestEvent, {type: "stopped"}>["why"]} Why */
/** @typedef {"trim" | "light" | "burning" | "smoke" | "rest" | "over"} Step */
/** @typedef {{candle: number, sitting: number, question: string, answers: Answers<BurnTestEvent>}} Clash */
/** @typedef {ReturnType<typeof newCandle>} CandleState */
/** @typedef {ReturnType<typeof foldTest>} TestState */

/** What is graded, in the order in which it is asked. @type {Graded[]} */
export const GRADED = ["soot", "mushroom", "flicker", "drowning", "wall"];

/** Why a sitting ended that ends the candle too: it is dangerous. @type {(Why | null)[]} */
export const DANGEROUS = ["flame", "second_flame", "cracked", "soot"];

export const HOUR_MS = 3_600_000;

/** Rulers, thermometers and watches that differ by less are read alike. */
const NEAR = { mm: 2, c: 2, s: 5 };

/** @param {TestSheet} sheet @param {BurnTestEvent[]} events oldest first */
export function foldTest(sheet, events) {
  const state = {
    candles: sheet.candles.map(({ wick }) => newCandle(wick)),
    /** @type {Extract<BurnTestEvent, {type: "rated"}>[]} */
    ratings: [],
    /** the seed of the letters that hide which candle is which; null: they are told */
    blind: /** @type {number | null} */ (null),
    closed: /** @type {{why: string, at: number} | null} */ (null),
    notes: /** @type {{at: number, text: string}[]} */ ([]),
    /** what undo would take back, newest last */
    counted: /** @type {BurnTestEvent[]} */ ([]),
    /** events that say what another phone's event has said, by the id of that @type {Map<string, string[]>} */
    same: new Map(),
    /** what two phones say differently @type {Clash[]} */
    clashes: [],
    last: events.at(-1)?.id ?? null,
  };
  for (const event of effectiveEvents("burn_test", events)) {
    const first = take(sheet, state, event);
    if (first !== null) state.same.set(first, [...(state.same.get(first) ?? []), event.id]);
    else if (isStep("burn_test", event.type)) state.counted.push(event);
  }
  for (const [index, candle] of state.candles.entries()) {
    for (const sitting of candle.sittings) reckon(sheet, sitting);
    judge(candle);
    for (const [at, sitting] of candle.sittings.entries())
      for (const [question, answers] of sitting.answers)
        if (answers.standing.length > 1) state.clashes.push({ candle: index, sitting: at, question, answers });
  }
  return state;
}

/** @param {number} wick */
function newCandle(wick) {
  return {
    /** its place in the sheet's wicks */
    wick,
    sittings: /** @type {Sitting[]} */ ([]),
    burned_down: false,
    /** why it is out of the test */
    set_aside: /** @type {string | null} */ (null),
    // reckoned from the above, below:
    /** which sitting is to go on, or to begin */
    sitting: 0,
    step: /** @type {Step} */ ("trim"),
    /** why a sitting failed, the first that did */
    failed: /** @type {Why | null} */ (null),
  };
}

/** @returns {Sitting} */
function newSitting() {
  return {
    before_g: null,
    lit_at: null,
    marks: [],
    stopped_at: null,
    why: null,
    text: "",
    smoke_s: null,
    smoke_told: false,
    after_g: null,
    hours: null,
    answers: new Map(),
    told: new Set(),
    none: new Set(),
  };
}

// ---- what is said ----------------------------------------------------------------------------------

/** @param {TestSheet} sheet @param {Omit<TestState, "last">} state @param {BurnTestEvent} event
 * @returns {string | null} the id of an event that said the same before */
function take(sheet, state, event) {
  switch (event.type) {
    case "rated":
      state.ratings.push(event);
      return null;
    case "shuffled":
      state.blind = event.seed;
      return null;
    case "unblinded":
      state.blind = null;
      return null;
    case "closed":
      state.closed = { why: event.why ?? "", at: event.at };
      return null;
    case "noted":
      state.notes.push({ at: event.at, text: event.text });
      return null;
  }
  const candle = "candle" in event ? state.candles[event.candle] : undefined;
  if (candle === undefined) return null;
  if (event.type === "burned_down") candle.burned_down = true;
  if (event.type === "set_aside") candle.set_aside = event.why ?? "";
  if (!("burn" in event)) return null;
  while (candle.sittings.length <= event.burn) candle.sittings.push(newSitting());
  const sitting = candle.sittings[event.burn];
  if (event.type === "nothing_else") sitting.none.add(event.mark);
  if (event.type === "looked") sitting.told.add(event.mark);
  if (event.type === "smoke_not_seen") sitting.smoke_told = true;
  const question = questionOf(event);
  if (question === null) return null;
  const answers = sitting.answers.get(question) ?? /** @type {Answers<BurnTestEvent>} */ (new Answers());
  sitting.answers.set(question, answers);
  return answers.take(event, said(sheet, event));
}

/** What an event answers, within its sitting; null: nothing that can be answered once only. @param {BurnTestEvent} event */
export function questionOf(event) {
  switch (event.type) {
    case "weighed":
      return event.when;
    case "lit":
    case "stopped":
      return event.type;
    case "smoke_ended":
      return "smoke";
    case "measured":
      return `${event.mark} ${event.what}`;
    case "hottest":
      return `${event.mark} hottest`;
    case "saw":
      return `${event.mark} ${event.what === "pool_full" ? "pool" : event.what === "flame_low" ? "flame" : event.what}`;
    default:
      return null;
  }
}

/** @param {TestSheet} sheet @param {BurnTestEvent} event @returns {import("../bench/answers.js").Said} */
function said({ step_g }, event) {
  const over = "over" in event && event.over ? event.over : undefined;
  switch (event.type) {
    case "weighed":
      return { value: event.read_g, near: 2 * step_g, over };
    case "measured":
      return { value: event.mm, near: NEAR.mm, over };
    case "hottest":
      return { value: event.temp_c, near: NEAR.c, over };
    case "smoke_ended":
      return { value: event.seconds, near: NEAR.s, over };
    case "saw":
      return { value: event.what === "pool_full" || event.what === "flame_low" ? null : event.grade, near: 1, over };
    case "stopped":
      return { value: REASONS.indexOf(event.why), near: 1, over };
    default:
      return { value: null, over };
  }
}

/** @type {Why[]} */
const REASONS = ["out", "flame", "second_flame", "cracked", "soot", "went_out", "other"];

// ---- what follows ----------------------------------------------------------------------------------

/** What holds of a sitting. @param {TestSheet} sheet @param {Sitting} sitting */
function reckon({ marks_h }, sitting) {
  const { answers } = sitting;
  const held = (/** @type {string} */ question) => answers.get(question)?.standing[0]?.event;
  for (const question of ["before", "lit", "stopped", "smoke", "after"]) {
    const event = held(question);
    switch (event?.type) {
      case "weighed":
        sitting[event.when === "before" ? "before_g" : "after_g"] = event.read_g;
        break;
      case "lit":
        sitting.lit_at = event.at;
        break;
      case "stopped":
        [sitting.stopped_at, sitting.why, sitting.text] = [event.at, event.why, event.text ?? ""];
        break;
      case "smoke_ended":
        [sitting.smoke_s, sitting.smoke_told] = [event.seconds, true];
        break;
    }
  }
  const { lit_at, stopped_at } = sitting;
  if (lit_at === null) return;
  if (stopped_at !== null) sitting.hours = Math.max(0, stopped_at - lit_at) / HOUR_MS;
  sitting.marks = marks_h.map((hours, index) => {
    const given = [...answers].flatMap(([question, { standing }]) =>
      question.startsWith(`${index} `) && standing.length > 0 ? [standing[0].event] : [],
    );
    const seen = /** @type {Seen} */ ({});
    for (const event of given) note(seen, event);
    if (sitting.none.has(index)) for (const what of GRADED) seen[what] ??= 0;
    const isWhole = (seen.pool_full || seen.pool_mm !== undefined) && (seen.flame_low || seen.flame_mm !== undefined);
    const done = sitting.told.has(index) || (isWhole && GRADED.every((what) => seen[what] !== undefined));
    const at_ms = given.reduce(
      (first, { at }) => (first === null || at < first ? at : first),
      /** @type {number | null} */ (null),
    );
    return { due_ms: lit_at + hours * HOUR_MS, at_ms, seen, done: Boolean(done) };
  });
}

/** @param {Seen} seen @param {BurnTestEvent} event */
function note(seen, event) {
  if (event.type === "measured") seen[`${event.what}_mm`] = event.mm;
  else if (event.type === "hottest") seen.hottest_c = event.temp_c;
  else if (event.type === "saw") {
    if (event.what === "pool_full" || event.what === "flame_low") seen[event.what] = true;
    else seen[event.what] = event.grade;
  }
}

/** Where a candle is. @param {CandleState} candle */
function judge(candle) {
  const { sittings } = candle;
  const failures = sittings.map(({ why }) => why).filter((why) => why !== null && why !== "out" && why !== "other");
  candle.failed = failures[0] ?? null;
  const at = sittings.length - 1;
  const now = sittings[at];
  const isBegun = now !== undefined && now.after_g === null;
  candle.sitting = isBegun ? at : sittings.length;
  if (candle.set_aside !== null || candle.burned_down || failures.some((why) => DANGEROUS.includes(why)))
    candle.step = "over";
  else if (!isBegun) candle.step = "trim";
  else if (now.stopped_at !== null) candle.step = isSmokeOpen(now) ? "smoke" : "rest";
  else if (now.lit_at !== null) candle.step = "burning";
  else candle.step = now.before_g === null ? "trim" : "light";
}

/** Whether it is still to be told how long its wick smoked. @param {Sitting} sitting */
function isSmokeOpen({ why, smoke_told }) {
  return !smoke_told && why !== "went_out";
}
