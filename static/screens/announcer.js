/** The caller: it speaks and rings for every clock on the bench, on every screen, and says each step at the board. */

import { now } from "../bench/clock.js";
import { callOf, due, marksOf, named, nameOf } from "../bench/cues.js";
import { displayUnits } from "../bench/display_units.js";
import { ofEach } from "../bench/pours.js";
import { preferences } from "../bench/preferences.js";
import { canRing, hush, onUnlock, phraseMs, ring, unlock } from "../bench/sound.js";
import { canSpeak, speak, unlockVoice } from "../bench/voice.js";
import * as store from "../records/store.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/cues.js").Mark} Mark */

/** Ring this long ahead by the audio clock, which a busy or hidden page does not delay. */
const AHEAD_MS = 1500;

/** What fell due longer ago than this, while the phone slept, is shown and neither rung nor said. */
const PAST_MS = 10 * 60_000;

/** So soon after a step or an alarm was said, it is not told how long is left. */
const JUST_SAID_MS = 10_000;

/** @type {Pour[]} */
let bench = [];
/** @type {import("../bench/display_units.js").DisplayUnits | null} */
let units = null;
/** Of each countdown the least that was left when it was told. @type {Map<string, number>} */
const told = new Map(JSON.parse(sessionStorage.getItem("told") ?? "[]"));
/** What rings or is about to be said. @type {Map<string, ReturnType<typeof setTimeout>>} */
const sounding = new Map();
/** The marks of a jug as it stands: they move with what is done, not with time. @type {WeakMap<object, Mark[]>} */
let known = new WeakMap();
/** @type {{state: object | null, view: string, key: string, about: string, at_ms: number}} */
let call = { state: null, view: "", key: "", about: "", at_ms: 0 };
/** The last alarm. */
let alarm = { about: "", at_ms: -Infinity };

/** @typedef {{pour: Pour, jug: number, key: string}} Asked a jug at which something is to be done; the key is its clock's */
/** @type {Set<(asked: Asked) => void>} */
const listeners = new Set();

onUnlock(unlockVoice);

/** Hear at which jug she is told to do something, as it is said. @param {(asked: Asked) => void} listen
 * @returns {() => void} stop listening */
export function onAsked(listen) {
  listeners.add(listen);
  return () => listeners.delete(listen);
}

/** Begin to call; answers what is to be called several times a second with the pours on the bench. */
export async function startCaller() {
  const learn = async () => {
    units = displayUnits((await store.get("workshop", "workshop")) ?? {});
    known = new WeakMap();
  };
  store.onChange((changes) => {
    if (changes.some(({ kind }) => kind === "workshop")) void learn();
  });
  document.addEventListener("click", () => {
    if (bench.length > 0) unlock();
  });
  await learn();
  return tick;
}

/** @param {Pour[]} pours in the order in which they began @param {number} now_ms */
function tick(pours, now_ms) {
  bench = pours;
  const live = new Set();
  const fresh = ofEach(pours, (pour) =>
    pour.state.jugs.flatMap((jug, index) => {
      const marks =
        known.get(jug) ??
        marksOf(pour, index, now_ms, /** @type {import("../bench/display_units.js").DisplayUnits} */ (units));
      known.set(jug, marks);
      for (const { key } of marks) live.add(key);
      // Not before a tap has let the phone be heard: until then nothing counts as told.
      if (!canRing() && !canSpeak()) return [];
      const before = [call, alarm].filter(({ about }) => about === `${pour.id} ${index}`).map(({ at_ms }) => at_ms);
      const news = marks.filter(({ at_ms, sound }) => sound !== "soon" || at_ms > Math.max(...before) + JUST_SAID_MS);
      return due(news, told, now_ms, AHEAD_MS).map((mark) => ({ mark, pour, index }));
    }),
  );
  // Answered, or moved.
  for (const key of sounding.keys()) if (!live.has(key)) drop(key);
  for (const { mark, pour, index } of fresh) give(mark, pour, index, now_ms);
  if (fresh.length === 0) return;
  for (const series of told.keys()) if (!pours.some(({ id }) => series.startsWith(id))) told.delete(series);
  sessionStorage.setItem("told", JSON.stringify([...told]));
}

/** Neither ring nor say it. @param {string} key */
function drop(key) {
  hush(key);
  clearTimeout(sounding.get(key));
  sounding.delete(key);
}

/** Ring and say a mark. @param {Mark} mark @param {Pour} pour @param {number} index @param {number} now_ms */
function give({ key, series, at_ms, left_s, sound, words }, pour, index, now_ms) {
  const about = `${pour.id} ${index}`;
  const left_ms = at_ms - now_ms;
  const urgent = sound !== "soon";
  if (left_ms < -PAST_MS) return;
  const asks = left_s === 0 || urgent;
  if (asks) alarm = { about, at_ms: Math.max(at_ms, now_ms) };
  for (const before of sounding.keys()) if (before.startsWith(`${about} `)) drop(before);
  ring(key, left_ms / 1000, sound);
  const say = () => {
    speak(named(nameOf(bench, pour.id, index), words), { urgent, about });
    if (asks) for (const listen of listeners) listen({ pour, jug: index, key: series });
  };
  const rung_ms = canRing() && preferences().sound ? phraseMs(sound) : 0;
  sounding.set(key, setTimeout(say, Math.max(0, left_ms) + rung_ms));
}

/**
 * Say the step of the jug that the board shows, if it is a new one. Cheap enough for every repaint.
 * @param {Pour} pour @param {number} jugIndex @param {boolean} [ahead] the fragrance is weighed while the wax cools
 */
export function callStep(pour, jugIndex, ahead = false) {
  const { whole } = preferences();
  const view = [pour.id, jugIndex, ahead, whole].join(" ");
  if (pour.state === call.state && view === call.view) return;
  // It is asked again at the next repaint.
  if (units === null || checking || !bench.some(({ id }) => id === pour.id)) return;
  const now_ms = now();
  const { key, words } = callOf(pour.sheet, pour.state, jugIndex, now_ms, units, { ahead, whole });
  const about = `${pour.id} ${jugIndex}`;
  const isNew = `${about} ${key}` !== call.key;
  // A board that comes over to a jug whose alarm is being said leaves it the word.
  const alarmed = view !== call.view && alarm.about === about && now_ms - alarm.at_ms < JUST_SAID_MS;
  call = { state: pour.state, view, key: `${about} ${key}`, about, at_ms: isNew ? now_ms : call.at_ms };
  // Before the first jug and after the last it is the whole pour's.
  const name = nameOf(bench, pour.id, pour.stage === "jugs" ? jugIndex : null);
  if (isNew && !alarmed) speak(named(name, words), { about });
}

let checking = false;

/** Let her hear how loud the phone is; call it in a tap. */
export function soundCheck() {
  unlock();
  hush("check");
  ring("check", 0, "now", 1);
  checking = true;
  setTimeout(() => {
    checking = false;
    speak("Did you hear that?", { urgent: true });
  }, phraseMs("now"));
}
