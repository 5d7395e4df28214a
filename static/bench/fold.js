/**
 * A pour is a list of events; the state of the bench is a fold over them.
 *
 * The types of event stand in the catalogue, `benchapp/records/events.py`. What happened to a pour always
 * comes to something: an event of a type that this version does not know, of a jug that is not there, or
 * twice, is passed over.
 */
import { reached } from "../formulas/load.js";
import { roundTo } from "../formulas/rounding.js";
import * as weigh from "../formulas/weigh.js";
import { effectiveEvents, isStep } from "../records/events.js";
import { t } from "../words/door.js";
import { Answers, questionOf } from "./answers.js";
import { fractionsOf, sharesOf } from "./mixing.js";
import { vesselsOfJug } from "./sheet.js";

/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */
/** @typedef {import("../formulas/weigh.js").Target} Target */
/** @typedef {"wax" | "additive" | "fragrance" | "restore"} Part */
/** @typedef {"open" | "good" | "low" | "high" | "kept"} Verdict */
/** @typedef {Target & {part: Part, index: number, in_cup: boolean, read_g: number | null, verdict: Verdict, event: string | null}} Weighing */
/** @typedef {{at: number, temp_c: number, event: string}} Dip */
/** @typedef {"wax" | "melt" | "extras" | "cool" | "fragrance" | "over" | "add" | "stir" | "settle" | "pour" | "done"} Step */
/** @typedef {ReturnType<typeof newJug>} JugState */
/** @typedef {ReturnType<typeof fold>} PourState */

/** A reading this far below the one before shows that wax on the heat has begun to cool. */
const TURNED_C = 0.5;

/** @typedef {Extract<PourEvent, {type: "burned"}>} Burn */
/** @typedef {{vessel: number, read_g: number, at: number, event: string, target_g: number, skipped?: boolean, unread?: boolean}} Poured
 *   one vessel; a skipped one takes nothing, and what an unread one took nobody weighed */
/** @typedef {{question: string, answers: Answers}} Clash answers of two phones to one question that differ */

/** @param {Sheet} sheet @param {PourEvent[]} events oldest first */
export function fold(sheet, events) {
  const state = {
    ready_at: /** @type {number | null} */ (null),
    set_at: /** @type {number | null} */ (null),
    set_on: /** @type {string | null} */ (null),
    finished_at: /** @type {number | null} */ (null),
    /** it was given up, and left the bench */
    abandoned_at: /** @type {number | null} */ (null),
    finished: /** @type {Extract<PourEvent, {type: "finished"}> | null} */ (null),
    tops: /** @type {string | null} */ (null),
    notes: /** @type {{at: number, text: string}[]} */ ([]),
    /** the latest day on which each reminder was done @type {Record<string, string>} */
    seen_to: {},
    /** the day until which each was last put off @type {Record<string, string>} */
    put_off: {},
    burns: /** @type {Burn[]} */ ([]),
    jugs: sheet.jugs.map(newJug),
    /** answers to what is asked once of the whole pour @type {Map<string, Answers>} */
    answers: new Map(),
    /** what undo would take back, newest last */
    counted: /** @type {PourEvent[]} */ ([]),
    /** events that say what another phone's event has said, by the id of that @type {Map<string, string[]>} */
    same: new Map(),
    last: events.at(-1)?.id ?? null,
  };
  for (const event of effectiveEvents("pour", events)) {
    const first = take(sheet, state, event);
    if (first !== null) state.same.set(first, [...(state.same.get(first) ?? []), event.id]);
    else if (isStep("pour", event.type)) state.counted.push(event);
  }
  for (const [index, jug] of state.jugs.entries()) reckon(sheet, jug, index);
  return state;
}

