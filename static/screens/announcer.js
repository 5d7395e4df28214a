/** The announcer: it speaks and rings for every clock on the bench, on every screen, and says each step at the board. */

import { now } from "../bench/clock.js";
import { due, named } from "../bench/cues.js";
import { displayUnits } from "../bench/display_units.js";
import { ofEach } from "../bench/pours.js";
import { preferences } from "../bench/preferences.js";
import { session } from "../bench/session.js";
import { canRing, hush, onUnlock, phraseMs, ring, unlock } from "../bench/sound.js";
import { canSpeak, speak, unlockVoice } from "../bench/voice.js";
import * as store from "../records/store.js";
import { t } from "../words/door.js";
import { stationOf } from "./stations.js";

/** @typedef {import("../bench/session.js").Item} Item */
/** @typedef {import("../bench/cues.js").TimedCue} TimedCue */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** Ring this long ahead by the audio clock, which a busy or hidden page does not delay. */
const AHEAD_MS = 1500;

/** What fell due longer ago than this, while the phone slept, is shown and neither rung nor said. */
const PAST_MS = 10 * 60_000;

/** So soon after a step or an alarm was said, it is not told how long is left. */
const JUST_SAID_MS = 10_000;

const KEY = "announced";

/** @type {DisplayUnits | null} */
let units = null;
/** Of each countdown the least that was left when it was announced. @type {Map<string, number>} */
const announced = new Map(JSON.parse(sessionStorage.getItem(KEY) ?? "[]"));
/** What rings or is about to be said. @type {Map<string, ReturnType<typeof setTimeout>>} */
const sounding = new Map();
/** The marks of a part as it stands: they move with what is done, not with time. @type {WeakMap<object, TimedCue[]>} */
let marksKnown = new WeakMap();
/** The step that was called last, and on which view of the board.
 * @type {{state: object | null, view: string, key: string, about: string, at_ms: number}} */
let lastCall = { state: null, view: "", key: "", about: "", at_ms: 0 };
let lastAlarm = { about: "", at_ms: -Infinity };

/** @typedef {{item: Item, part: number, key: string}} Alert a part at which something is to be done; the key is its clock's */
/** @type {Set<(alert: Alert) => void>} */
const listeners = new Set();

onUnlock(unlockVoice);

/** Hear at which jug or candle she is told to do something, as it is said. @param {(alert: Alert) => void} listener
 * @returns {() => void} unsubscribe */
export function onAlert(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** Announce what falls due on the bench from now on. */
export async function startAnnouncer() {
  const learnUnits = async () => {
    units = displayUnits((await store.get("workshop", "workshop")) ?? {});
    marksKnown = new WeakMap();
  };
  store.onChange((changes) => {
    if (changes.some(({ kind }) => kind === "workshop")) void learnUnits();
  });
  document.addEventListener("click", () => {
    if (session.items().length > 0) unlock();
  });
  await learnUnits();
  session.onTick(({ now_ms }) => announceDue(session.items(), now_ms));
}

/** @param {Item[]} items in the order in which they began @param {number} now_ms */
function announceDue(items, now_ms) {
  const live = new Set();
  const fresh = ofEach(items, (item) => {
    const { parts, cues } = stationOf(item);
    return parts(item).flatMap((stands, part) => {
      const marks = marksKnown.get(stands) ?? cues(item, part, now_ms, /** @type {DisplayUnits} */ (units));
      marksKnown.set(stands, marks);
      for (const { key } of marks) live.add(key);
      // Not before a tap has let the phone be heard: until then nothing counts as announced.
      if (!canRing() && !canSpeak()) return [];
      const before = [lastCall, lastAlarm]
        .filter(({ about }) => about === `${item.id} ${part}`)
        .map(({ at_ms }) => at_ms);
      const news = marks.filter(({ at_ms, sound }) => sound !== "soon" || at_ms > Math.max(...before) + JUST_SAID_MS);
      return due(news, announced, now_ms, AHEAD_MS).map((mark) => ({ mark, item, part }));
    });
  });
  // Answered, or moved.
  for (const key of sounding.keys()) if (!live.has(key)) drop(key);
  for (const { mark, item, part } of fresh) announce(mark, item, part, now_ms);
  if (fresh.length === 0) return;
  for (const series of announced.keys()) if (!items.some(({ id }) => series.startsWith(id))) announced.delete(series);
  sessionStorage.setItem(KEY, JSON.stringify([...announced]));
}

/** Neither ring nor say it. @param {string} key */
function drop(key) {
  hush(key);
  clearTimeout(sounding.get(key));
  sounding.delete(key);
}

/** Ring and say a mark. @param {TimedCue} mark @param {Item} item @param {number} part @param {number} now_ms */
function announce({ key, series, at_ms, left_s, sound, words }, item, part, now_ms) {
  const about = `${item.id} ${part}`;
  const left_ms = at_ms - now_ms;
  const urgent = sound !== "soon";
  if (left_ms < -PAST_MS) return;
  const isAlarm = left_s === 0 || urgent;
  if (isAlarm) lastAlarm = { about, at_ms: Math.max(at_ms, now_ms) };
  for (const before of sounding.keys()) if (before.startsWith(`${about} `)) drop(before);
  ring(key, left_ms / 1000, sound);
  const say = () => {
    speak(named(stationOf(item).spokenName(session.items(), item.id, part), words), { urgent, about });
    if (isAlarm) for (const listener of listeners) listener({ item, part, key: series });
  };
  const rung_ms = canRing() && preferences().sound ? phraseMs(sound) : 0;
  sounding.set(key, setTimeout(say, Math.max(0, left_ms) + rung_ms));
}

/**
 * Say the step of the part that a board shows, if it is a new one. Cheap enough for every repaint.
 * @param {Item & {state: object}} item @param {number} part
 * @param {object} shown
 * @param {string} shown.view how the board shows it
 * @param {boolean} shown.isWhole the step is the whole item's
 * @param {(now_ms: number, units: DisplayUnits) => {key: string, words: string}} shown.cue
 */
export function callStep(item, part, { view: how, isWhole, cue }) {
  const view = `${item.id} ${part} ${how}`;
  if (item.state === lastCall.state && view === lastCall.view) return;
  // It is asked again at the next repaint.
  if (units === null || checking || session.item(item.id) === null) return;
  const now_ms = now();
  const { key, words } = cue(now_ms, units);
  const about = `${item.id} ${part}`;
  const isNew = `${about} ${key}` !== lastCall.key;
  // A board that comes over to a part whose alarm is being said leaves it the word.
  const alarmed = view !== lastCall.view && lastAlarm.about === about && now_ms - lastAlarm.at_ms < JUST_SAID_MS;
  lastCall = { state: item.state, view, key: `${about} ${key}`, about, at_ms: isNew ? now_ms : lastCall.at_ms };
  const name = stationOf(item).spokenName(session.items(), item.id, isWhole ? null : part);
  if (isNew && !alarmed) speak(named(name, words), { about });
}

/** The sound check is on: no step is called. */
let checking = false;

/** Let her hear how loud the phone is; call it in a tap. */
export function soundCheck() {
  unlock();
  hush("check");
  ring("check", 0, "now", 1);
  checking = true;
  setTimeout(() => {
    checking = false;
    speak(t("Did you hear that?"), { urgent: true });
  }, phraseMs("now"));
}
