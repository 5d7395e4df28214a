/** What is said aloud of a burning candle, and when. Pure: state and `now` in, words out. */
import { message, plural, t } from "../words/door.js";
import { HOUR_MS } from "./burn_fold.js";
import { burnPrompt } from "./burn_prompt.js";
import { hoursAloud } from "./burn_words.js";
import { REST } from "./limits.js";
import { outAt } from "./tests.js";

/** @typedef {import("./tests.js").BurnTest} BurnTest */
/** @typedef {import("../bench/cues.js").TimedCue} TimedCue */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

const MINUTE_MS = 60_000;

/** A mark that nobody looked at is called again so much later, and a flame that nobody put out (our choice, minutes). */
const AGAIN_MIN = [5, 15];
const STILL_MIN = [2, 5, 10, 20, 30];

/** The moments of a candle's sitting. @param {Pick<BurnTest, "id" | "sheet" | "state">} test @param {number} index
 * @returns {TimedCue[]} */
export function burnCues({ id, sheet, state }, index) {
  if (state.closed !== null) return [];
  const candle = state.candles[index];
  const sitting = candle.sittings[candle.sitting];
  /** @type {TimedCue[]} */
  const cues = [];
  /** @param {string} what @param {number} at_ms @param {TimedCue["sound"]} sound @param {string} words
   * @param {TimedCue["missed"]} missed @param {string} [then] */
  const cue = (what, at_ms, sound, words, missed, then = "") => {
    const series = `${id} ${index} ${candle.sitting} ${what}`;
    cues.push({ series, left_s: 0, key: `${series} 0`, at_ms, words, missed, then, sound });
  };
  if (candle.step === "burning") {
    const out_ms = outAt(sitting);
    for (const [mark, { due_ms, done }] of sitting.marks.entries()) {
      if (done) continue;
      const hours = hoursAloud(sheet.marks_h[mark]);
      const isLast = mark === sitting.marks.length - 1;
      const look = t("{hours}. Look at the pool and the flame.", { hours });
      const words = isLast ? t("{look} Then put it out.", { look }) : look;
      cue(
        `mark ${mark}`,
        due_ms,
        "now",
        words,
        message("The mark at {hours} was due, {time} ago.", { hours }),
        t("Look now."),
      );
      const next_ms = sitting.marks[mark + 1]?.due_ms ?? Infinity;
      for (const minutes of AGAIN_MIN)
        if (due_ms + minutes * MINUTE_MS < next_ms && !isLast)
          cue(
            `mark ${mark} again ${minutes}`,
            due_ms + minutes * MINUTE_MS,
            "now",
            t("The mark at {hours} still waits.", { hours }),
            null,
          );
    }
    if (sitting.marks.at(-1)?.done) cue("out", out_ms, "now", t("Put it out."), null);
    for (const minutes of STILL_MIN)
      cue(
        `still ${minutes}`,
        out_ms + minutes * MINUTE_MS,
        "late",
        plural(minutes, "Put it out. It is {n} minute over its time.", "Put it out. It is {n} minutes over its time."),
        message("It should be out, {time} ago."),
        t("Put it out."),
      );
  }
  if (candle.step === "rest" || candle.step === "smoke")
    cue(
      "rest",
      /** @type {number} */ (sitting.stopped_at) + REST.value * HOUR_MS,
      "now",
      t("It has rested for an hour. Weigh it."),
      message("Its rest was over {time} ago."),
      t("Weigh it."),
    );
  return cues.sort((a, b) => a.at_ms - b.at_ms);
}

/**
 * What is said as a step begins. `key` changes by what was done, and as a mark falls due, never by the passing of time
 * alone.
 * @param {Pick<BurnTest, "sheet" | "state">} test @param {number} index @param {number} now_ms @param {DisplayUnits} units
 */
export function burnCue(test, index, now_ms, units) {
  const { step, title, doing, asks, main } = burnPrompt(test, index, now_ms, units);
  const candle = test.state.candles[index];
  const said = {
    trim: t("Trim the wick, and weigh it."),
    light: main ? t("Light it. Never leave it alone.") : doing,
    burning: t("It burns. Stay with it."),
    out: title,
    smoke: t("Touch as it stops smoking."),
    rest: t("Let it rest for an hour."),
    weigh: t("Weigh it again, without a lid."),
    over: t("This one is done."),
  }[step];
  return { key: [step, candle.sitting, asks].join(" "), words: asks || said || doing };
}
