/**
 * The sounds of the bench, made with Web Audio and timed by its own clock. They differ in rhythm and
 * direction, not in pitch alone: level for soon, rising for now, falling for too late.
 */
import { onPreference, preferences } from "./preferences.js";

/** @typedef {[after_s: number, hertz: number, long_s: number]} Note */
/** @typedef {keyof typeof SOUNDS} Sound */

/** Pitches that a phone's speaker still gives, none that hurts. After each phrase there is room for words. */
const SOUNDS = {
  /** two level notes: look up */
  soon: {
    notes: /** @type {Note[]} */ ([
      [0, 784, 0.16],
      [0.22, 784, 0.16],
    ]),
    times: 1,
    every_s: 0,
    gain: 0.5,
  },
  /** three rising ones, four times: do it now */
  now: {
    notes: /** @type {Note[]} */ ([
      [0, 660, 0.22],
      [0.24, 880, 0.22],
      [0.48, 1175, 0.4],
    ]),
    times: 4,
    every_s: 4.5,
    gain: 0.72,
  },
  /** long and falling, twice over, three times: it went wrong */
  late: {
    notes: /** @type {Note[]} */ ([
      [0, 1047, 0.1],
      [0.1, 523, 0.5],
      [0.7, 1047, 0.1],
      [0.8, 523, 0.5],
    ]),
    times: 3,
    every_s: 5,
    gain: 0.72,
  },
  /** a tick: taken */
  kept: { notes: /** @type {Note[]} */ ([[0, 1568, 0.07]]), times: 1, every_s: 0, gain: 0.35 },
  /** two short steps down: nothing was done */
  no: {
    notes: /** @type {Note[]} */ ([
      [0, 587, 0.09],
      [0.11, 440, 0.14],
    ]),
    times: 1,
    every_s: 0,
    gain: 0.4,
  },
};

/** A note swells and fades so long, or it would click (s). */
const SWELL_S = 0.012;

/** What brings several bells at once under what the speaker takes, and leaves one alone (dB, s). */
const LIMIT = { threshold: -4, knee: 0, ratio: 20, attack: 0.001, release: 0.1 };

/** @type {AudioContext | null} */
let context = null;
/** @type {AudioNode | null} */
let out = null;
let asked = false;
/** @type {Map<string, {tones: {oscillator: OscillatorNode, gain: GainNode}[], timers: ReturnType<typeof setTimeout>[]}>} */
const ringing = new Map();

/** @type {Set<() => void>} */
const unlockListeners = new Set();
/** @type {Set<(ms: number, shakes: boolean) => void>} */
const soundListeners = new Set();

/** Hear of each tap that lets the phone be heard. @param {() => void} listener @returns {() => void} unsubscribe */
export function onUnlock(listener) {
  unlockListeners.add(listener);
  return () => unlockListeners.delete(listener);
}

/** Hear that a phrase begins: how long it sounds (ms), and whether the phone shakes with it.
 * @param {(ms: number, shakes: boolean) => void} listener @returns {() => void} unsubscribe */
export function onSound(listener) {
  soundListeners.add(listener);
  return () => soundListeners.delete(listener);
}

/** Allow sound; call it in a tap, which is the only place a phone lets it begin. */
export function unlock() {
  for (const listener of unlockListeners) listener();
  if (typeof AudioContext === "undefined") return;
  // An iPhone that was locked or called may leave its sound 'interrupted' for good: then only a new one helps.
  if (context !== null && context.state !== "running" && asked) {
    void context.close().catch(() => undefined);
    context = null;
    ringing.clear();
  }
  if (context === null) open();
  resume();
}

function open() {
  context = new AudioContext();
  // Two bells at once must not overdrive the speaker.
  const limit = context.createDynamicsCompressor();
  for (const [name, value] of Object.entries(LIMIT)) limit[/** @type {keyof typeof LIMIT} */ (name)].value = value;
  limit.connect(context.destination);
  out = limit;
  context.addEventListener("statechange", () => {
    if (context?.state === "running") asked = false;
  });
}

