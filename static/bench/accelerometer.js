/** Two knocks on the bench, felt by the phone that stands on it. */
import { t } from "../words/door.js";
import { SHAKEN, shaking, twoKnocks } from "./knocks.js";

/** A phone that can feel it says so at least this soon. */
const SILENT_MS = 3000;

export const hasMotionSensor = () => "DeviceMotionEvent" in globalThis;

/** Ask to be told of movement; some phones allow that in a tap only. @returns {Promise<string>} what is wrong, or nothing */
export async function requestMotion() {
  const answer = await /** @type {any} */ (DeviceMotionEvent).requestPermission?.().catch(() => "denied");
  return answer === "denied"
    ? t(
        "This browser was told not to report movement. Allow motion for this page in its settings, then switch this on again.",
      )
    : "";
}

/** @param {{onTwo: () => void, onTrouble: (text: string) => void}} given
 * @returns {import("./hands_free.js").Running} */
export function startKnockDetection({ onTwo, onTrouble }) {
  let ignored_until_ms = 0;
  let [shaken, two] = [shaking(), twoKnocks(SHAKEN)];
  let felt = false;
  const onMotion = (/** @type {DeviceMotionEvent} */ { timeStamp, accelerationIncludingGravity, acceleration }) => {
    const { x, y, z } = accelerationIncludingGravity?.x == null ? (acceleration ?? {}) : accelerationIncludingGravity;
    const level = shaken(timeStamp / 1000, x ?? NaN, y ?? NaN, z ?? NaN);
    if (Number.isNaN(level)) return;
    if (!felt) {
      felt = true;
      onTrouble("");
    }
    if (timeStamp < ignored_until_ms) [shaken, two] = [shaking(), twoKnocks(SHAKEN)];
    else if (two(timeStamp / 1000, level)) onTwo();
  };
  // A phone that asks forgets what it was allowed when the browser closes.
  const ask = () => {
    if (!felt) void requestMotion();
  };
  addEventListener("devicemotion", onMotion);
  document.addEventListener("click", ask);
  const timer = setTimeout(() => {
    if (!felt)
      onTrouble(
        t(
          "The bench can't feel knocks yet: this device reports no movement. Tap it once. If this message stays, use claps.",
        ),
      );
  }, SILENT_MS);
  return {
    stop() {
      removeEventListener("devicemotion", onMotion);
      document.removeEventListener("click", ask);
      clearTimeout(timer);
    },
    // Bells shake the phone that rings them; a voice does not.
    pause(ms, shakes) {
      if (shakes) ignored_until_ms = Math.max(ignored_until_ms, performance.now() + ms);
    },
  };
}
