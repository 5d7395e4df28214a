/** What is said aloud at the bench, and when. Pure: state and `now` in, words out. */
import { roundTo } from "../formulas/rounding.js";
import { message, plural, t, worded } from "../words/door.js";
import { decimalSign } from "../words/numbers.js";
import { askedOf } from "./clash_prompt.js";
import { alarmOf, mixNow, riseOf, tooHot, waitOf } from "./countdown.js";
import { filledOf, stageOf, windowOf } from "./fold.js";
import { clashingJug, promptFor, runsOf } from "./prompt.js";
import { vesselsOfJug } from "./sheet.js";
import { nextFragrance } from "./temperature_prompt.js";

/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("./fold.js").PourState} PourState */
/** @typedef {import("./fold.js").JugState} JugState */
/** @typedef {import("./fold.js").Weighing} Weighing */
/** @typedef {import("./display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../words/door.js").Message} Message */
/**
 * @typedef {object} TimedCue a moment at which something is said
 * @property {string} series marks of one countdown: of two with the same, the one with less left is later
 * @property {number} left_s what is left at it
 * @property {string} key
 * @property {number} at_ms
 * @property {string} words
 * @property {Message | null} missed how it is said once it is past, with a place for how long; null, if it no longer
 *   matters
 * @property {string} then what to do about it
 * @property {"soon" | "now" | "late"} sound
 */

// ---- words ---------------------------------------------------------------------------------------

const COUNTED = [
  message("no"),
  message("one"),
  message("two"),
  message("three"),
  message("four"),
  message("five"),
  message("six"),
  message("seven"),
  message("eight"),
  message("nine"),
  message("ten"),
];

/** A small whole number in words, a larger one in digits. @param {number} n */
function counted(n) {
  return n in COUNTED ? worded(COUNTED[n]) : String(n);
}

/** So many of a unit; '1.0' is said as a fraction is. @param {string} number @param {string} unit */
function unitWords(number, unit) {
  const value = Number(number.replace(decimalSign(), "."));
  const n = value === 1 && number !== "1" ? 1.1 : value;
  switch (unit) {
    case "g":
      return plural(n, "{n} gram", "{n} grams", { n: number });
    case "lb":
      return plural(n, "{n} pound", "{n} pounds", { n: number });
    case "oz":
      return plural(n, "{n} ounce", "{n} ounces", { n: number });
    default:
      return plural(n, "{n} degree", "{n} degrees", { n: number });
  }
}

/** A quantity as it is written on the board, to be read out: '1 186 g' is '1186 grams'. @param {string} text */
export function spoken(text) {
  return text
    .replaceAll("\u202f", "")
    .replace(/(-?[\d.,]+)\s*(°C|°F|lb|oz|g)(?![a-z])/g, (_, number, unit) => unitWords(number, unit))
    .replace(/\s/g, " ");
}

/** A length of time: '6 minutes 40', 'two minutes', '30 seconds'. @param {number} seconds */
export function timeWords(seconds) {
  const near_s = roundTo(Math.max(seconds, 5), seconds < 60 ? 5 : seconds < 3595 ? 10 : 60);
  if (near_s < 60) return plural(near_s, "{n} second", "{n} seconds");
  const [hours, whole, rest_s] = [Math.floor(near_s / 3600), Math.floor((near_s % 3600) / 60), near_s % 60];
  if (rest_s > 0) return plural(whole, "{n} minute {seconds}", "{n} minutes {seconds}", { seconds: rest_s });
  if (hours === 0) return plural(whole, "{n} minute", "{n} minutes", { n: counted(whole) });
  if (whole === 0) return plural(hours, "{n} hour", "{n} hours");
  const minutes = plural(whole, "{n} minute", "{n} minutes");
  return plural(hours, "{n} hour {minutes}", "{n} hours {minutes}", { minutes });
}

/** Sentences that follow each other; an empty one is none. @param {...string} said */
function sentences(...said) {
  return said.filter(Boolean).join(" ");
}

/** What tells a jug from the others on the bench: the pour's title and which of that title, and which jug of
 * it; each is empty where it needs no telling. The board shows the same as is said.
 * @param {{id: string, sheet: {title: string, jugs?: unknown[]}}[]} items on the bench, in the order in which they began
 * @param {string} id the jug's pour @param {number | null} jugIndex null: the whole pour
 * @param {(number: number) => string} count how a number is written */