/** @param {import("../formulas/weigh.js").Jug} planned */
function newJug(planned) {
  return {
    vessels: planned.vessels,
    /** answers to what is asked at this jug @type {Map<string, Answers>} */
    answers: new Map(),
    /** what was read at each weighing that counts @type {Map<string, {read_g: number, event: string}>} */
    reads: new Map(),
    /** what each reading of the scale was, by its event @type {Map<string, number>} */
    readings: new Map(),
    /** weighings that are kept as they are */
    kept: /** @type {Set<string>} */ (new Set()),
    /** when the last of its wax was weighed: from then on it can be on the heat */
    weighed_at: /** @type {number | null} */ (null),
    melted_at: /** @type {number | null} */ (null),
    /** readings since the wax was last on the heat */
    dips: /** @type {Dip[]} */ ([]),
    /** those on which it went on to the fragrance */
    cooled: /** @type {Dip[]} */ ([]),
    /** those that tell how warm the wax was when the fragrance went in: not what was read before cold wax was added */
    mixed_at: /** @type {Dip[]} */ ([]),
    /** every reading, for the log */
    all_dips: /** @type {Dip[]} */ ([]),
    warming: false,
    went_on: 0,
    went_on_at: /** @type {number | null} */ (null),
    added_at: /** @type {number | null} */ (null),
    stirred_at: /** @type {number | null} */ (null),
    /** in the order of the vessels */
    poured: /** @type {Poured[]} */ ([]),
    /** vessels that were not planned @type {{read_g: number, at: number, event: string}[]} */
    others: [],
    /** what was left after each spill, when so many vessels were poured, and what was weighed into it by then
     * @type {{left_g: number, event: string, vessels: number, weighed: Set<string>, mixed: boolean}[]} */
    spills: [],
    /** no more is counted: vessels up to this one were filled without a reading of each, and the rest are not filled
     * @type {{at: number, event: string, upTo: number} | null} */
    end: null,
    /** it is put aside, with vessels that are not filled */
    stopped: false,
    // reckoned from the above, below:
    weighings: /** @type {Weighing[]} */ ([]),
    wax_g: 0,
    fragrance_g: 0,
    extras_g: 0,
    load: 0,
    restored: /** @type {import("../formulas/weigh.js").Restored | null} */ (null),
    left_g: 0,
    vessel_targets_g: /** @type {number[]} */ ([]),
    /** the vessels that are still to be filled, from 0 */
    open: /** @type {number[]} */ ([]),
    /** what two phones say differently, the first of it first @type {Clash[]} */
    clashes: [],
    step: /** @type {Step} */ ("wax"),
    current: /** @type {Weighing | null} */ (null),
  };
}

/** @param {Sheet} sheet @param {Omit<PourState, "last">} state @param {PourEvent} event
 * @returns {string | null} the id of an event that said the same before */
function take(sheet, state, event) {
  const ofJug = "jug" in event;
  const jug = state.jugs[ofJug ? (event.jug ?? 0) : 0];
  if (jug === undefined) return null;
  const question = questionOf(event);
  if (question !== null) {
    const { answers } = ofJug ? jug : state;
    const given = answers.get(question) ?? new Answers();
    answers.set(question, given);
    const same = given.take(event, said(sheet, jug, event));
    if (event.type === "weighed" || event.type === "accepted") settle(jug, question, given.standing[0]);
    // The first answer holds until she says which is right.
    if (same !== null || given.standing[0].event !== event) return same;
  }
  switch (event.type) {
    case "ready":
      state.ready_at = event.at;
      break;
    case "weighed":
    case "accepted":
      if (event.part === "wax") jug.weighed_at = event.at;
      // Cold wax went in: what was read before says nothing of what follows.
      if (event.part === "restore" && event.type === "weighed") [jug.dips, jug.mixed_at] = [[], []];
      break;
    case "melted":
      jug.melted_at = event.at;
      // Readings on the heat say nothing of how it cools.
      jug.dips = [];
      break;
    case "read": {
      const dip = { at: event.at, temp_c: event.temp_c, event: event.id };
      const before = jug.dips[jug.dips.length - 1];
      const enough_c = (jug.went_on === 0 && sheet.load > 0 ? sheet.fragrance : sheet.pour).low_c;
      // Warm enough again, or turned: from here on it cools.
      if (jug.warming && (dip.temp_c >= enough_c || (before && dip.temp_c < before.temp_c - TURNED_C))) {
        jug.warming = false;
        jug.dips = [];
      }
      // Of two phones at one jug, the later stamp may be of the earlier dip.
      jug.dips = [...jug.dips, dip].sort((a, b) => a.at - b.at);
      jug.all_dips.push(dip);
      break;
    }
    case "warmed":
      jug.warming = true;
      jug.dips = [];
      break;
    case "went_on":
      jug.warming = false;
      if (jug.went_on === 0) [jug.cooled, jug.mixed_at] = [jug.dips, jug.dips];
      jug.went_on = Math.max(jug.went_on, event.wait ?? 0) + 1;
      jug.went_on_at = event.at;
      break;
    case "added":
      jug.added_at = event.at;
      if (jug.mixed_at.length === 0) jug.mixed_at = jug.dips;
      // Cold oil went in: what was read before says nothing of what follows.
      jug.dips = [];
      break;
    case "stirred":
      jug.stirred_at = event.at;
      break;
    case "poured":
    case "skipped": {
      const skipped = event.type === "skipped";
      const vessel = event.vessel ?? nextVessel(jug);
      const read = skipped ? { read_g: 0, skipped } : { read_g: event.read_g };
      // An older phone, which names no vessel, may have filled this one.
      if (jug.poured.some((each) => each.vessel === vessel)) break;
      // Beyond the jug's vessels nothing was wanted.
      jug.poured.push({ vessel, at: event.at, event: event.id, target_g: 0, ...read });
      break;
    }
    case "emptied":
    case "stopped": {
      const upTo = event.type === "emptied" ? jug.vessels : (event.vessel ?? nextVessel(jug)) + (event.filled ?? 0);
      jug.end = { at: event.at, event: event.id, upTo };
      jug.stopped = event.type === "stopped";
      break;
    }
    case "spilled":
      jug.spills.push({
        left_g: event.read_g,
        event: event.id,
        vessels: jug.poured.length,
        weighed: new Set(jug.reads.keys()),
        mixed: jug.added_at !== null,
      });
      break;
    case "filled_other":
      jug.others.push({ read_g: event.read_g, at: event.at, event: event.id });
      break;
    case "abandoned":
      state.abandoned_at = event.at;
      break;
    case "set":
      state.set_at = event.at;
      state.set_on = event.on;
      break;
    case "finished":
      state.finished_at = event.at;
      state.finished = event;
      state.tops = event.tops ?? null;
      break;
    case "noted":
      state.notes.push({ at: event.at, text: event.text });
      break;
    case "seen_to":
      if (!(state.seen_to[event.reminder] > event.on)) state.seen_to[event.reminder] = event.on;
      break;
    case "put_off":
      state.put_off[event.reminder] = event.until;
      break;
    case "burned":
      state.burns.push(event);
      break;
  }
  return null;
}

