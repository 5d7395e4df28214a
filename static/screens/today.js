/** What is on the bench, due, overdue and coming. */

import { now } from "../bench/clock.js";
import { coming, due, nameOf, remindersOf, SAYS, settingsOf } from "../bench/due.js";
import { allPours, clocks, isOnBench, ofEach } from "../bench/pours.js";
import { stepsOf } from "../bench/prompt.js";
import { putOff, seenTo } from "../bench/reminder_events.js";
import { daysLeft } from "../formulas/cure.js";
import * as store from "../records/store.js";
import { clockText, dayText, localDate } from "../words/dates.js";
import { worded } from "../words/door.js";
import { card, cloneTemplate, h, replaceKeepingFocus, setText, showToast, slot } from "./dom.js";
import { offline } from "./offline_state.js";
import { FIRSTS, leadTo, nextOf } from "./onboarding.js";
import { aboutKind, KINDS } from "./workshop.js";

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-today"));
  let kept = await readKept();
  const draw = () => drawToday(place, kept);
  draw();
  drawFirsts(place, kept);
  // The store is read when something changes; the clocks only need what was read.
  const timer = setInterval(draw, 1000);
  const unsubscribe = store.onChange(
    store.oneAtATime(async () => {
      kept = await readKept().catch(() => kept);
      draw();
      drawFirsts(place, kept);
    }),
  );
  const unsubscribeOffline = offline.onChange(draw);
  return () => {
    clearInterval(timer);
    unsubscribe();
    unsubscribeOffline();
  };
}

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {Awaited<ReturnType<typeof readKept>>} Kept */

async function readKept() {
  const [pours, vessels, waxes, oils, recipes] = await Promise.all([
    allPours(),
    ...["vessel", "wax", "fragrance", "recipe"].map(store.all),
  ]);
  const workshop = (await store.get("workshop", "workshop")) ?? {};
  const apart = (await Promise.all([...KINDS, "recipe", "workshop"].map(store.clashing))).flat();
  const settings = settingsOf(workshop);
  const away = ofEach(
    /** @type {Pour[]} */ (pours).filter((pour) => !isOnBench(pour)),
    (pour) => [
      // What she does not want to be told is shown all the same.
      { pour, reminders: remindersOf(pour, { ...settings, off: [] }) },
    ],
  );
  return {
    here: /** @type {Pour[]} */ (pours).filter(isOnBench),
    away,
    vessels,
    waxes,
    oils,
    recipes,
    apart,
    settings,
  };
}

let drawn = "";

/** @param {HTMLElement} place @param {Kept} kept */
function drawToday(place, { here, away, apart, settings }) {
  const now_ms = now();
  const today = localDate(now_ms);
  setText(slot(place, "date"), dayText(today));
  const notices = slot(place, "notices");
  // Once there it stays, with the good news, or all below would jump.
  const notice = offline.state === "ready" && !notices.hasChildNodes() ? "" : offline.text();
  notices.replaceChildren(...(notice ? [h("p", { class: "beware notice" }, notice)] : []));
  const clashes = apart.map(({ kind, id, name }) => ({
    href: `#/history/${kind}/${id}`,
    over: "changed on two devices",
    name: kind === "workshop" ? (aboutKind(kind).many ?? "") : String(name),
    right: "choose",
  }));
  const lines = away.flatMap((each) => awayLines(each, settings.off, today, now_ms));
  const groups = [
    { lines: [...ofEach(here, (pour) => [benchLine(pour, now_ms)]), ...clashes] },
    { heading: "Due", lines: sooner(lines.filter(({ asks }) => asks)) },
    { heading: "Coming", lines: sooner(lines.filter(({ asks }) => !asks)) },
  ];
  const cards = slot(place, "cards");
  // Every second the clocks read differently, and no more: what was replaced under a finger would not be heard.
  const rest = JSON.stringify(groups, (key, value) => (key === "right" ? Boolean(value) : value));
  if (rest === drawn && cards.hasChildNodes()) {
    const values = cards.querySelectorAll(".card .value");
    groups
      .flatMap(({ lines }) => lines)
      .forEach(({ right }, index) => right && setText(/** @type {Element} */ (values[index].firstElementChild), right));
    return;
  }
  drawn = rest;
  replaceKeepingFocus(cards, ...groups.flatMap(drawGroup));
  showBadge(new Set(lines.filter(({ asks }) => asks?.wanted).map(({ href }) => href)).size);
}

/**
 * @typedef {object} Line
 * @property {string} href @property {string} over @property {string} name
 * @property {string} [right] @property {string} [under]
 * @property {number} [at_ms] when it is due
 * @property {Asks} [asks] it is due, and this is what she can say to it
 */
/** @typedef {{pour: string, reminder: string, day: string, done: boolean, wanted: boolean}} Asks */

/** @param {Line[]} lines */
const sooner = (lines) => lines.sort((a, b) => (a.at_ms ?? 0) - (b.at_ms ?? 0));

