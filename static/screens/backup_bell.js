/**
 * The back-up bell: a note with the server of when the clocks on the bench ring, so that a push can
 * wake a phone that has gone to sleep.
 */
import { ahead } from "../bench/clock.js";
import { ask } from "../records/exchange.js";
import { how } from "../records/push.js";
import { stationOf } from "./stations.js";

/** @typedef {import("../bench/session.js").Clock} Clock */

const SETTLE_MS = 1000;
const AGAIN_MS = 30_000;
/** A bell that moves by less is left where it is. */
const NEAR_MS = 5000;
/** What the server takes: so many bells, so far ahead. */
const MOST = 20;
const FURTHEST_MS = 20 * 3_600_000;

/** @type {Clock[]} */
let running = [];
/** The clocks that the server knows of, in short; null: which ones is not sure. @type {string | null} */
let noted = null;
let busy = false;
let again_at = 0;

let signal_at = 0;

addEventListener("online", () => {
  signal_at = performance.now();
  again_at = 0;
});

/** Note the bells with the server where a clock has come, moved or gone. Call it often.
 * @param {Clock[]} clocks @param {number} now_ms */
export async function noteBells(clocks, now_ms) {
  running = clocks;
  if (how() !== "on") noted = null;
  else if (!busy && performance.now() >= again_at && noted !== inShort()) {
    busy = true;
    await new Promise((resolve) => setTimeout(resolve, SETTLE_MS));
    const short = inShort();
    const bells = running.filter(({ at_ms }) => at_ms > now_ms && at_ms < now_ms + FURTHEST_MS).slice(0, MOST);
    const asked_at = performance.now();
    // Until it has answered, it may know of these or of those before.
    noted = null;
    await ask("/api/bells", {
      bells: bells.map((clock) => ({
        of: clock.item.record.kind,
        id: clock.item.id,
        part: clock.part,
        at_ms: Math.round(clock.at_ms - ahead()),
        ...stationOf(clock.item).bell(clock),
      })),
    }).then(
      () => (noted = short),
      // What was asked without signal is asked at once when there is.
      () => (again_at = signal_at > asked_at ? 0 : performance.now() + AGAIN_MS),
    );
    busy = false;
  }
}

/** One that has rung stays as it is: the server may be at it. */
function inShort() {
  return running.map(({ key, at_ms }) => key + Math.round(at_ms / NEAR_MS)).join();
}