/** What an event says to what it answers, and what that stands for.
 * @param {Sheet} sheet @param {JugState} jug @param {PourEvent} event @returns {import("./answers.js").Said} */
function said(sheet, jug, event) {
  switch (event.type) {
    case "weighed":
    case "accepted": {
      const near = event.part === "wax" || event.part === "restore" ? sheet.step_g : sheet.fine_step_g;
      const over = event.over ?? null;
      if (event.type === "weighed") {
        jug.readings.set(event.id, event.read_g);
        return { value: event.read_g, near, over };
      }
      const seen_g = over === null ? jug.reads.get(`${event.part}:${event.index}`)?.read_g : jug.readings.get(over);
      return { value: seen_g ?? null, near, over, kept: true };
    }
    case "poured":
    case "filled_other":
    case "spilled":
      return { value: event.read_g, near: sheet.step_g };
    case "emptied":
      return { value: jug.vessels };
    case "stopped":
      return { value: event.filled ? (event.vessel ?? 0) + event.filled : null };
    default:
      return { value: null };
  }
}

/** What counts of a weighing, by its first answer. @param {JugState} jug @param {string} key
 * @param {import("./answers.js").Answer} answer */
function settle(jug, key, { event, value, kept }) {
  if (kept) jug.kept.add(key);
  else jug.kept.delete(key);
  if (value === null) jug.reads.delete(key);
  else if (event.type === "weighed") jug.reads.set(key, { read_g: value, event: event.id });
  else {
    // What is kept is the reading that was seen.
    const seen = ("over" in event && event.over) || (jug.reads.get(key)?.event ?? "");
    jug.reads.set(key, { read_g: value, event: seen });
  }
}

/** The first vessel that nothing is known of. @param {JugState} jug */
function nextVessel({ poured }) {
  const known = new Set(poured.map(({ vessel }) => vessel));
  let vessel = 0;
  while (known.has(vessel)) vessel += 1;
  return vessel;
}

