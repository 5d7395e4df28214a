/** The board: one pour at the bench, one number at a time. */

import { curve } from "../bench/chart.js";
import { now } from "../bench/clock.js";
import { waitOf } from "../bench/countdown.js";
import { spoken } from "../bench/cues.js";
import { windowOf } from "../bench/fold.js";
import { mayDo, startHands } from "../bench/hands_free.js";
import { live, onReading } from "../bench/instruments.js";
import { addEvent, clocks, lastUndoable, readPour, undoLast } from "../bench/pours.js";
import { onPreference, prefer, preferences } from "../bench/preferences.js";
import { promptFor } from "../bench/prompt.js";
import { isFineEnough, judge, thin } from "../bench/reading_checks.js";
import { canRing, play, unlock } from "../bench/sound.js";
import { nextFragrance } from "../bench/temperature_prompt.js";
import { again, onVoice, said, speak, voiceState } from "../bench/voice.js";
import { keepAwake, letSleep } from "../bench/wake_lock.js";
import { holdPourLock } from "../offline.js";
import * as store from "../records/store.js";
import { InputError } from "../words/door.js";
import { callStep, onAsked, soundCheck } from "./announcer.js";
import { readingOf } from "./board_reading.js";
import { paintBeam, paintNumber, paintSteps, placeText } from "./board_view.js";
import { cloneTemplate, h, rich, setText, showToast, slot } from "./dom.js";
import { askReading } from "./pad.js";
import { jugsOnBench, onTick, tickStrip } from "./strip.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/prompt_shape.js").Prompt} Prompt */
/** @typedef {import("../bench/prompt_shape.js").Action} Action */

/** A nudged temperature that was not taken by then is no longer what the thermometer reads. */
const STALE_MS = 60_000;
/** So long are words shown that nobody speaks. */
const CAPTION_MS = 8000;
/** A board that came by itself takes no touch so long: the finger was on its way to another. */
const ARRIVING_MS = 800;

/** Clocks that have brought the board to their jug once. @type {Set<string>} */
const followed = new Set();
let came_at = -Infinity;

