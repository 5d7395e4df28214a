/** What the microphone hears, in the thread of the sound: says when two claps were heard, and keeps nothing. */
import { HEARD, twoKnocks } from "./knocks.js";

// What this thread has beyond others.
const { AudioWorkletProcessor, registerProcessor, sampleRate } = /** @type {any} */ (globalThis);

/** Long enough to be steady, short beside a clap (s). */
const BLOCK_S = 0.01;

const now = () => /** @type {any} */ (globalThis).currentTime;

class Onset extends AudioWorkletProcessor {
  two = twoKnocks(HEARD);
  sum = 0;
  count = 0;
  deaf_s = 0;

  constructor() {
    super();
    // A number: nothing of the next so many milliseconds is for us.
    this.port.onmessage = (/** @type {MessageEvent<number>} */ { data }) => (this.deaf_s = now() + data / 1000);
  }

  /** @param {Float32Array[][]} inputs */
  process([[samples]]) {
    if (now() < this.deaf_s) this.two = twoKnocks(HEARD);
    else if (samples) this.hear(samples);
    return true;
  }

  /** @param {Float32Array} samples */
  hear(samples) {
    for (const sample of samples) this.sum += sample * sample;
    this.count += samples.length;
    if (this.count < BLOCK_S * sampleRate) return;
    const level = Math.sqrt(this.sum / this.count);
    this.sum = 0;
    this.count = 0;
    if (this.two(now(), level)) this.port.postMessage("two");
  }
}

registerProcessor("onset", Onset);