/** All that follows from what was read in one jug. @param {Sheet} sheet @param {JugState} jug @param {number} index */
function reckon(sheet, jug, index) {
  const planned = sheet.jugs[index];
  const vessels = vesselsOfJug(sheet, index);
  const empty_g = sheet.jug.empty_g;
  const waxes = weighings(jug, "wax", waxTargets(sheet, planned, jug), empty_g, sheet.step_g);
  const weighed_g = totalOf(waxes);
  const left = leftOfSpills(jug, weighed_g, sheet.extras.length);
  const wax_g = weighed_g * left.wax;
  const extras = weighings(
    jug,
    "additive",
    additiveTargets(sheet, jug, weighed_g, wax_g),
    empty_g + wax_g,
    sheet.fine_step_g,
  );
  let extras_g = 0;
  for (const [at, { read_g }] of extras.entries()) extras_g += (read_g ?? 0) * left.extras[at];
  const oils = weighings(
    jug,
    "fragrance",
    weigh.fragranceTargets(wax_g, sheet.load, sharesOf(sheet.oils), sheet.fine_step_g, 0),
    empty_g + wax_g + extras_g,
    sheet.fine_step_g,
  );
  const fragrance_g = totalOf(oils);
  jug.weighings = [...waxes, ...extras, ...oils];
  for (const each of [...extras, ...oils]) each.in_cup = each.reads_g > (sheet.fine.capacity_g ?? Infinity);
  jug.extras_g = extras_g;
  jug.fragrance_g = fragrance_g;
  jug.wax_g = wax_g + (jug.reads.get("restore:0")?.read_g ?? 0);
  jug.load = jug.wax_g > 0 ? reached(jug.wax_g, fragrance_g) : 0;
  const over =
    oils.length > 0 &&
    oils.every(({ read_g }) => read_g !== null) &&
    // Also where it was weighed ahead, seen to be too much, and kept.
    oils.some((oil) => verdictOf(oil, oil.read_g, false) === "high");
  jug.restored = over
    ? weigh.restore(wax_g, fragrance_g, sheet.load, sheet.step_g, {
        fills_g: vessels.map(({ each_g }) => each_g),
        most_g: vessels.map(({ most_g }) => most_g),
        additives_g: extras_g,
        allowance_g: sheet.allowance_g,
        jug_volume_ml: sheet.jug.volume_ml,
        molten_density: sheet.molten_density,
        fragrance_density: sheet.fragrance_density,
      })
    : null;
  if (jug.restored && jug.restored.wax_to_add_g > 0) jug.weighings.push(restoring(sheet, jug, jug.restored));
  fills(sheet, jug, vessels);
  jug.step = stepOf(sheet, jug);
  const parts = { wax: "wax", extras: "additive", fragrance: "fragrance", over: "restore" };
  const part = parts[/** @type {keyof typeof parts} */ (jug.step)];
  jug.current = jug.weighings.find((each) => each.part === part && !isSettled(each)) ?? null;
  jug.clashes = [...jug.answers].flatMap(([question, answers]) =>
    answers.standing.length > 1 ? [{ question, answers }] : [],
  );
}

/**
 * The wax targets; once one of several waxes is in, the next follow it, so that the blend is kept.
 * @param {Sheet} sheet @param {import("../formulas/weigh.js").Jug} planned @param {JugState} jug
 * @returns {Target[]}
 */
function waxTargets(sheet, planned, jug) {
  const first = jug.reads.get("wax:0");
  if (first === undefined || planned.waxes.length === 1 || first.read_g === planned.waxes[0].target_g)
    return planned.waxes;
  // Off the mark it may still be topped up or taken out: nothing follows it until it is kept.
  const verdict = verdictOf(planned.waxes[0], first.read_g, jug.kept.has("wax:0"));
  if (verdict === "low" || verdict === "high") return planned.waxes;
  const shares = sheet.waxes.reduce((sum, { share }) => sum + share, 0);
  const whole_g = (first.read_g * shares) / sheet.waxes[0].share;
  return whole_g > 0 ? weigh.waxTargets(whole_g, sheet.load, sharesOf(sheet.waxes), sheet.step_g, 0) : planned.waxes;
}

/**
 * Targets with what was read, and what an unzeroed scale would show.
 * @param {JugState} jug @param {Part} part @param {Target[]} targets @param {number} before_g
 * @param {number} step_g @returns {Weighing[]}
 */
function weighings(jug, part, targets, before_g, step_g) {
  let reads_g = before_g;
  return targets.map((target, index) => {
    const key = `${part}:${index}`;
    const read = jug.reads.get(key) ?? null;
    const expected_g = roundTo(reads_g + target.target_g, step_g);
    reads_g += read?.read_g ?? target.target_g;
    return {
      ...target,
      reads_g: expected_g,
      part,
      index,
      // Too heavy for the fine scale with the jug on it: weighed in a cup of its own.
      in_cup: false,
      read_g: read?.read_g ?? null,
      event: read?.event ?? null,
      verdict: verdictOf(target, read?.read_g ?? null, jug.kept.has(key)),
    };
  });
}

