/** Working without hands: all that she switched on listens, and what it understands is one word. */

import { eventType } from "../records/events.js";
import { t } from "../words/door.js";
import { onPreference, preferences } from "./preferences.js";
import { onSound } from "./sound.js";
import { onSpeech } from "./voice.js";

/** @typedef {"knock" | "clap" | "hear"} Source */
/** @typedef {import("./spoken_numbers.js").Word & {by: Source}} Word */
/** @typedef {{stop: () => void, pause?: (ms: number, shakes: boolean) => void}} Running */

/** Two sources may hear the same knocks, and some browsers tell twice what they heard once (ms). */
const ONCE_MS = 1500;

/** Whether 'next' may do what the board's main button does: a knock may be a slip.
 * @param {import("./prompt_shape.js").Action | null | undefined} action */
export function isHandsFreeAction(action) {
  const { event, pad } = action ?? {};
  return event !== undefined && pad === undefined && eventType("pour", event.type)?.is_harmless === true;
}

/** @type {Map<Source, Running & {settings: string}>} */
const running = new Map();

/** Let nothing count that is heard in the next so many milliseconds, when the phone itself speaks or rings;
 * nor what is felt, if it shakes as well. @param {number} ms @param {boolean} [shakes] */
function pause(ms, shakes = false) {
  for (const { pause: pauseOne } of running.values()) pauseOne?.(ms, shakes);
}

onSound(pause);
onSpeech(pause);

/** Ends what listens now. */
let stopCurrent = () => {};

/** What listens is in modules that few want, and that come when it is switched on.
 * @param {Promise<() => Running>} come @param {() => void} onMissing @returns {Running} */
function startLater(come, onMissing) {
  /** @type {Running | null} */
  let started = null;
  let isWanted = true;
  /** @type {[until_ms: number, shakes: boolean][]} */
  const paused = [];
  come.then((start) => {
    if (!isWanted) return;
    started = start();
    for (const [until_ms, shakes] of paused) started.pause?.(until_ms - performance.now(), shakes);
  }, onMissing);
  return {
    stop() {
      isWanted = false;
      started?.stop();
    },
    pause(ms, shakes) {
      if (started === null) paused.push([performance.now() + ms, shakes]);
      else started.pause?.(ms, shakes);
    },
  };
}

/**
 * Listen by all that is switched on, as it is switched on and off; who listened before no longer does.
 * @param {{onWord: (word: Word) => void, onTrouble: (text: string, by: Source) => void}} given a trouble that
 *   was told and is over is ""
 * @returns {() => void} stop
 */
export function startHandsFree({ onWord, onTrouble }) {
  stopCurrent();
  let last = { do: "", at_ms: 0 };
  /** @type {Set<Source>} */
  const troubled = new Set();

  /** @param {string} text @param {Source} by */
  function reportTrouble(text, by) {
    if (text === "" && !troubled.delete(by)) return;
    if (text !== "") troubled.add(by);
    onTrouble(text, by);
  }

  /** @param {Source} by */
  const reportWord = (by) => (/** @type {import("./spoken_numbers.js").Word} */ word) => {
    if ("do" in word) {
      const at_ms = performance.now();
      if (word.do === last.do && at_ms - last.at_ms < ONCE_MS) return;
      last = { do: word.do, at_ms };
    }
    onWord({ ...word, by });
  };

  /** @param {Source} by @param {boolean} away @returns {Running} */
  function start(by, away) {
    const tell = { onTrouble: (/** @type {string} */ text) => reportTrouble(text, by), onWord: reportWord(by) };
    const onTwo = () => tell.onWord({ do: "next" });
    const starts = {
      knock: async () => {
        const { startKnockDetection } = await import("./accelerometer.js");
        return () => startKnockDetection({ ...tell, onTwo });
      },
      clap: async () => {
        const { startClapDetection } = await import("./clap.js");
        return () => startClapDetection({ ...tell, onTwo });
      },
      hear: async () => {
        const { startSpeechRecognition } = await import("./speech_recognition.js");
        return () => startSpeechRecognition({ ...tell, away });
      },
    };
    return startLater(starts[by](), () =>
      tell.onTrouble(t("This part of the bench is not on the phone yet. It needs signal once.")),
    );
  }

  function update({ hear_away, ...on } = preferences()) {
    for (const by of /** @type {Source[]} */ (["knock", "clap", "hear"])) {
      const wanted = on[by] ? `on ${by === "hear" && hear_away}` : "";
      if ((running.get(by)?.settings ?? "") === wanted) continue;
      running.get(by)?.stop();
      if (running.delete(by)) reportTrouble("", by);
      if (wanted !== "") running.set(by, { ...start(by, hear_away), settings: wanted });
    }
  }

  update();
  const unsubscribe = onPreference(update);
  const stop = () => {
    if (stopCurrent !== stop) return;
    stopCurrent = () => {};
    unsubscribe();
    for (const each of running.values()) each.stop();
    running.clear();
  };
  stopCurrent = stop;
  return stop;
}
