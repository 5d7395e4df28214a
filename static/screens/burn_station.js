/** What a burn test on the bench shows and says of itself: in the strip, as an alarm, as a bell, on Today. Loading it lets
 * the bench follow burn tests. */
import { apartFrom } from "../bench/cues.js";
import { session } from "../bench/session.js";
import { burnCues } from "../burns/burn_cues.js";
import { candleName, hoursText } from "../burns/burn_words.js";
import { burnStream, countBurning, isGoing, markNow } from "../burns/tests.js";
import { clockText } from "../words/dates.js";
import { message, plural, t, worded } from "../words/door.js";
import { addStation } from "./stations.js";

/** @typedef {import("../burns/tests.js").BurnTest} BurnTest */
/** @typedef {import("../bench/session.js").Clock} Clock */

/** The address of a candle's board. @param {string} test @param {number} candle */
export function burnHref(test, candle) {
  return `#/burn/${test}/${candle}`;
}

/** Where a candle is whose clock does not run. @type {Record<import("../burns/burn_fold.js").Step, import("../words/door.js").Message>} */
const STEPS = {
  trim: message("weigh"),
  light: message("light"),
  burning: message("burns"),
  smoke: message("smoke"),
  rest: message("rests"),
  over: message("done"),
};

/** What is due: on its own board, @type {Record<string, import("../words/door.js").Message>} */
const HERE = {
  mark: message("Look at it now"),
  out: message("Put it out"),
  rest: message("It has rested"),
};

/** and on another. @type {Record<string, (candle: string) => string>} */
const ELSEWHERE = {
  mark: (candle) => t("Look: {candle}", { candle }),
  out: (candle) => t("Put out: {candle}", { candle }),
  rest: (candle) => t("Weigh: {candle}", { candle }),
};

/** @type {Record<string, (candle: string, title: string) => {title: string, body: string}>} */
const BELLS = {
  mark: (candle, title) => ({
    title: t("{title}, {candle}: a mark is due", { title, candle }),
    body: t("Look at the pool and the flame. Never leave it burning alone."),
  }),
  out: (candle, title) => ({
    title: t("{title}, {candle}: put it out", { title, candle }),
    body: t("Its time is over."),
  }),
  rest: (candle, title) => ({
    title: t("{title}, {candle}: it has rested", { title, candle }),
    body: t("Weigh it without a lid."),
  }),
};

/** @type {import("./stations.js").Station<BurnTest>} */
export const burnStation = {
  href: burnHref,
  parts: ({ state }) => state.candles,
  cues: burnCues,
  spokenName(items, id, part) {
    const { title, number } = apartFrom(items, id, null);
    const test = number ? t("{title} {number}", { title, number }) : title;
    if (part === null) return test;
    const candle = t("Candle {n}", { n: part + 1 });
    return test ? t("{pour}, {jug}", { pour: test, jug: candle }) : candle;
  },
  chips: ({ id, state }, here) =>
    state.candles.flatMap((candle, part) => {
      if (!isGoing(candle) && burnHref(id, part) !== here) return [];
      const { title } = apartFrom(session.items(), id, null);
      return [{ part, name: [candleName(part), title], state: worded(STEPS[candle.step]) }];
    }),
  alarm: ({ part, what }, elsewhere) => (elsewhere ? ELSEWHERE[what](candleName(part)) : worded(HERE[what])),
  bell: ({ item, part, what }) => BELLS[what](candleName(part), item.sheet.title),
  line,
};

/** @param {BurnTest} test @param {Clock[]} clocks all that run, the next to ring first @param {number} now_ms
 * @returns {import("./today_lines.js").Line} */
function line({ id, sheet, state }, clocks, now_ms) {
  const clock = clocks.find(({ item }) => item.id === id);
  const going = state.candles.findIndex(isGoing);
  const burning = countBurning(state);
  const left_s = clock ? (clock.at_ms - now_ms) / 1000 : 0;
  const part = clock?.part ?? Math.max(0, going);
  return {
    href: burnHref(id, part),
    name: sheet.title,
    line: burning > 0 ? plural(burning, "{n} candle burns", "{n} candles burn") : t("burn test"),
    under: clock
      ? t("{candle}: {what}", { candle: candleName(part), what: nextWords(sheet, state, clock, now_ms) })
      : "",
    right: !clock ? t("go on") : left_s > 0 ? clockText(left_s) : t("now"),
  };
}

/** What a clock runs to. @param {BurnTest["sheet"]} sheet @param {BurnTest["state"]} state @param {Clock} clock @param {number} now_ms */
function nextWords({ marks_h }, { candles }, { part, what }, now_ms) {
  if (what === "rest") return t("weigh it");
  if (what === "out") return t("put it out");
  const { sittings, sitting } = candles[part];
  return t("mark at {time}", { time: hoursText(marks_h[markNow(sittings[sitting], now_ms)]) });
}

addStation("burn_test", burnStation);

/** The burn tests that are on the bench are read, and followed from now on. */
export const ready = session.join(burnStream);
