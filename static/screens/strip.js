/** The strip: every clock that runs on the bench, on every screen. */
import { session } from "../bench/session.js";
import { how } from "../records/push.js";
import { clockText } from "../words/dates.js";
import { message, t, worded } from "../words/door.js";
import { startAnnouncer } from "./announcer.js";
import { h, setText } from "./dom.js";
import { jugHere, jugHref, jugName } from "./jug_links.js";

/** @typedef {import("../bench/session.js").Tick} Tick */

/** Where a jug is whose clock does not run. @type {Record<import("../bench/fold.js").Step, import("../words/door.js").Message>} */
const STEPS = {
  wax: message("wax"),
  melt: message("melt"),
  extras: message("extras"),
  cool: message("cool"),
  fragrance: message("fragrance"),
  over: message("too much"),
  add: message("add"),
  stir: message("stir"),
  settle: message("cool"),
  pour: message("pour"),
  done: message("poured"),
};

/** Begin the bench session, and show it above every screen. */
export async function showStrip() {
  const place = /** @type {HTMLElement} */ (document.getElementById("strip"));
  await startAnnouncer();
  session.onTick((tick) => {
    if (!document.hidden) draw(place, tick);
  });
  session.onTick(noteBells);
  for (const name of ["visibilitychange", "resume"]) document.addEventListener(name, () => session.tick());
  window.addEventListener("hashchange", () => session.tick());
  await session.start(({ pour, jug }) => jugHref(pour.id, jug) === jugHere());
}

/** @type {Promise<typeof import("./backup_bell.js")> | null} */
let bells = null;

/** Where the server may wake this phone, let it know of the clocks. @param {Tick} tick */
function noteBells({ clocks, now_ms }) {
  if (how() === "on") bells ??= import("./backup_bell.js");
  bells?.then(
    (bell) => bell.noteBells(clocks, now_ms),
    () => (bells = null),
  );
}

/** @param {HTMLElement} place @param {Tick} tick */
function draw(place, tick) {
  const here = jugHere();
  const chips = chipsOf(tick);
  const alone = chips.length <= 1 && here.startsWith("#/pour/") && !document.body.hasAttribute("data-ahead");
  place.hidden = alone || chips.length === 0;
  place.dataset.chips = String(chips.length);
  // A link that was replaced under the finger would not be heard.
  const which = chips.map(({ href }) => href).join(" ");
  if (place.dataset.drawn !== which) {
    place.dataset.drawn = which;
    place.replaceChildren(
      ...chips.map(({ href }) => h("a", { href }, h("span", {}, h("span"), " ", h("span")), h("b"))),
    );
  }
  chips.forEach(({ href, name, time, due }, index) => {
    const chip = /** @type {HTMLElement} */ (place.children[index]);
    name.forEach((line, place) => setText(chip.children[0].children[place], line));
    setText(chip.children[1], time);
    chip.classList.toggle("due", due);
    if (href === here) chip.setAttribute("aria-current", "page");
    else chip.removeAttribute("aria-current");
  });
}

/** One chip for each jug that she can go on with; of those not begun, the next. @param {Tick} tick */
function chipsOf({ clocks, now_ms }) {
  return session.items().flatMap((pour) => {
    const { jugs } = pour.state;
    const next = jugs.findIndex(({ weighed_at }) => weighed_at === null);
    return jugs.flatMap((jug, index) => {
      const href = jugHref(pour.id, index);
      if (href !== jugHere() && (jug.step === "done" || (index > next && jug.weighed_at === null))) return [];
      const clock = clocks.find((each) => each.pour.id === pour.id && each.jug === index);
      const left_s = clock ? (clock.at_ms - now_ms) / 1000 : null;
      return {
        href,
        name: jugName(pour, index),
        time: left_s === null ? worded(STEPS[jug.step]) : timeLeft(left_s),
        due: left_s !== null && left_s <= 0,
      };
    });
  });
}

/** @param {number} left_s */
function timeLeft(left_s) {
  if (left_s > 0) return clockText(left_s);
  return left_s <= -60 ? `\u2212${clockText(Math.floor(-left_s / 60) * 60)}` : t("now");
}
