/** Following another jug: the nearest one that is due takes the board, where this one only waits. */
import { now } from "../bench/clock.js";
import { isWaiting } from "../bench/next_jug.js";
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
 * @param {import("../bench/board_state.js").BoardState} state of the board that is shown
 * @param {import("./announcer.js").Alert[]} due the nearest first
 * @param {(path: string) => void} go
 */
export function follow({ pour, jugIndex, ahead, hasEntered }, due, go) {
  if (due.some((clock) => clock.item.id === pour.id && clock.part === jugIndex)) return;
  const next = due.find(({ key }) => !followed.has(key));
  if (!next || ahead || hasEntered || !isWaiting(pour, jugIndex, now())) return;
  // Each comes once: who goes back meant to.
  for (const { key } of due) followed.add(key);
  arrive();
  go(hrefOf(next).slice(2));
}
