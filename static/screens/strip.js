/** The strip: every clock that runs on the bench, on every screen. */

import { now } from "../bench/clock.js";
import { apartFrom } from "../bench/cues.js";
import { clocks, isOnBench, poursOnBench, readPour } from "../bench/pours.js";
import { onChange } from "../records/store.js";
import { clockText } from "../words/dates.js";
import { startCaller } from "./announcer.js";
import { noteBells } from "./backup_bell.js";
import { h, setText } from "./dom.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {ReturnType<typeof clocks>[number]} Clock */

/** @type {Set<(due: Clock[]) => void>} */
const listeners = new Set();
/** @type {Pour[]} */
let pours = [];

/** Draw it now: a screen has come. */
export let tickStrip = () => {};

/** Hear each tick, and which clocks are due, the first of them first. @param {(due: Clock[]) => void} listen
 * @returns {() => void} stop listening */
export function onTick(listen) {
  listeners.add(listen);
  return () => listeners.delete(listen);
}

/** How many jugs are not yet poured. */
export function jugsOnBench() {
  return pours.flatMap(({ state }) => state.jugs).filter(({ step }) => step !== "done").length;
}

export async function showStrip() {
  const place = /** @type {HTMLElement} */ (document.getElementById("strip"));
  const call = await startCaller();
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;

  /** Read the pours that changed, and no others: the log grows, the bench does not.
   * @param {{kind: string, id: string}[]} changes */
  const reread = async (changes) => {
    const ids = new Set(changes.filter(({ kind }) => kind === "event" || kind === "pour").map(({ id }) => id));
    if (ids.size === 0) return;
    const fresh = await Promise.all([...ids].map((id) => readPour(id).catch(() => null)));
    const onBench = fresh.flatMap((pour) => (pour !== null && isOnBench(pour) ? [pour] : []));
    pours = [...pours.filter((pour) => !ids.has(pour.id)), ...onBench].sort(byStart);
    tick();
  };

  function tick() {
    const now_ms = now();
    const running = clocks(pours, now_ms);
    clearTimeout(timer);
    timer = setTimeout(tick, untilTick(running, now_ms));
    call(pours, now_ms);
    const due = running.filter(({ at_ms }) => at_ms <= now_ms);
    for (const listen of listeners) listen(due);
    if (!document.hidden) draw(running, now_ms);
    void noteBells(running, now_ms);
  }

  /** @param {Clock[]} running @param {number} now_ms */
  function draw(running, now_ms) {
    const alarm = document.querySelector('[data-slot="alarm"]');
    if (alarm instanceof HTMLElement) drawAlarm(alarm, running, now_ms);
    const here = jugHere();
    const chips = chipsOf(running, now_ms);
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

  tickStrip = tick;
  onChange((changes) => void reread(changes));
  for (const name of ["visibilitychange", "resume"]) document.addEventListener(name, tick);
  window.addEventListener("hashchange", tick);
  tick();
  pours = await poursOnBench();
  tick();
}

/** How long until the clock that is on the board, or else the next to ring, shows another second: one
 * tick a second is all that a countdown costs. @param {Clock[]} running @param {number} now_ms */
function untilTick(running, now_ms) {
  const first = running.find((clock) => hrefOf(clock) === jugHere()) ?? running[0];
  const left_ms = first ? (first.at_ms - now_ms) % 1000 : 0;
  return left_ms > 0 ? left_ms : left_ms + 1000;
}

/** @param {Clock} clock */
function hrefOf({ pour, jug }) {
  return `#/pour/${pour.id}/${jug}`;
}

/** The address of the jug on the board; without a number it is the first. */
function jugHere() {
  return location.hash.replace(/^(#\/pour\/[^/]+)\/?$/, "$1/0");
}

/** The one begun first comes first. @param {Pour} a @param {Pour} b */
function byStart(a, b) {
  return a.record.started_at - b.record.started_at;
}

/** What is due, as short as it can be read from two metres: on its own board, and on another.
 * @type {Record<Clock["what"], [string, string]>} */
const DUE = {
  hot: ["Heat down", "Heat down"],
  warm: ["Warm enough?", "Off the heat"],
  stir: ["Stirred long enough", "Stirred"],
  temperature: ["At temperature?", "Dip"],
};

/** A jug by name, in a line or two. @param {Pour} pour @param {number} index @returns {[string, string]} */
function nameOf({ id, sheet }, index) {
  const { title, number, jug } = apartFrom(pours, id, index);
  return title === "" ? [jug || sheet.title, ""] : [title, [number, jug].filter(Boolean).join(", ")];
}

/** One chip for each jug that she can go on with; of those not begun, the next. @param {Clock[]} running @param {number} now_ms */
function chipsOf(running, now_ms) {
  return pours.flatMap((pour) => {
    const { jugs } = pour.state;
    const next = jugs.findIndex(({ weighed_at }) => weighed_at === null);
    return jugs.flatMap((jug, index) => {
      const href = `#/pour/${pour.id}/${index}`;
      if (href !== jugHere() && (jug.step === "done" || (index > next && jug.weighed_at === null))) return [];
      const clock = running.find((each) => each.pour.id === pour.id && each.jug === index);
      const left_s = clock ? (clock.at_ms - now_ms) / 1000 : null;
      const late = left_s !== null && left_s <= -60 ? `\u2212${clockText(Math.floor(-left_s / 60) * 60)}` : "now";
      return {
        href,
        name: nameOf(pour, index),
        time: left_s === null ? (jug.step === "done" ? "poured" : jug.step) : left_s > 0 ? clockText(left_s) : late,
        due: left_s !== null && left_s <= 0,
      };
    });
  });
}

/** Which clock has rung, above the number: its own, or else the first of the others, where a touch goes.
 * @param {HTMLElement} place @param {Clock[]} running @param {number} now_ms */
function drawAlarm(place, running, now_ms) {
  const due = running.filter(({ at_ms }) => at_ms <= now_ms);
  const own = due.find((clock) => hrefOf(clock) === jugHere());
  const first = own ?? due[0];
  place.hidden = !first;
  const text = !first
    ? ""
    : own
      ? DUE[own.what][0]
      : `${DUE[first.what][1]}: ${nameOf(first.pour, first.jug).join(" ").trim()}`;
  const href = !first || own ? "" : hrefOf(first);
  if (place.dataset.drawn === text + href) return;
  place.dataset.drawn = text + href;
  place.replaceChildren(href ? h("a", { href }, text) : h("p", {}, text));
}