export function apartFrom(items, id, jugIndex, count = String) {
  const mine = items.find((item) => item.id === id);
  if (mine === undefined) return { title: "", number: "", jug: "" };
  const { title, jugs = [] } = mine.sheet;
  const alike = items.filter(({ sheet }) => sheet.title.toLowerCase() === title.toLowerCase());
  return {
    title: items.length > 1 ? title : "",
    number: alike.length > 1 ? count(alike.indexOf(mine) + 1) : "",
    jug: jugIndex !== null && jugs.length > 1 ? t("jug {number}", { number: count(jugIndex + 1) }) : "",
  };
}

/** The name of a jug as it is said; empty where it is alone on the bench.
 * @param {Parameters<typeof apartFrom>[0]} items @param {string} id @param {number | null} jugIndex */
export function nameOf(items, id, jugIndex) {
  const { title, number, jug } = apartFrom(items, id, jugIndex, counted);
  const pour = number === "" ? title : t("{title} {number}", { title, number });
  return capital(pour && jug ? t("{pour}, {jug}", { pour, jug }) : pour || jug);
}

/** @param {string} name @param {string} words */
export function named(name, words) {
  return name === "" ? words : t("{name}: {words}", { name, words });
}

/** At the head of a sentence or a line. @param {string} text */
export function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

// ---- a step begins ---------------------------------------------------------------------------------

/**
 * What is said when a step, or how it stands, begins. `key` changes when it is to be said anew: by what
 * was done, never by the passing of time.
 * @param {Sheet} sheet @param {PourState} state @param {number} jugIndex @param {number} now_ms @param {DisplayUnits} units
 * @param {{ahead?: boolean, whole?: boolean}} [way] as in `promptFor`
 * @returns {{key: string, words: string}}
 */
export function stepCue(sheet, state, jugIndex, now_ms, units, way = {}) {
  const stage = stageOf(state);
  if (stage === "ready") {
    return {
      key: "ready",
      words: t("Make ready: vessels clean, wicks centred, a lid and a fire blanket within reach."),
    };
  }
  const clashing = clashingJug(state, jugIndex);
  if (clashing !== null) {
    const [clash] = clashing.clashes;
    const events = clash.answers.standing.map(({ event }) => event.id);
    return { key: ["clash", ...events].join(" "), words: sentences(t("Two phones differ."), askedOf(clash, clashing)) };
  }
  if (stage === "set") {
    const { filled, planned, others } = filledOf(state);
    if (filled + others === 0) return { key: "none", words: t("Nothing is poured. Heat off.") };
    const all = t("All poured. Heat off. Leave them to set.");
    const some = t("{filled} of {planned} poured. Heat off. Leave them to set.", { filled, planned });
    return { key: "set", words: filled < planned ? some : all };
  }
  const jug = state.jugs[jugIndex];
  const dip = jug.dips[jug.dips.length - 1];
  const ahead = (way.ahead && jug.step === "cool" && nextFragrance(jug)) || null;
  const weighed = ahead ?? jug.current;
  const call = (/** @type {string} */ words, /** @type {unknown[]} */ ...marks) => ({
    key: [jugIndex, jug.step, ...marks].join(" "),
    words,
  });
  if (weighed) {
    const words = weighing(sheet, weighed, jug, units);
    return call(words, weighed.part, weighed.index, weighed.event, words);
  }
  // An instrument that is left in dips twice a minute: it is heard of where it changes how things stand.
  const byHand = jug.dips.findLast(({ event }) => !readsItself(state, event));
  const read = `${byHand?.event} ${byHand?.temp_c} ${dip && waitOf(sheet, jug, dip.at).phase}`;
  switch (jug.step) {
    case "melt":
      return call(melt(sheet, jug, now_ms, units), read);
    case "cool":
    case "settle":
      return call(cool(sheet, state, jugIndex, now_ms, units), jug.warming, read);
    case "add": {
      const amount = spoken(units.text(jug.fragrance_g, "mass", sheet.fine_step_g));
      return call(t("Fragrance in, slowly, stirring: {amount}. No flame near.", { amount }), amount);
    }
    case "stir": {
      const left_s = /** @type {number} */ (jug.added_at) / 1000 + sheet.stir_s - now_ms / 1000;
      return call(
        left_s > 0 ? t("Stir for {time}.", { time: timeWords(left_s) }) : t("Stirred long enough."),
        jug.added_at,
      );
    }
    case "pour": {
      const words = vessels(sheet, jug, jugIndex, units, way.whole ?? false);
      const event = jug.poured[jug.poured.length - 1]?.event;
      return call(sentences(words, warmth(sheet, jug, now_ms)), jug.open[0], event, words, read);
    }
    default:
      return call(jug.stopped ? t("Go on with the other jug.") : t("Jug empty. Go on with the other one."));
  }
}