/** @param {Sheet} sheet @param {JugState} jug @param {import("../formulas/weigh.js").Restored} restored @returns {Weighing} */
function restoring(sheet, jug, restored) {
  const read = jug.reads.get("restore:0") ?? null;
  const target_g = restored.wax_to_add_g;
  const [low_g, high_g] = weigh.waxBand(target_g, sheet.load, sheet.step_g);
  return {
    name: sheet.waxes.length === 1 ? sheet.waxes[0].name : t("the wax blend"),
    target_g,
    low_g,
    high_g,
    reads_g: roundTo(
      sheet.jug.empty_g + jug.wax_g - (read?.read_g ?? 0) + jug.extras_g + jug.fragrance_g + target_g,
      sheet.step_g,
    ),
    part: "restore",
    index: 0,
    in_cup: false,
    read_g: read?.read_g ?? null,
    event: read?.event ?? null,
    verdict: verdictOf({ low_g, high_g }, read?.read_g ?? null, jug.kept.has("restore:0")),
  };
}

/** @param {{low_g: number, high_g: number}} band @param {number | null} read_g @param {boolean} kept @returns {Verdict} */
function verdictOf(band, read_g, kept) {
  if (kept) return "kept";
  if (read_g === null) return "open";
  if (read_g < band.low_g - 1e-6) return "low";
  return read_g > band.high_g + 1e-6 ? "high" : "good";
}

/** Nothing more to do at this weighing. An oil over its mark can't be taken out again: it is
 * dealt with by adding wax, once all oils are in. @param {Weighing} weighing */
function isSettled({ part, verdict }) {
  return verdict === "good" || verdict === "kept" || (part === "fragrance" && verdict === "high");
}

/**
 * The part of its wax, and of each additive, that is still in a jug after what was spilled before the fragrance went in.
 * @param {JugState} jug @param {number} wax_g @param {number} extras how many
 */
function leftOfSpills(jug, wax_g, extras) {
  const left = { wax: 1, extras: /** @type {number[]} */ (new Array(extras).fill(1)) };
  for (const { left_g, weighed, mixed } of jug.spills) {
    if (mixed) continue;
    const inJug = left.extras.map((_, at) => weighed.has(`additive:${at}`));
    let held_g = wax_g * left.wax;
    for (const [at, isIn] of inJug.entries())
      if (isIn) held_g += (jug.reads.get(`additive:${at}`)?.read_g ?? 0) * left.extras[at];
    const part = held_g > 0 ? Math.min(1, left_g / held_g) : 1;
    left.wax *= part;
    left.extras = left.extras.map((each, at) => (inJug[at] ? each * part : each));
  }
  return left;
}

/** The additives' targets: for the wax in the jug; those in it before a spill, for the wax that there was then.
 * @param {Sheet} sheet @param {JugState} jug @param {number} weighed_g @param {number} wax_g */
function additiveTargets(sheet, jug, weighed_g, wax_g) {
  const targets = (/** @type {number} */ grams) =>
    weigh.additiveTargets(grams, fractionsOf(sheet.extras), sheet.fine_step_g, 0);
  if (jug.spills.length === 0) return targets(wax_g);
  const before = targets(weighed_g);
  const isBefore = (/** @type {number} */ at) => jug.spills.some(({ weighed }) => weighed.has(`additive:${at}`));
  return targets(wax_g).map((target, at) => (isBefore(at) ? before[at] : target));
}

/** What each vessel takes and what is left, from what the jug really holds.
 * @param {Sheet} sheet @param {JugState} jug @param {Sheet["sizes"]} vessels each by its size */
