/** The board: one pour at the bench, one number at a time. */
import { addEvent, lastUndoable, readPour, undoLast } from "../bench/bench.js";
import { keepAwake, letSleep } from "../bench/awake.js";
import { curve } from "../bench/chart.js";
import { now } from "../bench/clock.js";
import { waitOf } from "../bench/countdown.js";
import { windowOf } from "../bench/fold.js";
import { promptFor, wayOf } from "../bench/prompt.js";
import { nextFragrance } from "../bench/waiting.js";
import { canRing, unlock } from "../bench/sound.js";
import { holdPourLock } from "../offline.js";
import * as store from "../records/store.js";
import { copy, h, rich, say, slot, tellBelow } from "./dom.js";
import { askReading } from "./pad.js";

/** @typedef {import("../bench/bench.js").Pour} Pour */
/** @typedef {import("../bench/said.js").Prompt} Prompt */
/** @typedef {import("../bench/said.js").Action} Action */

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
  place.append(copy("screen-board"));
  const release = holdPourLock(id);
  void keepAwake((on) => (slot(place, "awake").hidden = on));
  place.addEventListener("click", unlock);

  let drawn = "";
  let charted = "";
  let ahead = false;

  function paint() {
    const prompt = promptFor(pour.sheet, pour.state, jugIndex, now(), units, ahead);
    document.body.toggleAttribute("data-ahead", ahead);
    say(slot(place, "title"), prompt.title);
    say(slot(place, "place"), placeText(pour, jugIndex));
    say(slot(place, "doing"), prompt.doing);
    slot(place, "silent").hidden = canRing() || prompt.step === "ready";
    paintNumber(place, prompt);
    paintChart(prompt);
    const still = JSON.stringify({ ...prompt, number: "", doing: "" });
    if (still === drawn) return;
    drawn = still;
    slot(place, "lines").replaceChildren(...prompt.lines.map((line) => h("p", {}, ...rich(line))));
    slot(place, "say").replaceChildren(...rich(prompt.say));
    slot(place, "say").hidden = prompt.say === "";
    slot(place, "checks").replaceChildren(
      ...prompt.checks.map((check) => h("li", {}, h("label", {}, h("input", { type: "checkbox" }), h("span", {}, check)))),
    );
    slot(place, "cautions").replaceChildren(...prompt.cautions.map((caution) => h("li", {}, caution)));
    paintWay(place, pour, prompt);
    paintBeam(place, prompt);
    paintActions(prompt);
  }

  function paintChart(/** @type {Prompt} */ prompt) {
    const jug = pour.state.jugs[jugIndex];
    const holder = slot(place, "chart");
    holder.hidden = !prompt.chart;
    if (!prompt.chart) return;
    // Redrawn when a dip is new, and every ten seconds for the line that marks now.
    const key = `${pour.state.last} ${Math.floor(now() / 10_000)}`;
    if (key === charted && holder.hasChildNodes()) return;
    charted = key;
    const text = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
    const wait = waitOf(pour.sheet, jug, now());
    holder.replaceChildren(curve(jug.dips, windowOf(pour.sheet, jug), wait.forecast ? wait : null, now(), text));
  }

  function paintActions(/** @type {Prompt} */ prompt) {
    const act = slot(place, "act");
    const undoable = lastUndoable(pour, jugIndex) !== null;
    const button = (/** @type {Action} */ action, /** @type {string} */ kind) =>
      h("button", { type: "button", class: kind, onclick: () => void perform(action) }, action.label);
    act.replaceChildren(
      h("button", { type: "button", class: "quiet undo", disabled: !undoable, onclick: () => void undo() }, "Undo"),
      ...prompt.others.map((action) => button(action, "quiet")),
      ...(prompt.main ? [button(prompt.main, "go")] : [h("a", { class: "go", href: otherJug(pour, jugIndex) }, "Next jug")]),
    );
    act.dataset.count = String(prompt.others.length);
  }

  let busy = false;

  /** One thing at a time: a second tap on a slow phone must not count twice. @param {() => Promise<unknown>} work */
  async function once(work) {
    if (busy) return;
    busy = true;
    try {
      await work();
    } catch (error) {
      if (error instanceof store.MovedOn) tellBelow("This pour has moved on in another tab: here is how it stands.");
      else if (error instanceof store.StoreError) tellBelow(error.message);
      else throw error;
    } finally {
      busy = false;
      await refresh();
    }
  }

  const perform = (/** @type {Action} */ action) =>
    once(async () => {
      if (action.view) ahead = action.view === "fragrance";
      const event = action.pad ? await readOff(action.pad) : action.event;
      if (event) await addEvent(pour, event, now());
    });

  const undo = () => once(() => undoLast(pour, jugIndex, now()));

  /** @param {"weigh" | "temperature" | "vessel"} what */
  async function readOff(what) {
    const { sheet, state } = pour;
    const jug = state.jugs[jugIndex];
    if (what === "temperature") {
      const wait = waitOf(sheet, jug, now());
      const temp_c = await askReading(
        {
          asks: "What does the thermometer read?",
          dimension: "temperature",
          shown: wait.temp_c,
          step_base: sheet.thermometer_step_c,
          doubt: (value) => doubtTemperature(value, sheet, units),
        },
        units,
      );
      return temp_c === null ? null : { type: "read", jug: jugIndex, temp_c };
    }
    if (what === "vessel") {
      const target_g = jug.vessel_targets_g[jug.poured.length];
      const read_g = await askReading(massAsked("What does the filled vessel read?", target_g, null, sheet.step_g), units);
      return read_g === null ? null : { type: "poured", jug: jugIndex, read_g };
    }
    const weighing = jug.current ?? nextFragrance(jug);
    if (weighing === null) return null;
    const step_g = weighing.part === "wax" || weighing.part === "restore" ? sheet.step_g : sheet.fine_step_g;
    const before_g = weighing.in_cup ? null : weighing.reads_g - weighing.target_g;
    const read_g = await askReading(massAsked("What does the scale read?", weighing.target_g, before_g, step_g), units);
    return read_g === null ? null : { type: "weighed", jug: jugIndex, part: weighing.part, index: weighing.index, read_g };
  }

  /**
   * @param {string} asks @param {number} target_g @param {number | null} before_g what the scale shows of
   *   jug and all if it was not zeroed @param {number} step_g @returns {import("./pad.js").Asked}
   */
  function massAsked(asks, target_g, before_g, step_g) {
    const text = (/** @type {number} */ grams) => units.text(grams, "mass", step_g);
    return {
      asks,
      dimension: "mass",
      shown: target_g,
      step_base: step_g,
      doubt: (value) => {
        const far = (/** @type {number} */ grams) => grams <= 0 || grams > 2 * target_g || grams < target_g / 2;
        if (before_g !== null && before_g > 0 && !far(value - before_g) && Math.abs(value - before_g - target_g) < Math.abs(value - target_g)) {
          return {
            question: `Is ${text(value)} with the jug and what was in it, nothing zeroed?`,
            answers: [
              { label: `Yes: that makes ${text(value - before_g)}`, value: value - before_g },
              { label: `No: ${text(value)} alone`, value },
            ],
          };
        }
        if (far(value)) {
          return {
            question: `${text(value)} is far from ${text(target_g)}. Is that what it reads?`,
            answers: [{ label: `Yes, ${text(value)}`, value }],
          };
        }
        return null;
      },
    };
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

  paint();
  const timer = setInterval(paint, 250);
  const deaf = store.onChange((changes) => {
    if (changes.some((change) => change.id === id) && !busy) void refresh();
  });
  return () => {
    clearInterval(timer);
    deaf();
    release();
    letSleep();
    document.body.removeAttribute("data-ahead");
  };
}

