/** Keeping the screen on during a pour, and saying so where the phone refuses. */

/** @type {WakeLockSentinel | null} */
let held = null;
let wanted = false;
/** @type {(on: boolean) => void} */
let tell = () => undefined;

/** Hold the screen on until `letSleep`; `onState` hears whether it is held. @param {(on: boolean) => void} onState */
export async function keepAwake(onState) {
  tell = onState;
  wanted = true;
  await take();
}

export function letSleep() {
  wanted = false;
  void held?.release().catch(() => undefined);
  held = null;
}

async function take() {
  if (!wanted || held !== null) return;
  try {
    const sentinel = await navigator.wakeLock.request("screen");
    if (!wanted) {
      void sentinel.release();
      return;
    }
    held = sentinel;
    sentinel.addEventListener("release", () => {
      held = null;
      if (wanted) tell(false);
    });
    tell(true);
  } catch {
    tell(false);
  }
}

// The phone lets go when the page is hidden, and never takes it again by itself.
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") void take();
});
