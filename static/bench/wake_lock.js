/** Keeping the screen on during a pour, and saying so where the phone refuses. */

/**
 * Before version 18.4, an iPhone grants it to the home screen and lets the screen go dark all the same
 * (https://bugs.webkit.org/show_bug.cgi?id=254545). `pushManager` of the window came with that version.
 */
const isInVain = () => "standalone" in navigator && navigator.standalone === true && !("pushManager" in window);

/** @type {WakeLockSentinel | null} */
let held = null;
let wanted = false;
/** @type {(on: boolean) => void} */
let listener = () => undefined;

/** Hold the screen on until `letSleep`. @param {(on: boolean) => void} onState hears whether it is held */
export async function keepAwake(onState) {
  listener = onState;
  wanted = true;
  await request();
}

export function letSleep() {
  wanted = false;
  void held?.release().catch(() => undefined);
  held = null;
}

async function request() {
  if (!wanted || held !== null) return;
  if (isInVain()) {
    listener(false);
    return;
  }
  try {
    const sentinel = await navigator.wakeLock.request("screen");
    if (!wanted) {
      void sentinel.release();
      return;
    }
    held = sentinel;
    sentinel.addEventListener("release", () => {
      held = null;
      if (wanted) listener(false);
    });
    listener(true);
  } catch {
    listener(false);
  }
}

// The phone lets go when the page is hidden, and never takes it again by itself.
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") void request();
});