/** Whether an instrument kept this reading by itself. @param {PourState} state @param {string} event */
function readsItself({ counted }, event) {
  return counted.some((each) => each.id === event && "source" in each && each.source);
}

/** @param {Sheet} sheet @param {Weighing} weighed @param {JugState} jug @param {DisplayUnits} units */
function weighing(sheet, { part, index, name, in_cup, target_g, read_g, verdict }, jug, units) {
  const step_g = part === "wax" || part === "restore" ? sheet.step_g : sheet.fine_step_g;
  const text = (/** @type {number} */ grams) => spoken(units.text(grams, "mass", step_g));
  if (read_g !== null && verdict === "low") return t("{amount} more.", { amount: text(target_g - read_g) });
  if (read_g !== null && verdict === "high")
    return t("{amount} over. Take some out, or keep it.", { amount: text(read_g - target_g) });
  const amount = text(target_g);
  if (part === "restore") return t("Too much fragrance. Zero, then add wax: {amount}.", { amount });
  const several = jug.weighings.filter((each) => each.part === part).length > 1;
  const material = several || part === "additive" ? capital(name) : part === "wax" ? t("Wax") : t("Fragrance");
  const safe = part === "fragrance" && index === 0 ? t("No flame near.") : "";
  if (in_cup) return sentences(t("{material}, in a cup: {amount}.", { material, amount }), safe);
  const zero = index === 0 && part === "wax" ? t("Jug on, zero the scale.") : t("Zero.");
  return sentences(zero, t("{material}, {amount}.", { material, amount }), safe);
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} now_ms @param {DisplayUnits} units */
function melt(sheet, jug, now_ms, units) {
  const last = jug.dips[jug.dips.length - 1];
  const highest = degrees(units, sheet.highest_c);
  if (last === undefined) return t("Melt. Never hotter than {highest}. Never leave it.", { highest });
  const at_ms = riseOf(sheet, jug, sheet.highest_c)?.at_ms ?? null;
  if (tooHot(sheet, jug) || (at_ms !== null && at_ms <= now_ms)) return t("Too hot. Heat off.");
  return at_ms === null
    ? neverHotter(highest)
    : t("{highest} in {time}: never hotter.", { highest, time: timeWords((at_ms - now_ms) / 1000) });
}

/** @param {string} highest */
function neverHotter(highest) {
  return t("Never hotter than {highest}.", { highest });
}

/** @param {string} temperature @param {number} seconds */
function reachedIn(temperature, seconds) {
  return t("{temperature} in {time}.", { temperature, time: timeWords(seconds) });
}

