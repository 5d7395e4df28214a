/** Two claps or knocks, heard by the microphone. What it hears is judged as it comes, and never kept or sent. */

import { t } from "../words/door.js";

/** What is heard until then is the phone itself. */
let ignored_until_ms = 0;

export const hasMicrophone = () => "AudioWorkletNode" in globalThis && navigator.mediaDevices !== undefined;

/** Sound as it is: a clap is just what a phone would take out of a call. */
const AUDIO = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };

/** @param {any} error */
function whyNot({ name }) {
  if (name === "NotAllowedError")
    return t("The microphone is blocked. Allow it for this page in the browser's settings, then switch this on again.");
  return name === "NotFoundError"
    ? t("No microphone was found.")
    : t("The microphone is not free. Does another app use it?");
}

/** Ask for the microphone, in a tap. @returns {Promise<string>} what is wrong, or nothing */
export async function requestMicrophone() {
  try {
    const stream = await navigator.mediaDevices.getUserMedia({ audio: AUDIO });
    for (const track of stream.getTracks()) track.stop();
    return "";
  } catch (error) {
    return whyNot(error);
  }
}

/**
 * @param {{onTwo: () => void, onTrouble: (text: string) => void}} given
 * @returns {{stop: () => void, pause: (ms: number) => void}} `pause`: hear nothing for so long
 */
export function startClapDetection({ onTwo, onTrouble }) {
  /** @type {AudioContext | null} */
  let context = null;
  /** @type {AudioWorkletNode | null} */
  let node = null;
  let session = 0;

  async function open() {
    const mySession = (session += 1);
    /** @type {MediaStream | null} */
    let stream = null;
    const audio = new AudioContext();
    const isOver = () => {
      if (mySession === session) return false;
      close(audio, stream);
      return true;
    };
    try {
      stream = await navigator.mediaDevices.getUserMedia({ audio: AUDIO });
      await audio.audioWorklet.addModule(new URL("onset.js", import.meta.url).href);
      if (isOver()) return;
      const onset = new AudioWorkletNode(audio, "onset");
      onset.port.onmessage = () => mySession === session && onTwo();
      // Silent, but what leads nowhere is not run.
      audio.createMediaStreamSource(stream).connect(onset).connect(audio.destination);
      const [track] = stream.getTracks();
      track.addEventListener("ended", () => {
        if (mySession === session) onTrouble(t("The microphone was taken away. Switch this off and on again."));
      });
      leave = () => close(audio, stream);
      context = audio;
      node = onset;
      pause(ignored_until_ms - performance.now());
      resume();
      onTrouble("");
    } catch (error) {
      if (!isOver()) onTrouble(whyNot(error));
      close(audio, stream);
    }
  }

  let leave = () => undefined;

  function pause(/** @type {number} */ ms) {
    ignored_until_ms = Math.max(ignored_until_ms, performance.now() + ms);
    node?.port.postMessage(ignored_until_ms - performance.now());
  }

  function shut() {
    session += 1;
    leave();
    leave = () => undefined;
    context = null;
    node = null;
  }

  function resume() {
    if (context !== null && context.state !== "running") void context.resume().catch(() => undefined);
  }

  /** Hidden, it does not listen. */
  function reopen() {
    shut();
    if (document.visibilityState === "visible") void open();
  }

  document.addEventListener("visibilitychange", reopen);
  document.addEventListener("click", resume);
  reopen();
  return {
    stop: () => {
      document.removeEventListener("visibilitychange", reopen);
      document.removeEventListener("click", resume);
      shut();
    },
    pause,
  };
}

/** @param {AudioContext} audio @param {MediaStream | null} stream @returns {undefined} */
function close(audio, stream) {
  for (const track of stream?.getTracks() ?? []) track.stop();
  void audio.close().catch(() => undefined);
}