function fills(sheet, jug, vessels) {
  // After wax was added the surplus goes into the vessels, if they hold it.
  const growth = jug.restored?.vessels_hold && jug.reads.has("restore:0") ? jug.restored.growth : 1;
  const wanted = vessels.map(({ each_g }) => each_g * growth);
  jug.poured.sort((a, b) => a.vessel - b.vessel);
  const known = new Map(jug.poured.map((each) => [each.vessel, each]));
  const last = jug.poured[jug.poured.length - 1]?.vessel ?? -1;
  let left_g = jug.wax_g + jug.extras_g + jug.fragrance_g;
  jug.vessel_targets_g = [];
  jug.open = [];
  for (let vessel = 0; vessel < jug.vessels; vessel += 1) {
    left_g = afterSpill(jug, vessel, left_g);
    let poured = known.get(vessel);
    // Filled out of their turn, those after it have taken theirs.
    const outOfTurn = !poured && vessel < last;
    const there_g = outOfTurn ? left_g - takenAfter(jug, vessel) : left_g;
    const wants = outOfTurn ? wanted.filter((_, at) => at >= vessel && !known.has(at)) : wanted.slice(vessel);
    const next = there_g > 0 ? weigh.vesselTargets(there_g, wants, sheet.allowance_g, sheet.step_g)[0] : 0;
    jug.vessel_targets_g.push(next);
    if (!poured && jug.end) {
      const { at, event, upTo } = jug.end;
      poured = {
        vessel,
        at,
        event,
        target_g: 0,
        read_g: 0,
        ...(vessel < upTo ? { read_g: next, unread: true } : { skipped: true }),
      };
      jug.poured.push(poured);
    }
    if (!poured) {
      if (jug.open.length === 0) jug.left_g = Math.max(0, there_g);
      jug.open.push(vessel);
    } else if (!poured.skipped) poured.target_g = next;
    left_g -= poured ? poured.read_g : next;
  }
  jug.poured.sort((a, b) => a.vessel - b.vessel);
  if (jug.open.length > 0) return;
  left_g = afterSpill(jug, jug.vessels, left_g) - takenAfter(jug, jug.vessels - 1);
  for (const { read_g } of jug.others) left_g -= read_g;
  jug.left_g = Math.max(0, left_g);
}

/** What vessels after this one took, g. @param {JugState} jug @param {number} vessel */
function takenAfter({ poured }, vessel) {
  let taken_g = 0;
  for (const each of poured) if (each.vessel > vessel) taken_g += each.read_g;
  return taken_g;
}

/** What is left of the mix where some was spilled before this vessel. @param {JugState} jug @param {number} vessel
 * @param {number} left_g */
function afterSpill({ spills }, vessel, left_g) {
  const spill = spills.findLast(({ mixed, vessels }) => mixed && vessels === vessel);
  return spill ? Math.min(left_g, spill.left_g) : left_g;
}

/** How many vessels of a pour were to be filled, and how many were, planned ones and others. @param {PourState} state */
export function filledOf({ jugs }) {
  const filled = jugs.map(({ poured }) => poured.filter(({ skipped }) => !skipped).length);
  const sum = (/** @type {number[]} */ numbers) => numbers.reduce((total, each) => total + each, 0);
  return {
    planned: sum(jugs.map(({ vessels }) => vessels)),
    filled: sum(filled),
    others: sum(jugs.map(({ others }) => others.length)),
  };
}

/** @param {Sheet} sheet @param {JugState} jug @returns {Step} */
function stepOf(sheet, jug) {
  if (jug.stopped) return "done";
  const open = (/** @type {Part} */ part) => jug.weighings.some((each) => each.part === part && !isSettled(each));
  if (open("wax")) return "wax";
  if (jug.melted_at === null) return "melt";
  if (open("additive")) return "extras";
  if (jug.went_on < 1) return "cool";
  if (open("fragrance")) return "fragrance";
  if (open("restore")) return "over";
  if (sheet.load > 0 && jug.added_at === null) return "add";
  if (sheet.load > 0 && jug.stirred_at === null) return "stir";
  if (coolsAgain(sheet) && jug.went_on < 2) return "settle";
  return jug.open.length > 0 ? "pour" : "done";
}

/** Whether the wax must cool further between fragrance and pour. @param {Sheet} sheet */
export function coolsAgain(sheet) {
  return sheet.load > 0 && sheet.pour.high_c < sheet.fragrance.low_c;
}

/** The temperature that a jug waits for: for the fragrance, then for the pour. @param {Sheet} sheet @param {JugState} jug */
export function windowOf(sheet, jug) {
  return jug.step === "cool" && sheet.load > 0 ? sheet.fragrance : sheet.pour;
}

/** Where the whole pour stands. @param {PourState} state */
export function stageOf(state) {
  if (state.abandoned_at !== null) return "abandoned";
  if (state.finished_at !== null) return "curing";
  if (state.set_at !== null) return "setting";
  if (state.ready_at === null) return "ready";
  return state.jugs.every(({ step }) => step === "done") ? "set" : "jugs";
}

/** @param {{read_g: number | null}[]} weighed */
function totalOf(weighed) {
  let total = 0;
  for (const { read_g } of weighed) total += read_g ?? 0;
  return total;
}