/** @param {{heading?: string, lines: Line[]}} group */
function drawGroup({ heading, lines }) {
  const drawn = lines.map((line) =>
    line.asks ? h("div", { class: "asks" }, card(line), answers(line.asks)) : card(line),
  );
  return heading && lines.length > 0 ? [h("h2", { class: "group" }, heading), ...drawn] : drawn;
}

/** @param {Asks} asks */
function answers({ pour, reminder, day, done }) {
  const button = (/** @type {string} */ label, /** @type {() => {type: string}} */ event) =>
    h("button", { type: "button", class: "quiet small", onclick: () => void keep(pour, event()) }, label);
  return h(
    "p",
    {},
    done && button("Done", () => seenTo(reminder, day)),
    button("Tomorrow", () => putOff(reminder, day)),
  );
}

/** @param {string} pour @param {{type: string}} event */
async function keep(pour, event) {
  try {
    await store.append(pour, { ...event, at: now() });
  } catch (error) {
    if (!(error instanceof store.StoreError)) throw error;
    showToast(error.message);
  }
}

/** @param {number} count */
function showBadge(count) {
  const { setAppBadge, clearAppBadge } = /** @type {any} */ (navigator);
  const shown = count > 0 ? setAppBadge?.call(navigator, count) : clearAppBadge?.call(navigator);
  // Only what is installed has one.
  shown?.catch(() => undefined);
}

/** @param {Pour} pour @param {number} now_ms @returns {Line} */
function benchLine(pour, now_ms) {
  const { sheet, state, stage, id } = pour;
  const clock = clocks([pour], now_ms)[0];
  const step =
    stage === "jugs" ? (state.jugs.map((jug) => stepName(sheet, jug.step)).find((each) => each !== "") ?? "") : "";
  return {
    href: `#/pour/${id}`,
    over: "on the bench",
    name: nameOf(sheet),
    right: clock ? clockText((clock.at_ms - now_ms) / 1000) : "go on",
    under: clock
      ? clock.what === "stir"
        ? "stirring"
        : `to ${stepName(sheet, state.jugs[clock.jug].step).toLowerCase()}`
      : step,
  };
}

/** What a batch that is set aside asks of her now; else what comes next.
 * @param {Kept["away"][number]} batch @param {string[]} off what she does not want to be told
 * @param {string} today @param {number} now_ms @returns {Line[]} */
function awayLines({ pour: { sheet, stage, id }, reminders }, off, today, now_ms) {
  const [next] = coming(reminders, now_ms);
  const setting = stage === "setting";
  const base = { href: setting ? `#/finish/${id}` : `#/entry/${id}`, name: nameOf(sheet) };
  const then = next && `${SAYS[next.kind]} ${dayText(next.on)}`;
  const asked = due(reminders, now_ms).map(({ kind, day, on, at_ms }) => {
    const trim = kind === "trim" || kind === "label";
    const late = on < today;
    return {
      ...base,
      over: trim ? "setting" : SAYS[kind],
      right: kind === "cured" || kind === "best" ? "ready" : late ? "overdue" : trim ? "now" : "today",
      under: late ? `since ${dayText(on)}` : trim ? "trim and label" : then,
      at_ms,
      // What is trimmed is said on its own screen, where the tops are looked at.
      asks: { pour: id, reminder: kind, day, done: !trim, wanted: !off.includes(kind) },
    };
  });
  if (asked.length > 0 || next === undefined) return asked;
  const days = daysLeft(next.on, 0, today);
  const right = days <= 0 ? "today" : days === 1 ? "tomorrow" : `${days} days`;
  const isTrim = next.kind === "trim" || next.kind === "label";
  const over = setting ? "setting" : next.kind === "cured" ? "curing" : "cured";
  return [{ ...base, over, right, under: setting && isTrim ? "trim and label" : then, at_ms: next.at_ms }];
}

/** @param {import("../bench/sheet.js").Sheet} sheet @param {string} step */
function stepName(sheet, step) {
  return stepsOf(sheet).find(([each]) => each === (step === "over" ? "fragrance" : step))?.[1] ?? "";
}

/** @param {HTMLElement} place @param {Kept} kept */
function drawFirsts(place, { vessels, waxes, oils, recipes }) {
  const section = slot(place, "first");
  const start = slot(place, "start");
  section.hidden = recipes.length > 0;
  if (section.hidden) {
    start.href = recipes.length === 1 ? `#/plan/${recipes[0].id}` : "#/recipes/pour";
    setText(start, "Start a pour");
    return;
  }
  const there = [vessels, waxes, oils, recipes].map(({ length }) => length > 0);
  leadTo(start, /** @type {string} */ (nextOf(there)));
  if (section.dataset.drawn === there.join()) return;
  section.dataset.drawn = there.join();
  replaceKeepingFocus(
    slot(place, "firsts"),
    ...FIRSTS.map(([kind, text], index) =>
      h(
        "li",
        { class: there[index] ? "done" : "" },
        h("a", { href: `#/edit/${kind}/new` }, worded(text)),
        there[index] ? " ✓" : "",
      ),
    ),
  );
}
