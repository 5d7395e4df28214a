/** Following another jug or candle: the nearest one that is due takes the board, where this one only waits. */
import { hrefOf } from "./stations.js";

/** A board that came by itself takes no touch so long: the finger was on its way to another. */
export const ARRIVING_MS = 800;

/** Clocks that have brought the board to their jug once. @type {Set<string>} */
const followed = new Set();
let came_at_ms = -Infinity;

/** The board shows something else by itself, from now on. */
export function arrive() {
  came_at_ms = performance.now();
}

/** Whether the board has just come by itself. */
export function isArriving() {
  return performance.now() - came_at_ms < ARRIVING_MS;
}

/**
 * @param {object} shown on the board
 * @param {string} shown.id @param {number} shown.part
 * @param {() => boolean} shown.mayLeave it only waits, and nothing that she entered is lost
 * @param {import("./announcer.js").Alert[]} due the nearest first
 * @param {(path: string) => void} go
 */
export function follow({ id, part, mayLeave }, due, go) {
  if (due.some((clock) => clock.item.id === id && clock.part === part)) return;
  const next = due.find(({ key }) => !followed.has(key));
  if (!next || !mayLeave()) return;
  // Each comes once: who goes back meant to.
  for (const { key } of due) followed.add(key);
  arrive();
  go(hrefOf(next).slice(2));
}
