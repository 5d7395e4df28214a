/** What is heard, seen on the board: the mute button, words that nobody speaks, and what can't be heard. */
import { prefer, preferences } from "../bench/preferences.js";
import { canRing } from "../bench/sound.js";
import { onVoice, said, voiceState } from "../bench/voice.js";
import { t } from "../words/door.js";
import { setText, slot } from "./dom.js";

/** So long are words shown that nobody speaks. */
const CAPTION_MS = 8000;

/** when something was last said */
let said_at_ms = -Infinity;

const isMuted = () => !preferences().voice && !preferences().sound;

/** Let the board's button mute and unmute. @param {HTMLElement} place */
export function startMuteButton(place) {
  slot(place, "mute").addEventListener("click", () => {
    const on = isMuted();
    prefer({ voice: on, sound: on });
  });
}

/** Hear that the caption may have changed. @param {() => void} listener @returns {() => void} unsubscribe */
export function onCaption(listener) {
  said_at_ms = -Infinity;
  return onVoice(() => {
    said_at_ms = performance.now();
    listener();
  });
}

/** Words that nobody speaks are shown; and what can't be heard is said before the wax goes on.
 * @param {HTMLElement} place @param {{step: string}} prompt */
export function paintSound(place, { step }) {
  slot(place, "mute").toggleAttribute("data-off", isMuted());
  setText(slot(place, "heard"), isMuted() ? t("off") : t("on"));
  const warning = silenceWarning(step === "ready");
  const silent = slot(place, "silent");
  silent.hidden = warning === "";
  setText(silent, warning);
  const inWords = voiceState() !== "spoken";
  place.querySelector(".board")?.toggleAttribute("data-words", inWords);
  const unheard = inWords && performance.now() - said_at_ms < CAPTION_MS;
  setText(slot(place, "caption"), unheard ? said : "");
}

/** What can't be heard, in a sentence; later than at the start only what a touch mends.
 * @param {boolean} starting */
function silenceWarning(starting) {
  const voice = voiceState();
  if (isMuted()) return starting ? t("Voice and bells are off.") : "";
  if (voice === "none")
    return starting ? t("This phone has no voice of its own in English: bells, and words on the screen.") : "";
  if (voice === "failed")
    return starting ? t("The phone's voice does not answer: bells, and words on the screen.") : "";
  return canRing() || starting ? "" : t("The bell is off until you touch the screen once.");
}