/** @param {Sheet} sheet @param {PourState} state @param {number} jugIndex @param {number} now_ms @param {DisplayUnits} units */
function cool(sheet, state, jugIndex, now_ms, units) {
  const jug = state.jugs[jugIndex];
  const wait = waitOf(sheet, jug, now_ms);
  const temperature = degrees(units, wait.window.target_c);
  const inTime = (/** @type {number} */ at_ms) =>
    at_ms > now_ms
      ? reachedIn(temperature, (at_ms - now_ms) / 1000)
      : t("{temperature} now. Dip to be sure.", { temperature });
  if (tooHot(sheet, jug)) return t("Too hot. Heat off.");
  const off = wait.odd_c === null ? "" : t("That dip was not as expected: stir and dip again.");
  switch (wait.phase) {
    case "unread":
      return jug.warming
        ? t("Low heat, stirring, back to {temperature}.", { temperature })
        : t("Off the heat. Stir. Dip the thermometer.");
    case "warming": {
      const at_ms = riseOf(sheet, jug, wait.window.target_c)?.at_ms ?? null;
      return at_ms === null ? t("On the heat. Dip again as it rises.") : inTime(at_ms);
    }
    case "cold": {
      const { number } = promptFor(sheet, state, jugIndex, now_ms, units);
      const by = unitWords(number.replace(/[.,]0+$/, ""), "°C");
      return sentences(t("Too cool: warm it back by {degrees}.", { degrees: by }), off);
    }
    case "open": {
      const forFragrance = jug.step === "cool" && sheet.load > 0;
      return sentences(forFragrance ? t("In the window. Fragrance now.") : t("In the window. Pour now."), off);
    }
    case "hot":
      return sentences(inTime(/** @type {number} */ (wait.at_ms)), off);
    default:
      return t("No forecast yet. Dip again.");
  }
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {DisplayUnits} units @param {boolean} whole */
function vessels(sheet, jug, jugIndex, units, whole) {
  const [vessel] = jug.open;
  const all = vesselsOfJug(sheet, jugIndex);
  const isNew = sheet.sizes.length > 1 && all[vessel].name !== all[vessel - 1]?.name;
  const amount = spoken(units.text(jug.vessel_targets_g[vessel], "mass", sheet.step_g));
  const remaining = jug.open.length;
  if (whole && sheet.sizes.length > 1) {
    const runs = runsOf(sheet, jug, jugIndex).map(({ target_g, ...run }) =>
      t("{count} of {vessel}, {amount} each.", { ...run, amount: spoken(units.text(target_g, "mass", sheet.step_g)) }),
    );
    return sentences(t("Pour them all."), ...runs);
  }
  if (whole) return plural(remaining, "Pour {n} vessel, {amount}.", "Pour {n} vessels, {amount} each.", { amount });
  return sentences(
    isNew ? t("Put {vessel} on, zero.", { vessel: all[vessel].name }) : vessel === 0 ? t("Vessel on, zero.") : "",
    t("Vessel {number} of {vessels}: {amount}.", { number: vessel + 1, vessels: jug.vessels, amount }),
  );
}

/** Whether the mix has become too cool to pour. @param {Sheet} sheet @param {JugState} jug @param {number} now_ms */
function warmth(sheet, jug, now_ms) {
  const mix = mixNow(sheet, jug, now_ms);
  return mix !== null && mix.temp_c < sheet.pour.low_c ? t("Too cool to pour: warm it back.") : "";
}

/** @param {DisplayUnits} units @param {number} celsius */
function degrees(units, celsius) {
  return spoken(units.text(celsius, "temperature", 1));
}

// ---- moments on the way ------------------------------------------------------------------------------

/** Where it is told how long is left (s). */
const LEFT_S = [300, 120, 60, 30];

/** Another dip is not asked for so shortly before the countdown ends. */
const NEAR_MS = 30_000;

/**
 * What is to be said of a jug's clocks from its last reading on, in the order of time. A mark that lies
 * before the countdown began, or that a new dip has jumped over, is not among them.
 * @param {{id: string, sheet: Sheet, state: PourState}} pour @param {number} jugIndex @param {number} now_ms
 * @param {DisplayUnits} units
 * @returns {TimedCue[]}
 */
export function timedCues({ id, sheet, state }, jugIndex, now_ms, units) {
  if (stageOf(state) !== "jugs") return [];
  const jug = state.jugs[jugIndex];
  const dip = jug.dips[jug.dips.length - 1];
  const alarm = alarmOf(sheet, jug, now_ms);
  /** @type {TimedCue[]} */
  const marks = [];
  /** @param {string} series @param {number} ends_ms @param {number} left_s @param {TimedCue["sound"]} sound
   * @param {string} words @param {Message | null} [missed] @param {string} [then] */
  const mark = (series, ends_ms, left_s, sound, words, missed = null, then = "") => {
    const whose = `${id} ${jugIndex} ${series}`;
    marks.push({
      series: whose,
      left_s,
      key: `${whose} ${left_s}`,
      at_ms: ends_ms - left_s * 1000,
      words,
      missed,
      then,
      sound,
    });
  };
  if (jug.step === "stir" && alarm) {
    for (const left_s of [60, 30])
      mark(alarm.key, alarm.at_ms, left_s, "soon", capital(t("{time} left to stir.", { time: timeWords(left_s) })));
    const missed = message("Stirred long enough, {time} ago.");
    mark(alarm.key, alarm.at_ms, 0, "now", t("Stirred long enough."), missed);
    return after(marks, /** @type {number} */ (jug.added_at));
  }
  if (dip === undefined) return [];
  const temperature = degrees(units, windowOf(sheet, jug).target_c);
  const passed = message("{temperature}, {time} ago.", { temperature });
  const tooHot = (/** @type {number | null | undefined} */ at_ms) => {
    if (typeof at_ms !== "number") return;
    const highest = degrees(units, sheet.highest_c);
    mark(
      `hot ${dip.event}`,
      at_ms,
      60,
      "now",
      t("{highest} in one minute. Heat down.", { highest }),
      message("Heat down was due, {time} ago."),
      neverHotter(highest),
    );
    mark(
      `hot ${dip.event}`,
      at_ms,
      0,
      "late",
      t("Too hot. Heat off."),
      message("Too hot, {time} ago."),
      t("Heat off."),
    );
  };
  if (jug.step === "melt") tooHot(riseOf(sheet, jug, sheet.highest_c)?.at_ms);
  if (jug.step === "cool" || jug.step === "settle") {
    const begun = jug.dips[0].event;
    if (jug.warming) {
      if (alarm)
        mark(
          alarm.key,
          alarm.at_ms,
          0,
          "now",
          t("{temperature} now. Off the heat, and dip.", { temperature }),
          passed,
          t("Off the heat, and dip."),
        );
      tooHot(riseOf(sheet, jug, sheet.highest_c)?.at_ms);
    } else {
      const { dip_ms, closes_ms } = waitOf(sheet, jug, now_ms);
      const sure = readsItself(state, dip.event) ? "" : t("Dip to be sure.");
      if (alarm) {
        for (const left_s of LEFT_S) mark(`left ${begun}`, alarm.at_ms, left_s, "soon", reachedIn(temperature, left_s));
        const now = sentences(t("{temperature} now.", { temperature }), sure);
        mark(alarm.key, alarm.at_ms, 0, "now", now, passed, sure);
        if (sure && dip_ms !== null && dip_ms < alarm.at_ms - NEAR_MS)
          mark(`dip ${dip.event}`, dip_ms, 0, "soon", t("Dip again now."));
      }
      if (closes_ms !== null) {
        const from_ms = alarm?.at_ms ?? dip.at;
        for (const left_s of LEFT_S.slice(1).filter((s) => closes_ms - s * 1000 > from_ms)) {
          const words = t("Too cool in {time}.", { time: timeWords(left_s) });
          mark(`closes ${begun}`, closes_ms, left_s, "soon", words);
        }
        mark(
          `cold ${dip.event}`,
          closes_ms,
          0,
          "late",
          t("Too cool now. Warm it back."),
          message("Too cool, {time} ago."),
          t("Warm it back."),
        );
      }
    }
  }
  return after(marks, dip.at);
}

/** @param {TimedCue[]} marks @param {number} begun_ms */
function after(marks, begun_ms) {
  return marks.filter(({ at_ms }) => at_ms > begun_ms).sort((a, b) => a.at_ms - b.at_ms);
}

/** A mark said later than this is said as late. */
const LATE_MS = 2000;

/**
 * Of a jug's marks, those that are due `ahead_ms` from now and not yet said. After a sleep only the last
 * that still matters is among them, and it says how late it is. What is said or passed over is noted in
 * `said`: for each series the least that was left, so that nothing is said twice or out of order.
 * @param {TimedCue[]} marks @param {Map<string, number>} said @param {number} now_ms @param {number} [ahead_ms]
 * @returns {TimedCue[]}
 */
export function due(marks, said, now_ms, ahead_ms = 0) {
  const fresh = marks.filter(
    ({ at_ms, series, left_s }) => at_ms <= now_ms + ahead_ms && left_s < (said.get(series) ?? Infinity),
  );
  for (const { series, left_s } of fresh) said.set(series, Math.min(left_s, said.get(series) ?? Infinity));
  const late = fresh.filter(({ at_ms, missed }) => missed !== null && at_ms < now_ms - LATE_MS).slice(-1);
  const inTime = fresh.filter(
    ({ at_ms, sound }) => at_ms >= now_ms - LATE_MS && (late.length === 0 || sound !== "soon"),
  );
  return [
    ...late.map((mark) => {
      const missed = /** @type {Message} */ (mark.missed);
      const time = timeWords((now_ms - mark.at_ms) / 1000);
      const words = worded({ ...missed, values: { ...missed.values, time } });
      return { ...mark, words: sentences(words, mark.then) };
    }),
    ...inTime,
  ];
}
