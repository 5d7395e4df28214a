/**
 * The back-up bell: a note with the server of when the clocks on the bench ring, so that a push can
 * wake a phone that has gone to sleep.
 */
import { ask, syncStatus } from "../records/exchange.js";
import { how } from "../records/push.js";

/** @typedef {ReturnType<typeof import("../bench/pours.js").clocks>[number]} Clock */

const SETTLE_MS = 1000;
const AGAIN_MS = 30_000;
/** A bell that moves by less is left where it is. */
const NEAR_MS = 5000;
/** What the server takes: so many bells, so far ahead. */
const MOST = 20;
const FURTHEST_MS = 20 * 3_600_000;

/** @type {Record<Clock["what"], [string, string]>} */
const SAYS = {
  hot: ["too hot in a minute", "Heat down."],
  warm: ["should be warm enough", "Off the heat, and dip."],
  stir: ["stirred long enough", ""],
  temperature: ["should be at temperature", "Dip to be sure."],
};

/** What a clock says when it rings, and what to do. @param {Clock} clock */
function inWords({ pour: { sheet }, jug, what }) {
  const which = sheet.jugs.length > 1 ? `${sheet.title}, jug ${jug + 1}` : sheet.title;
  const [says, body] = SAYS[what];
  return { title: `${which}: ${says}`, body };
}

/** @type {Clock[]} */
let running = [];
/** The clocks that the server was told of; null: not known. @type {string | null} */
let told = null;
let busy = false;
let again_at = 0;

addEventListener("online", () => (again_at = 0));

/** Tell the server of the bells where a clock has come, moved or gone. Call it often.
 * @param {Clock[]} clocks @param {number} now_ms */
export async function noteBells(clocks, now_ms) {
  running = clocks;
  if (how() !== "on") told = null;
  else if (!busy && performance.now() >= again_at && told !== inShort()) {
    busy = true;
    await new Promise((resolve) => setTimeout(resolve, SETTLE_MS));
    const short = inShort();
    const bells = running.filter(({ at_ms }) => at_ms > now_ms && at_ms < now_ms + FURTHEST_MS).slice(0, MOST);
    // Until it has answered, it may know of these or of those before.
    told = null;
    await ask("/api/bells", {
      bells: bells.map((clock) => ({
        pour: clock.pour.id,
        jug: clock.jug,
        at_ms: Math.round(clock.at_ms + syncStatus.offset_ms),
        ...inWords(clock),
      })),
    }).then(
      () => (told = short),
      () => (again_at = performance.now() + AGAIN_MS),
    );
    busy = false;
  }
}

/** One that has rung stays as it is: the server may be at it. */
function inShort() {
  return running.map(({ key, at_ms }) => key + Math.round(at_ms / NEAR_MS)).join();
}