/** @param {HTMLElement} place @param {string[]} path @param {any} context */
export async function show(place, [id, jugText], { units, go }) {
  const found = await readPour(id);
  if (found === null) {
    go("today");
    return;
  }
  const jugIndex = Math.min(Math.max(0, Number(jugText) || 0), found.sheet.jugs.length - 1);
  if (found.stage === "setting" || found.stage === "curing") {
    go(found.stage === "setting" ? `finish/${id}` : `entry/${id}`);
    return;
  }
  let pour = found;
  place.append(cloneTemplate("screen-board"));
  const release = holdPourLock(id);
  void keepAwake((on) => (slot(place, "awake").hidden = on));
  place.addEventListener("click", unlock);

  /** What each part of the board shows. @type {Map<string, string>} */
  const drawn = new Map();
  let ahead = false;
  /** when something was last said */
  let said_at = -Infinity;
  /** What the main button would enter, where that is not what is expected.
   * @type {{about: string, value: number, at: number} | null} */
  let nudged = null;

  const prompted = () =>
    promptFor(pour.sheet, pour.state, jugIndex, now(), units, { ahead, whole: preferences().whole });

  /** Whether a part of the board is to be drawn anew. @param {string} part @param {unknown} shows */
  function isNew(part, shows) {
    const text = JSON.stringify(shows);
    if (drawn.get(part) === text) return false;
    drawn.set(part, text);
    return true;
  }

  function paint() {
    const prompt = prompted();
    document.body.toggleAttribute("data-ahead", ahead);
    slot(place, "act").toggleAttribute("data-arriving", performance.now() - came_at < ARRIVING_MS);
    setText(slot(place, "title"), prompt.title);
    setText(slot(place, "place"), placeText(pour, jugIndex));
    setText(slot(place, "doing"), prompt.doing);
    paintNumber(place, prompt);
    paintChart(prompt);
    paintHeard(prompt);
    const { main } = prompt;
    if (isNew("lines", prompt.lines))
      slot(place, "lines").replaceChildren(...prompt.lines.map((line) => h("p", {}, ...rich(line))));
    if (isNew("say", prompt.say)) slot(place, "say").replaceChildren(...rich(prompt.say));
    if (isNew("checks", prompt.checks)) {
      slot(place, "checks").replaceChildren(
        ...prompt.checks.map((check) =>
          h("li", {}, h("label", {}, h("input", { type: "checkbox" }), h("span", {}, check))),
        ),
      );
    }
    if (isNew("cautions", prompt.cautions))
      slot(place, "cautions").replaceChildren(...prompt.cautions.map((caution) => h("li", {}, caution)));
    if (isNew("way", prompt.step)) paintSteps(place, pour, prompt);
    if (isNew("beam", prompt.beam)) paintBeam(place, prompt);
    // A button that was replaced under the finger would not be heard.
    const actions = [pour.state.last, prompt.step, prompt.others, main && { ...main, expected: main.expected != null }];
    if (isNew("act", actions)) paintActions(prompt);
    paintDraft(prompt);
    callStep(pour, jugIndex, ahead);
  }

  function paintChart(/** @type {Prompt} */ prompt) {
    const jug = pour.state.jugs[jugIndex];
    const holder = slot(place, "chart");
    holder.hidden = !prompt.chart;
    if (!prompt.chart) return;
    // Redrawn when a dip is new, and every ten seconds for the line that marks now.
    if (!isNew("chart", [pour.state.last, Math.floor(now() / 10_000)]) && holder.hasChildNodes()) return;
    const text = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
    const wait = waitOf(pour.sheet, jug, now());
    holder.replaceChildren(curve(jug.dips, windowOf(pour.sheet, jug), wait.forecast ? wait : null, now(), text));
  }

  // ---- what is heard -----------------------------------------------------------------------------

  const isMuted = () => !preferences().voice && !preferences().sound;

  /** Words that nobody speaks are shown; and what can't be heard is said before the wax goes on. */
  function paintHeard(/** @type {Prompt} */ prompt) {
    const voice = voiceState();
    slot(place, "mute").toggleAttribute("data-off", isMuted());
    setText(slot(place, "heard"), isMuted() ? "off" : "on");
    const lacks = isMuted()
      ? "Voice and bells are off."
      : voice === "none"
        ? "This phone has no voice of its own in English: bells, and words on the screen."
        : voice === "failed"
          ? "The phone's voice does not answer: bells, and words on the screen."
          : canRing() || prompt.step === "ready"
            ? ""
            : "The bell is off until you touch the screen once.";
    const silent = slot(place, "silent");
    silent.hidden = lacks === "" || (prompt.step !== "ready" && !lacks.startsWith("The bell"));
    setText(silent, lacks);
    const read = voice !== "spoken" && performance.now() - said_at < CAPTION_MS ? said : "";
    setText(slot(place, "caption"), read);
  }

  // ---- what is touched ---------------------------------------------------------------------------

  function paintActions(/** @type {Prompt} */ prompt) {
    const { main, others } = prompt;
    const button = (/** @type {Action} */ action) =>
      h("button", { type: "button", class: "quiet", onclick: () => void perform(action) }, action.label);
    const takes = main?.pad && main.expected !== null ? readingOf(pour, jugIndex, main.pad, now(), units) : null;
    slot(place, "act").replaceChildren(
      ...(takes
        ? [h("div", { class: "nudges", role: "group", "aria-label": "Nudge what it reads" }, ...nudges(takes))]
        : []),
      h(
        "div",
        { class: "side" },
        h(
          "button",
          {
            type: "button",
            class: "quiet undo",
            disabled: lastUndoable(pour, jugIndex) === null,
            onclick: () => void undo(),
          },
          "Undo",
        ),
        ...(prompt.step === "ready"
          ? [h("button", { type: "button", class: "quiet", onclick: soundCheck }, "Did you hear that?")]
          : []),
        ...others.filter(({ pad }) => !pad || takes || pad !== main?.pad).map(button),
      ),
      main === null
        ? h("a", { class: "go", href: otherJug(pour, jugIndex) }, "Next jug")
        : h(
            "button",
            { type: "button", class: "go", onclick: () => void perform(main) },
            takes ? h("span", { class: "over", "data-slot": "over" }, main.label) : null,
            takes ? h("b", { "data-slot": "draft" }) : main.pad ? "It reads…" : main.label,
          ),
    );
  }

  /** Four steps of the instrument: two large, two small. @param {import("./board_reading.js").Reading} reading */
  function nudges({ dimension, step }) {
    const small = units.stepIn(dimension, step);
    const many = dimension === "temperature" ? Math.max(5, Math.round(1 / small)) : 10;
    return [-many, -1, 1, many].map((steps) => {
      const by = units.step(dimension, step, Math.abs(steps));
      return h(
        "button",
        {
          type: "button",
          class: "quiet",
          "aria-label": `${by} ${steps < 0 ? "less" : "more"}`,
          onclick: () => nudge(steps),
        },
        `${steps < 0 ? "−" : "+"}${by}`,
      );
    });
  }

  /** To which reading a nudge belongs. @param {Action} main */
  const aboutOf = (main) => [pour.state.last, main.pad, ahead].join(" ");

  /** What the main button would enter: nudged, told by an instrument, or expected.
   * @param {Prompt} prompt @returns {{value: number, source: string} | null} */
  function draftOf({ main }) {
    if (!main?.pad || main.expected == null) return null;
    const reading = readingOf(pour, jugIndex, main.pad, now(), units);
    if (reading === null) return null;
    const stale = nudged !== null && main.pad === "temperature" && now() - nudged.at > STALE_MS;
    if (nudged !== null && nudged.about === aboutOf(main) && !stale) return { value: nudged.value, source: "" };
    nudged = null;
    const told = live(main.pad === "temperature" ? "temperature" : "weight");
    if (told !== null && told.doubt === null && (main.pad === "temperature" || isFineEnough(told, reading.step))) {
      return { value: told.value, source: told.source };
    }
    // A scale's mark is kept as it is; a forecast is no finer than the thermometer.
    const value =
      main.pad === "temperature" ? units.stepped(main.expected, "temperature", reading.step, 0) : main.expected;
    return { value, source: "" };
  }

  function paintDraft(/** @type {Prompt} */ prompt) {
    const draft = draftOf(prompt);
    if (draft === null || !prompt.main?.pad) return;
    const reading = readingOf(pour, jugIndex, prompt.main.pad, now(), units);
    if (reading === null || place.querySelector('[data-slot="draft"]') === null) return;
    setText(slot(place, "draft"), units.text(draft.value, reading.dimension, reading.step));
    setText(slot(place, "over"), draft.source ? `${draft.source} reads` : nudged ? "It reads" : prompt.main.label);
  }

  /** @param {number} steps */
  function nudge(steps) {
    const prompt = prompted();
    const draft = draftOf(prompt);
    if (draft === null || !prompt.main?.pad) return;
    const { dimension, step } = /** @type {import("./board_reading.js").Reading} */ (
      readingOf(pour, jugIndex, prompt.main.pad, now(), units)
    );
    // Below nothing there is nothing to read.
    const value = Math.max(dimension === "mass" ? 0 : -Infinity, units.stepped(draft.value, dimension, step, steps));
    nudged = { about: aboutOf(prompt.main), value, at: now() };
    paintDraft(prompt);
  }

  let busy = false;

  /** One thing at a time: a second tap on a slow phone must not count twice. @param {() => Promise<unknown>} work */
  async function once(work) {
    if (busy || performance.now() - came_at < ARRIVING_MS) return;
    busy = true;
    try {
      await work();
    } catch (error) {
      if (error instanceof store.MovedOn) showToast("This pour has moved on in another tab: here is how it stands.");
      else if (error instanceof store.StoreError) showToast(error.message);
      else throw error;
    } finally {
      busy = false;
      await refresh();
    }
  }

  const perform = (/** @type {Action} */ action) =>
    once(async () => {
      if (action.view) {
        ahead = action.view === "fragrance";
        tickStrip();
      }
      const event = action.pad ? await readOff(action) : action.event;
      if (!event) return;
      await addEvent(pour, event, now());
      play("kept");
    });

  const undo = () => once(() => undoLast(pour, jugIndex, now()));

  /** The reading as the main button shows it, or from the pad. @param {Action} action */
  async function readOff(action) {
    const reading = readingOf(pour, jugIndex, action.pad ?? "temperature", now(), units);
    if (reading === null) return null;
    const prompt = prompted();
    // Before the first dip there is no curve, and still something to expect.
    if (prompt.main?.pad === action.pad) reading.expected = prompt.main?.expected ?? reading.expected;
    const draft = action.expected === undefined ? null : draftOf(prompt);
    if (draft !== null && reading.doubt(draft.value) === null) return reading.event(draft.value, draft.source);
    const value = await askReading(reading, units, draft?.value ?? null);
    return value === null ? null : reading.event(value);
  }

  async function refresh() {
    const fresh = await readPour(id);
    if (fresh === null || fresh.stage === "setting" || fresh.stage === "curing") {
      go("today");
      return;
    }
    pour = fresh;
    const jug = pour.state.jugs[jugIndex];
    if (jug.step !== "cool" || nextFragrance(jug) === null) ahead = false;
    paint();
  }

  // ---- hands that are not free, and instruments ----------------------------------------------------

  const isFree = () => !busy && document.querySelector("dialog[open]") === null;

  /** @param {import("../bench/hands_free.js").Word} word */
  function hear(word) {
    if (!isFree()) return;
    const prompt = prompted();
    if ("text" in word) {
      const { main } = prompt;
      const reading = main?.pad && main.expected !== null ? readingOf(pour, jugIndex, main.pad, now(), units) : null;
      if (reading === null || !main) return refuse("Nothing to read now.");
      try {
        nudged = { about: aboutOf(main), value: units.read(word.text, reading.dimension), at: now() };
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        return refuse(error.message);
      }
      paintDraft(prompt);
      play("kept");
      speak(`${spoken(slot(place, "draft").textContent)}? Touch, if that is it.`, { urgent: true });
    } else if (word.do === "again") again();
    else if (word.do === "undo") void undo();
    else if (prompt.main === null) go(otherJug(pour, jugIndex).slice(2));
    else if (mayDo(prompt.main)) void perform(prompt.main);
    else if (meanwhile() >= 0) go(`pour/${id}/${meanwhile()}`);
    else refuse(prompt.main.pad ? "A reading needs a touch." : "This needs a touch.");
  }

  /** Whether nothing is asked of her here: all runs by the clock or the heat, or is poured. */
  function isWaiting() {
    const { step } = pour.state.jugs[jugIndex];
    const runs = clocks([pour], now()).some(({ jug, at_ms }) => jug === jugIndex && at_ms > now());
    return pour.stage === "jugs" && (runs || step === "melt" || step === "done");
  }

  /** Which jug wants her hands meanwhile; -1: none. */
  function meanwhile() {
    const wants = (/** @type {Pour["state"]["jugs"][number]} */ { step, current }) =>
      current !== null || ["melt", "add", "pour"].includes(step);
    return isWaiting() ? pour.state.jugs.findIndex((jug, index) => index !== jugIndex && wants(jug)) : -1;
  }

  /** @param {string} words */
  function refuse(words) {
    play("no");
    speak(words, { urgent: true });
  }

  /** A thermometer left in the one jug on the bench dips by itself. @param {import("../bench/reading_checks.js").Reading} reading */
  function feed(reading) {
    const jug = pour.state.jugs[jugIndex];
    if (reading.kind !== "temperature" || !isFree() || jugsOnBench() > 1 || pour.stage !== "jugs") return;
    if (!["melt", "cool", "settle"].includes(jug.step)) return;
    const { sheet } = pour;
    const last = jug.dips[jug.dips.length - 1] ?? null;
    const began_ms = Math.max(jug.weighed_at ?? 0, jug.melted_at ?? 0, jug.added_at ?? 0, jug.stirred_at ?? 0);
    const temp_c = jug.step === "melt" ? null : waitOf(sheet, jug, now()).temp_c;
    if (judge(reading, { temp_c, room_c: sheet.room_c, highest_c: sheet.highest_c, last, now_ms: now() }) !== "take")
      return;
    if (!thin(last?.at ?? null, now(), began_ms)) return;
    void once(() =>
      addEvent(pour, { type: "read", jug: jugIndex, temp_c: reading.value, source: reading.source }, now()),
    );
  }

  /** The nearest jug that is due takes the big number, where this one only waits. @param {import("./announcer.js").Asked[]} due */
  function follow(due) {
    const here = (/** @type {import("./announcer.js").Asked} */ clock) =>
      clock.pour.id === id && clock.jug === jugIndex;
    if (due.some(here)) return;
    const next = due.find(({ key }) => !followed.has(key));
    if (!next || !isWaiting() || ahead || nudged !== null || !isFree()) return;
    // Each comes once: who goes back meant to.
    for (const { key } of due) followed.add(key);
    came_at = performance.now();
    go(`pour/${next.pour.id}/${next.jug}`);
  }

  slot(place, "mute").addEventListener("click", () => {
    const on = isMuted();
    prefer({ voice: on, sound: on });
  });

  const stand = () => {
    document.documentElement.toggleAttribute("data-sun", preferences().sun);
    /** @type {HTMLElement} */ (place.querySelector(".board")).toggleAttribute("data-left", preferences().left);
    paint();
  };
  const arrived = setTimeout(paint, ARRIVING_MS);
  const ends = [
    () => clearTimeout(arrived),
    store.onChange((changes) => {
      if (changes.some((change) => change.id === id) && !busy) void refresh();
    }),
    onPreference(stand),
    onVoice(() => {
      said_at = performance.now();
      paint();
    }),
    onReading((reading) => {
      feed(reading);
      paint();
    }),
    onTick((due) => {
      if (!document.hidden) paint();
      follow(due);
    }),
    onAsked((asked) => follow([asked])),
    startHands({ onWord: hear, onTrouble: showToast }),
    release,
    letSleep,
    () => document.body.removeAttribute("data-ahead"),
  ];
  // Not before the board hears what is said, or its first words would not be shown.
  if (pour.stage === "ready") soundCheck();
  stand();
  return () => {
    for (const end of ends) end();
  };
}

/** @param {Pour} pour @param {number} jugIndex */
function otherJug({ id, state }, jugIndex) {
  const next = state.jugs.findIndex(({ step }, index) => step !== "done" && index !== jugIndex);
  return `#/pour/${id}/${Math.max(0, next)}`;
}
