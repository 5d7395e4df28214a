/** Where hands are wanted: whether a jug waits by itself, and which one comes next. Pure: `now` is given. */
import { clocksOf } from "./pours.js";

/** @typedef {import("./pours.js").Pour} Pour */

/** Whether a jug asks nothing of her: it runs by the clock or the heat, or is poured.
 * @param {Pour} pour @param {number} jugIndex @param {number} now_ms */
export function isWaiting(pour, jugIndex, now_ms) {
  const { step } = pour.state.jugs[jugIndex];
  const runs = clocksOf(pour, now_ms).some(({ part, at_ms }) => part === jugIndex && at_ms > now_ms);
  return pour.stage === "jugs" && (runs || step === "melt" || step === "done");
}

/** The jug of the same pour that wants her hands while this one waits; null: none, or this one does not wait.
 * @param {Pour} pour @param {number} jugIndex @param {number} now_ms */
export function jugMeanwhile(pour, jugIndex, now_ms) {
  if (!isWaiting(pour, jugIndex, now_ms)) return null;
  const found = pour.state.jugs.findIndex(
    ({ step, current }, index) => index !== jugIndex && (current !== null || ["melt", "add", "pour"].includes(step)),
  );
  return found < 0 ? null : found;
}

/** The first other jug of the pour that is not poured yet; else the first. @param {Pour} pour @param {number} jugIndex */
export function nextUnpoured({ state }, jugIndex) {
  return Math.max(
    0,
    state.jugs.findIndex(({ step }, index) => step !== "done" && index !== jugIndex),
  );
}

/** How many jugs are not poured yet. @param {Pour[]} pours */
export function countUnpoured(pours) {
  return pours.flatMap(({ state }) => state.jugs).filter(({ step }) => step !== "done").length;
}
