/**
 * The bench's clock: wall time that runs on the monotonic clock, so that a correction of the phone's clock in
 * mid-pour moves no countdown. It is the server's time once that was heard, so that all phones at one bench count alike.
 *
 * Where the phone's clock is put back, the time of the bench goes on as it was until nothing is on the bench, over a
 * reload too: no wax is asked for a second time, nor thought hotter than it was. Where it is put forward, the page
 * can't tell: it looks like a phone that slept, as some stop the monotonic clock meanwhile. Then the wall clock is
 * believed, so that no wait is ever thought shorter than it was; the next dip tells what is so, and the server.
 */

/** What the server's clock is ahead of the phone's, as the bench goes by it (ms). */
const HEARD = "server clock";

/** How the two clocks stood when the bench's was last kept: `[bench, wall]`, while something is on the bench. */
const KEPT = "bench clock";
const KEEP_EVERY_MS = 10_000;
/** Clocks that are less apart were not put back: a network sets them right by a little at a time. */
const SLACK_MS = 2000;

let server_ms = Number(localStorage.getItem(HEARD)) || 0;
let offset_ms = begun() - performance.now();
let keep_at = 0;
/** What the bench went forward by where the phone may have slept, since it heard of the server's clock. */
let woke_ms = 0;

/** Milliseconds since 1970. */
export function now() {
  return Math.round(performance.now() + offset_ms);
}

/** How far the bench is ahead of the phone's clock, since that was put back (ms); 0 where they agree. */
export function ahead() {
  const by_ms = now() - wall();
  return by_ms > SLACK_MS ? by_ms : 0;
}

/** The time as the phone has it, set right by the server's: for its days, and for others. */
export function phoneNow() {
  return now() - ahead();
}

/** Keep the time of the bench while something is on it; else it is the phone's again. Call it often.
 * @param {boolean} busy */
export function goOn(busy) {
  if (!busy) {
    offset_ms = wall() - performance.now();
    localStorage.removeItem(KEPT);
    keep_at = 0;
  } else if (performance.now() >= keep_at) {
    keep_at = performance.now() + KEEP_EVERY_MS;
    keep();
  }
}

/**
 * Go by the server's clock, which is so far ahead of the phone's (ms). Where that was set anew while something is on
 * the bench, the bench goes on by the time it began with: call it again later.
 * @param {number} ahead_ms
 */
export function goBy(ahead_ms) {
  const change_ms = ahead_ms - server_ms;
  if (change_ms === 0) return;
  const isFirst = localStorage.getItem(HEARD) === null;
  // It was the phone's own clock that moved, and the bench with it or not.
  const isPhones = Math.abs(change_ms + woke_ms) < SLACK_MS || Math.abs(Date.now() + ahead_ms - now()) < SLACK_MS;
  if (localStorage.getItem(KEPT) !== null && !isFirst && !isPhones) return;
  woke_ms = 0;
  server_ms = ahead_ms;
  localStorage.setItem(HEARD, String(ahead_ms));
  offset_ms = wall() - performance.now();
  if (keep_at > 0) keep();
}

/** The phone's clock, set right by the server's. */
function wall() {
  return Date.now() + server_ms;
}

function keep() {
  localStorage.setItem(KEPT, JSON.stringify([now(), wall()]));
}

/** The time of the bench as the page opens. */
function begun() {
  const wall_ms = wall();
  const [bench_ms, then_ms] = JSON.parse(localStorage.getItem(KEPT) ?? "[0, 0]");
  // Where the clock was put back meanwhile, nothing says how long the page was closed: it goes on where it stopped.
  return Math.max(wall_ms, bench_ms + Math.max(0, wall_ms - then_ms));
}

/** The wall clock where it is ahead: the phone may have slept. And on leaving, how the clocks stand. */
function wake() {
  const slept_ms = Math.max(0, wall() - performance.now() - offset_ms);
  offset_ms += slept_ms;
  woke_ms += slept_ms;
  if (keep_at > 0) keep();
}

for (const name of ["visibilitychange", "resume"]) document.addEventListener(name, wake);
for (const name of ["pageshow", "focus", "pagehide"]) window.addEventListener(name, wake);
