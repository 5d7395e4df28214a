/**
 * The phone's own voice. Only voices that need no network are used: what is weighed is nobody else's
 * business, and a workshop may have no signal. No event of an utterance is waited for: it may never come.
 */
import { languageTag, t } from "../words/door.js";
import { spoken } from "./cues.js";
import { onPreference, preferences } from "./preferences.js";

/** @typedef {"spoken" | "muted" | "none" | "failed"} VoiceState none: no offline voice in the language that is spoken */
/** @typedef {{words: string, about: string}} Said */

/** At most so many wait their turn; of more, the oldest is dropped. */
const MOST_WAITING = 2;

/** No more than this takes a slow voice to say it; then the next has its turn (ms). */
const LONGEST_MS = (/** @type {string} */ words) => 2000 + 140 * words.length;

/** So long a usual voice takes (ms). */
const SPEAKS_MS = (/** @type {string} */ words) => 500 + 75 * words.length;

/** Some browsers lose what is spoken in the same breath as a cancel (ms). */
const BREATH_MS = 80;

/** A list to choose from; some phones have thousands. */
const MOST_VOICES = 40;

const synthesis = /** @type {SpeechSynthesis | undefined} */ (globalThis.speechSynthesis);

/** what was said last, to be read where it is not heard */
export let said = "";
/** the last of it that was about a jug: a passing remark is not said again */
let lastOfJug = "";

/** @type {Said[]} */
let waiting = [];
/** Held here, or its events are lost with it. @type {(Said & {utterance: SpeechSynthesisUtterance, started: boolean}) | null} */
let current = null;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
let failed = false;
let unlocked = false;
/** @type {SpeechSynthesisVoice | null | undefined} undefined: not looked for yet */
let chosen;

/** @type {Set<() => void>} */
const listeners = new Set();

/** Hear of every change of `said` and `voiceState()`. @param {() => void} listener @returns {() => void} unsubscribe */
export function onVoice(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** @type {Set<(ms: number) => void>} */
const speechListeners = new Set();

/** Hear that the phone begins to speak, and for how long it may (ms).
 * @param {(ms: number) => void} listener @returns {() => void} unsubscribe */
export function onSpeech(listener) {
  speechListeners.add(listener);
  return () => speechListeners.delete(listener);
}

function notify() {
  for (const listener of listeners) listener();
}

/** Whether a voice is of the language that the bench speaks. @param {string} tag of the voice */
function isOurs(tag) {
  const [ours] = languageTag().toLowerCase().split("-");
  return tag.toLowerCase().split(/[-_]/)[0] === ours;
}

/** The phone's offline voices: those of the bench's language first, as it is spoken where she lives before others. */
export function voices() {
  const order = (/** @type {SpeechSynthesisVoice} */ { lang, default: usual, name }) => {
    const tag = lang.replace("_", "-").toLowerCase();
    // Engines list a voice's many variants as 'name+variant'.
    const rank = tag === navigator.language.toLowerCase() ? 0 : isOurs(tag) ? 2 : 4;
    return rank + (usual ? 0 : 1) + (name.includes("+") ? 8 : 0);
  };
  const offline = synthesis?.getVoices().filter(({ localService }) => localService) ?? [];
  return offline
    .map((voice) => ({ voice, rank: order(voice) }))
    .sort((a, b) => a.rank - b.rank)
    .slice(0, MOST_VOICES)
    .map(({ voice }) => voice);
}

/** The one she chose, or the first that speaks the bench's language. */
function choose() {
  const all = voices();
  const { voice_name } = preferences();
  chosen = all.find(({ name }) => name === voice_name) ?? all.find(({ lang }) => isOurs(lang)) ?? null;
  return chosen;
}

/** Whether words are heard. @returns {VoiceState} */
export function voiceState() {
  if (!preferences().voice) return "muted";
  if ((chosen === undefined ? choose() : chosen) === null) return "none";
  return failed ? "failed" : "spoken";
}

/** Let the phone speak; call it in a tap, which is the only place some phones let it begin. */
export function unlockVoice() {
  if (unlocked || synthesis === undefined || voiceState() === "muted" || voiceState() === "none") return;
  unlocked = true;
  const silent = new SpeechSynthesisUtterance(" ");
  silent.volume = 0;
  synthesis.speak(silent);
}

/** Whether a tap has let the phone speak. */
export function canSpeak() {
  return unlocked;
}

/**
 * Say it, after what is being said, or at once if it is urgent: what it cuts off comes again after it. Of
 * words about the same thing the newer replace the older; those about nothing are a passing remark.
 * @param {string} words @param {{urgent?: boolean, about?: string}} [how]
 */
export function speak(words, { urgent = false, about = "" } = {}) {
  said = words;
  if (about !== "") lastOfJug = words;
  const same = (/** @type {Said} */ each) => about !== "" && each.about === about;
  waiting = waiting.filter((each) => !same(each));
  if (unlocked && voiceState() !== "muted" && voiceState() !== "none") {
    const mine = { words, about };
    const cuts = current !== null && (urgent || same(current));
    const lost = cuts && current !== null && current.about !== "" && !same(current) ? [current] : [];
    waiting = urgent ? [mine, ...lost, ...waiting].slice(0, MOST_WAITING) : [...waiting, mine].slice(-MOST_WAITING);
    if (cuts) cut();
    else if (current === null) next();
  }
  notify();
}

/** Say again what was said last of a jug. */
export function again() {
  if (lastOfJug !== "") speak(lastOfJug, { urgent: true });
}

/** Stop speaking, and forget what waits. */
export function silence() {
  waiting = [];
  if (current !== null) cut();
}

function cut() {
  clearTimeout(timer);
  current = null;
  synthesis?.cancel();
  timer = setTimeout(next, BREATH_MS);
}

/** Words as a voice reads them well. @param {string} words */
function aloud(words) {
  return spoken(words)
    .replace(/ ?& ?/g, ` ${t("and")} `)
    .replace(/[<>]/g, " ");
}

function next() {
  clearTimeout(timer);
  const turn = waiting.shift();
  if (turn === undefined || synthesis === undefined) {
    current = null;
    return;
  }
  const utterance = new SpeechSynthesisUtterance(aloud(turn.words));
  const mine = { words: turn.words, about: turn.about, utterance, started: false };
  current = mine;
  const voice = chosen ?? null;
  utterance.voice = voice;
  utterance.lang = voice?.lang.replace("_", "-") ?? languageTag();
  utterance.onstart = () => {
    mine.started = true;
    fail(false);
  };
  utterance.onend = () => {
    if (current === mine) next();
  };
  utterance.onerror = ({ error }) => {
    if (current !== mine) return;
    fail(error !== "interrupted" && error !== "canceled");
    next();
  };
  // A phone that was locked may have left it paused.
  synthesis.resume();
  synthesis.speak(utterance);
  for (const listener of speechListeners) listener(SPEAKS_MS(turn.words));
  timer = setTimeout(() => {
    if (!mine.started) fail(true);
    synthesis.cancel();
    timer = setTimeout(next, BREATH_MS);
  }, LONGEST_MS(turn.words));
}

/** @param {boolean} now_failed */
function fail(now_failed) {
  if (failed === now_failed) return;
  failed = now_failed;
  notify();
}

synthesis?.addEventListener?.("voiceschanged", () => {
  chosen = undefined;
  notify();
});

onPreference(({ voice }) => {
  chosen = undefined;
  if (!voice) silence();
  notify();
});

document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") synthesis?.resume();
});
