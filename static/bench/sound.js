/** The bell: three rising notes, made with Web Audio and timed by its own clock. */

/** @type {AudioContext | null} */
let context = null;
/** @type {Map<string, OscillatorNode[]>} */
const ringing = new Map();

const NOTES = [
  { after_s: 0, hertz: 660 },
  { after_s: 0.28, hertz: 880 },
  { after_s: 0.56, hertz: 1175 },
];
const TIMES = 4;
const PAUSE_S = 1.5;

/** Allow sound; call it in a tap, which is the only place a phone lets it begin. */
export function unlock() {
  if (typeof AudioContext === "undefined") return;
  context ??= new AudioContext();
  // A locked iPhone leaves it 'interrupted': resume from anything but running.
  if (context.state !== "running") void context.resume().catch(() => undefined);
}

/** Whether a bell would be heard now. */
export function canRing() {
  return context !== null && context.state === "running";
}

/** Ring in `delay_s` seconds; the same key does not ring twice. @param {string} key @param {number} delay_s */
export function ring(key, delay_s) {
  if (context === null || ringing.has(key)) return;
  const begin = context.currentTime + Math.max(0, delay_s);
  /** @type {OscillatorNode[]} */
  const tones = [];
  for (let time = 0; time < TIMES; time += 1) {
    for (const { after_s, hertz } of NOTES) tones.push(tone(context, begin + time * PAUSE_S + after_s, hertz));
  }
  ringing.set(key, tones);
  // Not every browser allows it, and the note rings all the same.
  navigator.vibrate?.([300, 150, 300]);
}

/** Stop a bell, rung or still to ring. @param {string} key */
export function hush(key) {
  for (const oscillator of ringing.get(key) ?? []) {
    try {
      oscillator.stop();
    } catch {
      // It had ended by itself.
    }
  }
  ringing.delete(key);
}

/** @param {AudioContext} audio @param {number} at_s @param {number} hertz */
function tone(audio, at_s, hertz) {
  const oscillator = audio.createOscillator();
  const gain = audio.createGain();
  oscillator.frequency.value = hertz;
  gain.gain.setValueAtTime(0, at_s);
  gain.gain.linearRampToValueAtTime(0.5, at_s + 0.02);
  gain.gain.exponentialRampToValueAtTime(0.001, at_s + 0.26);
  oscillator.connect(gain).connect(audio.destination);
  oscillator.start(at_s);
  oscillator.stop(at_s + 0.27);
  return oscillator;
}
