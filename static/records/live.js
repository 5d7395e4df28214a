/**
 * The server says at once when there is something new in the workshop: how far it has come, and nothing
 * of what is in it. Where that does not get through, it is tried again ever more seldom, and the bench
 * asks now and then, as it would without.
 */

/** How long the first word may take; a proxy that collects what it passes on gives none. */
const FIRST_MS = 10_000;
/** The server says something every 25 s. */
const WORD_MS = 60_000;
/** What held so long was no failure. */
const GOOD_MS = 30_000;
const LONGEST_MS = 600_000;

/** @type {EventSource | null} */
let source = null;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let patience;
let failures = 0;
let not_before = 0;

/** Whether the server will say it. */
export const isListening = () => source !== null;

/**
 * Listen, where the bench is looked at and nobody listens yet.
 * @param {(reached: string) => void} hear is told how far the workshop has come
 * @param {() => void} lost is called when nothing more is to be heard
 */
export function listen(hear, lost) {
  const began = performance.now();
  if (source !== null || document.visibilityState !== "visible" || began < not_before) return;
  source = new EventSource("/api/live");
  const end = () => {
    stopListening();
    const now = performance.now();
    failures = now - began > GOOD_MS ? 0 : failures + 1;
    // Not all phones at once, when the server is back.
    not_before = now + Math.min(LONGEST_MS, failures ** 2 * GOOD_MS) * (0.75 + Math.random() / 2);
    lost();
  };
  const expect = (/** @type {number} */ ms) => {
    clearTimeout(patience);
    patience = setTimeout(end, ms);
  };
  source.onerror = end;
  source.onmessage = ({ data }) => {
    expect(WORD_MS);
    hear(data);
  };
  expect(FIRST_MS);
}

/** Listen no more, for now. */
export function stopListening() {
  clearTimeout(patience);
  source?.close();
  source = null;
}
