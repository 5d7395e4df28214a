/** What a pour on the bench shows and says of itself: in the strip, as an alarm, as a bell, on Today. */
import { apartFrom, nameOf, timedCues } from "../bench/cues.js";
import { vesselsOf } from "../bench/due.js";
import { stepsOf } from "../bench/prompt.js";
import { session } from "../bench/session.js";
import { clockText } from "../words/dates.js";
import { message, t, worded } from "../words/door.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/pours.js").JugClock} JugClock */
/** @typedef {Record<JugClock["what"], import("../words/door.js").Message>} Sentences */

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

/** What is due, as short as it can be read from two metres: on its own board, @type {Sentences} */
const HERE = {
  hot: message("Heat down"),
  warm: message("Warm enough?"),
  stir: message("Stirred long enough"),
  temperature: message("At temperature?"),
};

/** and on another. @type {Record<JugClock["what"], (jug: string) => string>} */
const ELSEWHERE = {
  hot: (jug) => t("Heat down: {jug}", { jug }),
  warm: (jug) => t("Off the heat: {jug}", { jug }),
  stir: (jug) => t("Stirred: {jug}", { jug }),
  temperature: (jug) => t("Dip: {jug}", { jug }),
};

/** What a clock says when it rings on a phone that sleeps, and what to do.
 * @type {Record<JugClock["what"], (jug: string) => {title: string, body: string}>} */
const BELLS = {
  hot: (jug) => ({ title: t("{jug}: it will be too hot in a minute", { jug }), body: t("Turn the heat down.") }),
  warm: (jug) => ({ title: t("{jug}: it should be warm enough", { jug }), body: t("Take it off the heat, and dip.") }),
  stir: (jug) => ({ title: t("{jug}: you have stirred long enough", { jug }), body: "" }),
  temperature: (jug) => ({ title: t("{jug}: it should have cooled enough", { jug }), body: t("Dip to be sure.") }),
};

/** The address of a jug's board. @param {string} pour @param {number} jug */
export function jugHref(pour, jug) {
  return `#/pour/${pour}/${jug}`;
}

/** @type {import("./stations.js").Station<Pour>} */
export const pourStation = {
  href: jugHref,
  parts: ({ state }) => state.jugs,
  cues: timedCues,
  spokenName: nameOf,
  chips,
  alarm: ({ item, part, what }, elsewhere) =>
    elsewhere ? ELSEWHERE[whatOf(what)](jugName(item, part).join(" ").trim()) : worded(HERE[whatOf(what)]),
  bell({ item, part, what }) {
    const { title, jugs } = item.sheet;
    return BELLS[whatOf(what)](jugs.length > 1 ? t("{title}, jug {n}", { title, n: part + 1 }) : title);
  },
  line,
};

/** @param {string} what @returns {JugClock["what"]} */
const whatOf = (what) => /** @type {JugClock["what"]} */ (what);

/** Each jug that she can go on with; of those not begun, the next. @param {Pour} pour @param {string} here */
function chips(pour, here) {
  const { jugs } = pour.state;
  const next = jugs.findIndex(({ weighed_at }) => weighed_at === null);
  return jugs.flatMap((jug, part) => {
    const isShown = jugHref(pour.id, part) === here;
    if (!isShown && (jug.step === "done" || (part > next && jug.weighed_at === null))) return [];
    return [{ part, name: jugName(pour, part), state: worded(STEPS[jug.step]) }];
  });
}

/** A jug by name, in a line or two. @param {Pour} pour @param {number} index @returns {[string, string]} */
function jugName({ id, sheet }, index) {
  const { title, number, jug } = apartFrom(session.items(), id, index);
  if (title === "") return [jug || sheet.title, ""];
  return [title, number && jug ? t("{number}, {jug}", { number, jug }) : number || jug];
}

// ---- on Today --------------------------------------------------------------------------------------

/** @param {Pour} pour @param {import("../bench/session.js").Clock[]} clocks all that run, the next to ring first
 * @param {number} now_ms @returns {import("./today_lines.js").Line} */
function line(pour, clocks, now_ms) {
  const clock = /** @type {JugClock | undefined} */ (clocks.find(({ item }) => item.id === pour.id));
  const left_s = clock ? (clock.at_ms - now_ms) / 1000 : 0;
  const doing = clock ? (left_s > 0 ? waitText(pour, clock) : nowText(pour, clock)) : stepText(pour);
  return {
    href: `#/pour/${pour.id}`,
    name: pour.sheet.title,
    line: vesselsOf(pour.sheet) + (doing && `, ${doing}`),
    of: pour.sheet,
    right: !clock ? t("go on") : left_s > 0 ? clockText(left_s) : t("now"),
  };
}

/** What a jug does while its clock runs. @param {Pour} pour @param {JugClock} clock */
function waitText(pour, { part, what }) {
  if (what === "stir") return t("stirring");
  if (what === "hot") return t("melting");
  if (what === "warm") return t("warming");
  return isForFragrance(pour, part) ? t("cooling for fragrance") : t("cooling to pour");
}

/** What a clock that has run out asks for. @param {Pour} pour @param {JugClock} clock */
function nowText(pour, { part, what }) {
  if (what === "stir") return t("stirred long enough");
  if (what === "hot") return t("time to turn the heat down");
  if (what === "warm") return t("time to dip");
  return isForFragrance(pour, part) ? t("time for fragrance") : t("time to pour");
}

/** @param {Pour} pour @param {number} jugIndex */
function isForFragrance({ sheet, state }, jugIndex) {
  return state.jugs[jugIndex].step === "cool" && sheet.load > 0;
}

/** The first step that is still to do. @param {Pour} pour */
function stepText({ sheet, state, stage }) {
  if (stage !== "jugs") return "";
  const names = new Map(stepsOf(sheet));
  const found = state.jugs.map(({ step }) => names.get(step === "over" ? "fragrance" : step));
  return found.find((name) => name !== undefined) ?? "";
}
