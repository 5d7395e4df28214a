/** What several places say of a burning candle: which candle, what was seen, how far it is. Words out, no page. */
import { eventType } from "../records/events.js";
import { message, plural, t, worded } from "../words/door.js";
import { numberText } from "../words/numbers.js";
import { FLAME } from "./limits.js";

/** @typedef {import("./burn_fold.js").Graded} Graded */
/** @typedef {import("./burn_fold.js").Seen} Seen */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../words/door.js").Message} Message */

/** What is graded. @type {Record<Graded, Message>} */
export const NAMES = {
  soot: message("Soot"),
  mushroom: message("Mushroom"),
  flicker: message("Flicker"),
  drowning: message("Drowning"),
  wall: message("Wax on the wall"),
};

/** What each step of a grade means, from none to bad. @type {Record<Graded, Message[]>} */
export const GRADES = {
  soot: [
    message("no smoke"),
    message("a wisp now and then"),
    message("a wisp all the time"),
    message("black smoke, or black on the vessel"),
  ],
  mushroom: [
    message("a clean wick"),
    message("a small cap on the wick"),
    message("a cap as wide as two wicks"),
    message("a cap that falls off, or glows"),
  ],
  flicker: [
    message("a calm flame"),
    message("it flickers now and then"),
    message("it flickers often"),
    message("it jumps all the time"),
  ],
  drowning: [
    message("the wick stands free"),
    message("the flame is small"),
    message("the wick is nearly under"),
    message("the wick is under, and the flame goes out"),
  ],
  wall: [message("a clean wall"), message("a thin film"), message("a rim of wax"), message("thick wax all round")],
};

/** Why a sitting ended, in the catalogue's words. @param {string} why */
export function whyText(why) {
  const words = eventType("burn_test", "stopped")?.fields.why.choices?.[why];
  return words ? t(words) : why;
}

/** 'candle 2'. @param {number} index */
export function candleName(index) {
  return t("candle {n}", { n: index + 1 });
}

/** A mark by its hours: '2 h', '1.5 h'. @param {number} hours */
export function hoursText(hours) {
  return t("{n}\u00a0h", { n: hundredths(hours) });
}

/** A mark as it is said: 'two hours' in figures, as a voice reads them. @param {number} hours */
export function hoursAloud(hours) {
  return plural(hours, "{n} hour", "{n} hours", { n: hundredths(hours) });
}

/** @param {number} hours */
const hundredths = (hours) => numberText(String(Math.round(hours * 100) / 100));

/** How long the flame may be, in her units. @param {DisplayUnits} units */
export const flameLimit = (units) => units.text(FLAME.value, "length", 1);

/** What was seen at a mark, in short pieces. @param {Seen} seen @param {DisplayUnits} units @returns {string[]} */
export function seenWords(seen, units) {
  const length = (/** @type {number} */ mm) => units.text(mm, "length", 1);
  const said = [];
  if (seen.pool_full) said.push(t("pool to the wall"));
  else if (seen.pool_mm !== undefined)
    said.push(
      seen.across_mm === undefined
        ? t("pool {width}", { width: length(seen.pool_mm) })
        : t("pool {width} by {across}", { width: length(seen.pool_mm), across: length(seen.across_mm) }),
    );
  if (seen.depth_mm !== undefined) said.push(t("{depth} deep", { depth: length(seen.depth_mm) }));
  if (seen.flame_mm !== undefined) said.push(t("flame {height}", { height: length(seen.flame_mm) }));
  else if (seen.flame_low) said.push(t("flame lower than {limit}", { limit: flameLimit(units) }));
  if (seen.hottest_c !== undefined)
    said.push(t("hottest place {temperature}", { temperature: units.text(seen.hottest_c, "temperature", 1) }));
  for (const [what, steps] of /** @type {[Graded, Message[]][]} */ (Object.entries(GRADES)))
    if (seen[what]) said.push(worded(steps[Number(seen[what])]));
  return said;
}
