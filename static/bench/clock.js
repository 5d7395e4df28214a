/** The bench's clock: wall time that runs on the monotonic clock, so that a correction of the
 * phone's clock in mid-pour moves no countdown. After a sleep the wall clock is right again. */

let offset_ms = Date.now() - performance.now();

/** Milliseconds since 1970. */
export function now() {
  return Math.round(performance.now() + offset_ms);
}

/** Some phones stop the monotonic clock while they sleep: take the wall clock where it is ahead. */
function wake() {
  const wall_ms = Date.now() - performance.now();
  if (wall_ms > offset_ms) offset_ms = wall_ms;
}

for (const name of ["visibilitychange", "resume"]) document.addEventListener(name, wake);
for (const name of ["pageshow", "focus"]) window.addEventListener(name, wake);
