/**
 * The back-up bell: a note with the server of when the clocks on the bench ring, so that a push can
 * wake a phone that has gone to sleep.
 */
import { ask, standing } from "../records/exchange.js";
import { how } from "../records/push.js";

/** @typedef {ReturnType<typeof import("../bench/bench.js").clocks>[number]} Clock */

const SETTLE_MS = 1000;
const AGAIN_MS = 30_000;
/** A bell that moved by less is left where it is. */
const NEAR_MS = 5000;
const MOST = 20;

/** @type {Record<Clock["what"], [string, string]>} */
const SAYS = {
  hot: ["too hot in a minute", "Heat down."],
  warm: ["should be warm enough", "Off the heat, and dip."],
  stir: ["stirred long enough", ""],
  temperature: ["should be at temperature", "Dip to be sure."],
};

/** What a clock says when it rings, and what to do. @param {Clock} clock */
export function inWords({ pour: { sheet }, jug, what }) {
  const which = sheet.jugs.length > 1 ? `${sheet.title}, jug ${jug + 1}` : sheet.title;
  const [says, body] = SAYS[what];
  return { title: `${which}: ${says}`, body };
}

/** @type {Clock[]} */
let running = [];
/** When the bells ring that the server knows of, by key; null: not known. @type {Record<string, number> | null} */
let told = null;
let busy = false;
let again_at = 0;

addEventListener("online", () => (again_at = 0));

/** Tell the server where something has changed. Call it often. @param {Clock[]} clocks @param {number} now_ms */
export async function noteBells(clocks, now_ms) {
  running = clocks;
  if (how() !== "on") told = null;
  else if (!busy && performance.now() >= again_at && isNews(now_ms)) {
    busy = true;
    await new Promise((resolve) => setTimeout(resolve, SETTLE_MS));
    await send(toRing(now_ms)).catch(() => (again_at = performance.now() + AGAIN_MS));
    busy = false;
  }
}

/** A bell has come or moved, or its clock is gone. One that has rung is no news: the server may be at it.
 * @param {number} now_ms */
function isNews(now_ms) {
  const known = told;
  if (known === null) return true;
  const isThere = (/** @type {Clock} */ { key, at_ms }) => Math.abs(known[key] - at_ms) <= NEAR_MS;
  return !toRing(now_ms).every(isThere) || !Object.keys(known).every((key) => running.some((clock) => clock.key === key));
}

/** @param {number} now_ms */
function toRing(now_ms) {
  return running.filter(({ at_ms }) => at_ms > now_ms).slice(0, MOST);
}

/** @param {Clock[]} bells */
async function send(bells) {
  // Until it has answered, it may know of these or of those before.
  told = null;
  await ask("/api/bells", {
    bells: bells.map((clock) => ({ pour: clock.pour.id, jug: clock.jug, at_ms: Math.round(clock.at_ms + standing.offset_ms), ...inWords(clock) })),
  });
  told = Object.fromEntries(bells.map(({ key, at_ms }) => [key, at_ms]));
}
