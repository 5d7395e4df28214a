/** The strip: every clock that runs on the bench, on every screen. */
import { session } from "../bench/session.js";
import { how } from "../records/push.js";
import { clockText } from "../words/dates.js";
import { t } from "../words/door.js";
import { startAnnouncer } from "./announcer.js";
import { h, setText } from "./dom.js";
import { pourStation } from "./pour_station.js";
import { addStation, hrefOf, partHere, stationOf } from "./stations.js";

/** @typedef {import("../bench/session.js").Tick} Tick */

addStation("pour", pourStation);

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
  await session.start((clock) => hrefOf(clock) === partHere());
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
  const here = partHere();
  const chips = chipsOf(tick, here);
  const alone = chips.length <= 1 && chips[0]?.href === here && !document.body.hasAttribute("data-ahead");
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

/** @param {Tick} tick @param {string} here */
function chipsOf({ clocks, now_ms }, here) {
  return session.items().flatMap((item) =>
    stationOf(item)
      .chips(item, here)
      .map(({ part, name, state }) => {
        const clock = clocks.find((each) => each.item.id === item.id && each.part === part);
        const left_s = clock ? (clock.at_ms - now_ms) / 1000 : null;
        return {
          href: hrefOf({ item, part }),
          name,
          time: left_s === null ? state : timeLeft(left_s),
          due: left_s !== null && left_s <= 0,
        };
      }),
  );
}

/** @param {number} left_s */
function timeLeft(left_s) {
  if (left_s > 0) return clockText(left_s);
  return left_s <= -60 ? `\u2212${clockText(Math.floor(-left_s / 60) * 60)}` : t("now");
}
