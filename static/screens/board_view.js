/** What the board paints: whose jug it is, how far along, the prompt, and the beam under the number. */
import { curve } from "../bench/chart.js";
import { now } from "../bench/clock.js";
import { waitOf } from "../bench/countdown.js";
import { stepCue } from "../bench/cues.js";
import { vesselsOf } from "../bench/due.js";
import { windowOf } from "../bench/fold.js";
import { preferences } from "../bench/preferences.js";
import { stepsOf } from "../bench/prompt.js";
import { session } from "../bench/session.js";
import { t } from "../words/door.js";
import { callStep } from "./announcer.js";
import { paintAlarm } from "./board_alarm.js";
import { buttons } from "./board_buttons.js";
import { isArriving } from "./board_follow.js";
import { paintNumber } from "./board_number.js";
import { paintSound } from "./board_sound.js";
import { h, rich, setText, slot } from "./dom.js";
import { Painted } from "./painted.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/prompt_shape.js").Prompt} Prompt */
/** @typedef {import("../bench/board_state.js").BoardState} BoardState */

/** Lower than this no curve can be read, px. */
const LEAST_CURVE = 80;

export class BoardView extends Painted {
  /** @param {HTMLElement} place @param {BoardState} state @param {import("./board_buttons.js").Gestures} gestures */
  constructor(place, state, gestures) {
    super(place);
    this.state = state;
    this.gestures = gestures;
  }

  paint() {
    const { place, state } = this;
    const { pour, jugIndex } = state;
    const prompt = state.prompt();
    document.body.toggleAttribute("data-ahead", state.ahead);
    slot(place, "act").toggleAttribute("data-arriving", isArriving());
    setText(slot(place, "title"), prompt.title);
    setText(slot(place, "place"), placeText(pour, jugIndex));
    setText(slot(place, "doing"), prompt.doing);
    paintNumber(place, prompt);
    paintSound(place, prompt);
    const due = session.clocks().filter(({ at_ms }) => at_ms <= now());
    paintAlarm(slot(place, "alarm"), due, pour.id, jugIndex);
    this.fill("lines", prompt.lines, () => prompt.lines.map((line) => h("p", {}, ...rich(line))));
    this.fill("say", prompt.say, () => rich(prompt.say));
    this.fill("checks", prompt.checks, () => prompt.checks.map(checkBox));
    this.fill("cautions", prompt.cautions, () => prompt.cautions.map((caution) => h("li", {}, caution)));
    this.fill("steps", prompt.step, () => stepMarks(pour, prompt.step));
    if (this.isNew("beam", prompt.beam)) paintBeam(place, prompt);
    // A button that was replaced under the finger would not be heard.
    const { main, others } = prompt;
    const shown = [pour.state.last, prompt.step, others, main?.label, state.draft(prompt) !== null];
    this.fill("act", shown, () => buttons(state, prompt, this.gestures));
    this.paintDraft(prompt);
    slot(place, "bag").at = state;
    // It takes the room that is left.
    this.#paintChart(prompt);
    const { whole } = preferences();
    callStep(pour, jugIndex, {
      view: `${state.ahead} ${whole}`,
      // Before the first jug and after the last it is the whole pour's.
      isWhole: pour.stage !== "jugs",
      cue: (now_ms, units) => stepCue(pour.sheet, pour.state, jugIndex, now_ms, units, { ahead: state.ahead, whole }),
    });
  }

  /** What the main button would enter. @param {Prompt} [prompt] */
  paintDraft(prompt = this.state.prompt()) {
    const draft = this.state.draft(prompt);
    const holder = this.place.querySelector('[data-slot="draft"]');
    if (draft === null || holder === null) return;
    const { dimension, step } = draft.request;
    setText(holder, this.state.units.text(draft.value, dimension, step));
    const over = draft.source
      ? t("{instrument} shows", { instrument: draft.source })
      : dimension === "temperature"
        ? t("Thermometer shows")
        : (prompt.main?.label ?? "");
    setText(slot(this.place, "over"), over);
  }

  /** What the main button would enter, as it is shown. @returns {string} */
  get draftText() {
    return slot(this.place, "draft").textContent;
  }

  /** @param {Prompt} prompt */
  #paintChart(prompt) {
    const { pour, jug, units } = this.state;
    const holder = slot(this.place, "chart");
    holder.hidden = !prompt.chart;
    if (!prompt.chart) return;
    const { clientWidth: width, clientHeight: height } = holder;
    // Redrawn when a dip is new, its room has changed, and every ten seconds for the dot that marks now.
    if (!this.isNew("chart", [pour.state.last, width, height, Math.floor(now() / 10_000)])) return;
    const text = (/** @type {number} */ celsius) => units.text(celsius, "temperature", pour.sheet.thermometer_step_c);
    const wait = waitOf(pour.sheet, jug, now());
    const shown = wait.forecast ? wait : null;
    const room = { width, height };
    holder.replaceChildren(
      ...(height < LEAST_CURVE ? [] : [curve(jug.dips, windowOf(pour.sheet, jug), shown, now(), text, room)]),
    );
  }
}

/** @param {Pour} pour @param {number} jugIndex */
function placeText({ sheet }, jugIndex) {
  const { title, jugs } = sheet;
  const given = { title, vessels: vesselsOf(sheet), n: jugIndex + 1, total: jugs.length };
  return jugs.length > 1
    ? t("jug\u00a0{n}\u00a0of\u00a0{total} · {title} · {vessels}", given)
    : t("{title} · {vessels}", given);
}

/** @param {string} text */
function checkBox(text) {
  return h("li", {}, h("label", {}, h("input", { type: "checkbox" }), h("span", {}, text)));
}

/** How far along the pour is. @param {Pour} pour @param {string} current the step */
function stepMarks({ sheet }, current) {
  const steps = stepsOf(sheet);
  const here = steps.findIndex(([step]) => step === current);
  return steps.map(([, name], index) =>
    h(
      "li",
      { class: index < here ? "done" : index === here ? "here" : "", "aria-current": index === here ? "step" : null },
      h("span", { class: "sr" }, name),
    ),
  );
}

/** The beam: the band that is good enough, the mark, and where the scale stands. @param {HTMLElement} place @param {Prompt} prompt */
function paintBeam(place, { beam }) {
  const holder = slot(place, "beam");
  holder.hidden = beam === null;
  if (beam === null) return;
  const half = Math.max((beam.high_g - beam.low_g) * 3, beam.target_g * 0.02, 1e-9);
  const at = (/** @type {number} */ grams) =>
    `${Math.min(100, Math.max(0, 50 + ((grams - beam.target_g) / half) * 50))}%`;
  const ok = slot(place, "ok");
  ok.style.left = at(beam.low_g);
  ok.style.right = `calc(100% - ${at(beam.high_g)})`;
  slot(place, "pin").style.left = at(beam.target_g);
  const read = slot(place, "at");
  read.hidden = beam.read_g === null;
  if (beam.read_g !== null) read.style.left = at(beam.read_g);
}