/** @param {number} value @param {import("../bench/sheet.js").Sheet} sheet @param {import("../bench/hers.js").Hers} units */
function doubtTemperature(value, sheet, units) {
  const text = units.text(value, "temperature", sheet.thermometer_step_c);
  const yes = [{ label: `Yes, ${text}`, value }];
  if (value > sheet.highest_c) {
    return { question: `${text} is hotter than this wax may get. Heat off. Is that what it reads?`, answers: yes };
  }
  if (value <= sheet.room_c) {
    return { question: `${text} is no warmer than the room. Is that what it reads?`, answers: yes };
  }
  return null;
}

/** @param {Pour} pour @param {number} jugIndex */
function placeText({ sheet }, jugIndex) {
  const vessels = `${sheet.count} × ${sheet.vessel.name}`.replaceAll(" ", "\u00a0");
  // Of several jugs the strip above says whose they are.
  if (sheet.jugs.length > 1) return `jug\u00a0${jugIndex + 1}\u00a0of\u00a0${sheet.jugs.length} · ${vessels}`;
  return `${sheet.title} · ${vessels}`;
}

/** @param {Pour} pour @param {number} jugIndex */
function otherJug({ id, state }, jugIndex) {
  const next = state.jugs.findIndex(({ step }, index) => step !== "done" && index !== jugIndex);
  return `#/pour/${id}/${Math.max(0, next)}`;
}