/** Resume from anything but running: it may be 'suspended' or 'interrupted'. */
function resume() {
  if (context === null || context.state === "running") return;
  asked = true;
  void context.resume().catch(() => undefined);
}

document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") resume();
});

onPreference(({ sound }) => {
  if (!sound) for (const key of ringing.keys()) hush(key);
});

/** Whether a bell would be heard now. */
export function canRing() {
  return context !== null && context.state === "running";
}

/** How long the first phrase of a sound lasts (ms): then it may be spoken. @param {Sound} what */
export function phraseMs(what) {
  const [after_s, , long_s] = SOUNDS[what].notes[SOUNDS[what].notes.length - 1];
  return (after_s + long_s) * 1000;
}

/** Ring in `delay_s` seconds; the same key does not ring twice.
 * @param {string} key @param {number} delay_s @param {Sound} [what] @param {number} [times] phrases */
export function ring(key, delay_s, what = "now", times = SOUNDS[what].times) {
  if (ringing.has(key)) return;
  const { notes, every_s, gain } = SOUNDS[what];
  const audio = preferences().sound ? context : null;
  const begin_s = audio?.currentTime ?? 0;
  const tones = [];
  const timers = [];
  for (let time = 0; time < times; time += 1) {
    const after_s = Math.max(0, delay_s) + time * every_s;
    if (audio !== null) for (const note of notes) tones.push(tone(audio, begin_s + after_s, note, gain));
    timers.push(setTimeout(() => begins(what, time === 0, audio !== null), after_s * 1000));
  }
  ringing.set(key, { tones, timers });
}

/** @param {Sound} what @param {boolean} first @param {boolean} sounds */
function begins(what, first, sounds) {
  // Felt, where it can't be heard. Not every browser allows it, and none before the first touch.
  const touched = navigator.userActivation?.hasBeenActive ?? true;
  const shakes = touched && first && (what === "now" || what === "late");
  if (shakes) navigator.vibrate?.([300, 150, 300]);
  if (sounds || shakes) for (const listener of soundListeners) listener(phraseMs(what), shakes);
}

/** Sound once, at once. @param {Sound} what */
export function play(what) {
  hush(what);
  ring(what, 0, what);
}

/** Stop a bell, rung or still to ring. @param {string} key */
export function hush(key) {
  const { tones = [], timers = [] } = ringing.get(key) ?? {};
  timers.forEach(clearTimeout);
  for (const { oscillator, gain } of tones) {
    const at_s = gain.context.currentTime;
    gain.gain.cancelScheduledValues(at_s);
    gain.gain.setTargetAtTime(0, at_s, SWELL_S / 3);
    try {
      oscillator.stop(at_s + SWELL_S);
    } catch {
      // It had ended by itself.
    }
  }
  ringing.delete(key);
}

/** @param {AudioContext} audio @param {number} begin_s @param {Note} note @param {number} loud */
function tone(audio, begin_s, [after_s, hertz, long_s], loud) {
  const at_s = begin_s + after_s;
  const oscillator = audio.createOscillator();
  const gain = audio.createGain();
  // Overtones carry further from a small speaker than a pure tone does.
  oscillator.type = "triangle";
  oscillator.frequency.value = hertz;
  gain.gain.setValueAtTime(0, at_s);
  gain.gain.linearRampToValueAtTime(loud, at_s + SWELL_S);
  gain.gain.setValueAtTime(loud, at_s + long_s / 2);
  gain.gain.linearRampToValueAtTime(0, at_s + long_s);
  oscillator.connect(gain).connect(/** @type {AudioNode} */ (out));
  oscillator.start(at_s);
  oscillator.stop(at_s + long_s + 0.01);
  return { oscillator, gain };
}
