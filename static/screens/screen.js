/** A screen: what it is given, and how it stays true while it is open. */

import { displayUnits } from "../bench/display_units.js";
import { get, onChange, oneAtATime } from "../records/store.js";
import { showNotKept } from "./not_kept.js";

/** @typedef {import("../records/changes.js").Change} Change */
/**
 * @typedef {object} Context what every screen is given
 * @property {Record<string, any>} workshop its record
 * @property {import("../bench/display_units.js").DisplayUnits} units
 * @property {(path: string) => void} go to another screen
 */
/**
 * @typedef {object} Screen
 * @property {(place: HTMLElement, path: string[], given: Context) => Promise<(() => void) | void>} show draws it;
 *   answers what is to be done on leaving
 */

/** @returns {Promise<Context>} */
export async function context() {
  const workshop = (await get("workshop", "workshop")) ?? { kind: "workshop", id: "workshop" };
  return { workshop, units: displayUnits(workshop), go: (path) => (location.hash = `#/${path}`) };
}

/**
 * Draw a screen now, and again whenever something changes that concerns it, here or on another device.
 * @param {(change: Change) => boolean} concerns @param {() => Promise<void>} draw
 * @returns {Promise<() => void>} unsubscribe
 */
export async function drawOnChange(concerns, draw) {
  const first = draw();
  const again = oneAtATime(() => first.then(draw));
  // Subscribed while it is read for the first time: what changes meanwhile is not missed.
  const unsubscribe = onChange((changes) => {
    if (changes.some(concerns)) again();
  });
  await first.catch((error) => {
    unsubscribe();
    throw error;
  });
  return unsubscribe;
}

/** Whether a change is one of these kinds'. @param {...string} kinds @returns {(change: Change) => boolean} */
export function ofKinds(...kinds) {
  return ({ kind }) => kinds.includes(kind);
}

/** Keep something, and say so where it could not be kept. @param {() => Promise<unknown>} work
 * @param {string} [movedOn] the words for a pour that has moved on elsewhere @returns {Promise<boolean>} whether it is kept */
export async function tryToKeep(work, movedOn = "") {
  try {
    await work();
    return true;
  } catch (error) {
    showNotKept(error, movedOn);
    return false;
  }
}