/** The number grows to fill the width, by how many characters it has. @param {HTMLElement} place @param {Prompt} prompt */
function paintNumber(place, { number, unit }) {
  const num = slot(place, "num");
  num.hidden = number === "";
  const holder = slot(place, "number");
  if (holder.textContent !== number) {
    // In '2 lb 9.2 oz' the units stand back, so that the digits have the room.
    const pieces = number.split(/( ?[a-z]+ ?)/).filter((piece) => piece !== "");
    const small = pieces.length > 1;
    holder.replaceChildren(...pieces.map((piece) => (small && /[a-z]/.test(piece) ? h("small", {}, piece) : piece)));
  }
  say(slot(place, "unit"), unit);
  const digits = number.replace(/\d/g, "0");
  num.style.setProperty("--ems", String(/\d/.test(number) ? emsOf(digits.replace(/[a-z ]/g, ""), digits.replace(/[^a-z ]/g, "") + unit) : emsOf(number, "")));
}

const ruler = document.createElement("canvas").getContext("2d");
/** @type {Map<string, number>} */
const measured = new Map();

/** How many times its own size a number is wide, in this phone's font. @param {string} shape @param {string} unit */
function emsOf(shape, unit) {
  const key = `${shape} ${unit}`;
  const known = measured.get(key);
  if (known !== undefined) return known;
  const width = (/** @type {string} */ text) => {
    if (ruler === null) return text.length * 70;
    ruler.font = "700 100px system-ui, sans-serif";
    return ruler.measureText(text).width;
  };
  const ems = Math.max(1.5, (width(shape) + (unit ? 12 + 0.4 * width(unit) : 0)) / 100);
  measured.set(key, ems);
  return ems;
}

/** @param {HTMLElement} place @param {Pour} pour @param {Prompt} prompt */
function paintWay(place, { sheet }, prompt) {
  const steps = wayOf(sheet);
  const here = steps.findIndex(([step]) => step === prompt.step);
  slot(place, "way").replaceChildren(
    ...steps.map(([, name], index) =>
      h(
        "li",
        { class: index < here ? "done" : index === here ? "here" : "", "aria-current": index === here ? "step" : null },
        h("span", {}, name),
      ),
    ),
  );
}

/** The beam: the band that is good enough, the mark, and where the scale stands. @param {HTMLElement} place @param {Prompt} prompt */
function paintBeam(place, { beam }) {
  const holder = slot(place, "beam");
  holder.hidden = beam === null;
  if (beam === null) return;
  const half = Math.max((beam.high_g - beam.low_g) * 3, beam.target_g * 0.02, 1e-9);
  const at = (/** @type {number} */ grams) => `${Math.min(100, Math.max(0, 50 + ((grams - beam.target_g) / half) * 50))}%`;
  const ok = slot(place, "ok");
  ok.style.left = at(beam.low_g);
  ok.style.right = `calc(100% - ${at(beam.high_g)})`;
  slot(place, "pin").style.left = at(beam.target_g);
  const read = slot(place, "at");
  read.hidden = beam.read_g === null;
  if (beam.read_g !== null) read.style.left = at(beam.read_g);
}

