/** The burn board: one candle of a test, one thing at a time; the others are chips in the strip. */
import { now } from "../bench/clock.js";
import { startHandsFree } from "../bench/hands_free.js";
import { onPreference, preferences } from "../bench/preferences.js";
import { session } from "../bench/session.js";
import { play, unlock } from "../bench/sound.js";
import { again } from "../bench/voice.js";
import { keepAwake, letSleep } from "../bench/wake_lock.js";
import { burnCue } from "../burns/burn_cues.js";
import { actionNow, burnPrompt, nextCandle } from "../burns/burn_prompt.js";
import { burnRequest } from "../burns/burn_request.js";
import { GRADES, NAMES } from "../burns/burn_words.js";
import { addEvent, clockOf, countBurning, lastUndoable, markNow, readTest, undo, undoLast } from "../burns/tests.js";
import { holdPourLock } from "../offline.js";
import { plural, t, worded } from "../words/door.js";
import { callStep, onAlert } from "./announcer.js";
import { ask } from "./ask.js";
import { paintAlarm } from "./board_alarm.js";
import { ARRIVING_MS, arrive, follow, isArriving } from "./board_follow.js";
import { paintNumber } from "./board_number.js";
import { onCaption, paintSound, startMuteButton } from "./board_sound.js";
import { burnHref } from "./burn_station.js";
import { cloneTemplate, h, rich, setText, showToast, slot } from "./dom.js";
import { Hand } from "./hand.js";
import { askReading } from "./pad.js";
import { Painted } from "./painted.js";

/** @typedef {import("../burns/tests.js").BurnTest} BurnTest */
/** @typedef {import("../burns/burn_prompt.js").Action} Action */
/** @typedef {import("../burns/burn_prompt.js").BurnPrompt} BurnPrompt */
/** @typedef {import("../burns/burn_fold.js").Graded} Graded */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** Steps at which the candle asks nothing of her. */
const IDLE = ["burning", "rest"];

/** @param {HTMLElement} place @param {string[]} path @param {import("./screen.js").Context} context */
export async function show(place, [id, candleText], { units, go }) {
  const found = await readTest(id);
  if (found === null || found.state.closed !== null) {
    go(found === null ? "today" : `test/${id}`);
    return;
  }
  place.append(cloneTemplate("screen-burn"));
  const index = Math.min(Math.max(0, Math.trunc(Number(candleText)) || 0), found.sheet.candles.length - 1);
  const board = new BurnBoard(place, found, index, units, () => goOn());
  const release = holdPourLock(id);
  void keepAwake((on) => (slot(place, "awake").hidden = on));
  place.addEventListener("click", unlock);
  startMuteButton(place);
  let ended = false;

  /** @param {boolean} byHer she did it here */
  async function refresh(byHer) {
    const test = session.item(id) ?? (await readTest(id));
    if (ended) return;
    if (test === null || test.state.closed !== null) go("today");
    else board.take(test, byHer);
  }

  /** What she did is kept: the next candle that is due comes by itself. One that failed stays in sight. */
  async function goOn() {
    await refresh(true);
    const next = !ended && IDLE.includes(board.step) ? nextCandle(board.test, index, now()) : null;
    if (next === null || (clockOf(board.test.state.candles[next], now())?.at_ms ?? Infinity) > now()) return;
    arrive();
    go(burnHref(id, next).slice(2));
  }

  const followDue = (/** @type {import("./announcer.js").Alert[]} */ due) => {
    if (board.hand.isFree) follow({ id, part: index, mayLeave: () => [...IDLE, "over"].includes(board.step) }, due, go);
  };
  const prefer = () => {
    document.documentElement.toggleAttribute("data-sun", preferences().sun);
    /** @type {HTMLElement} */ (place.querySelector(".board")).toggleAttribute("data-left", preferences().left);
    board.paint();
  };
  const arrived = setTimeout(() => board.paint(), ARRIVING_MS);
  const ends = [
    () => clearTimeout(arrived),
    session.onChange((changed) => {
      if (changed.some((each) => each.id === id) && !board.hand.isBusy) void refresh(false);
    }),
    session.onTick(() => {
      if (!document.hidden) board.paint();
    }),
    session.onDue(followDue),
    onAlert((alert) => followDue([alert])),
    onPreference(prefer),
    onCaption(() => board.paint()),
    startHandsFree({
      onWord: (word) => {
        if ("do" in word && word.do === "again") again();
        else if ("do" in word && word.do === "undo") void board.undo();
      },
      onTrouble: showToast,
    }),
    release,
    letSleep,
  ];
  prefer();
  return () => {
    ended = true;
    for (const end of ends) end();
  };
}

class BurnBoard extends Painted {
  /** @param {HTMLElement} place @param {BurnTest} test @param {number} index of the candle @param {DisplayUnits} units
   * @param {() => Promise<void>} goOn once what she did is kept */
  constructor(place, test, index, units, goOn) {
    super(place);
    this.test = test;
    this.index = index;
    this.units = units;
    this.hand = new Hand("burn_test", test.id, t("This test has moved on elsewhere: here is how it stands."), goOn);
    slot(place, "leave").href = `#/test/${test.id}`;
  }

  /** Show the test as it stands now; what another phone did moves nothing under a finger.
   * @param {BurnTest} test @param {boolean} byHer */
  take(test, byHer) {
    if (!byHer && test.state.last !== this.test.state.last) {
      arrive();
      setTimeout(() => this.paint(), ARRIVING_MS);
    }
    this.test = test;
    this.paint();
  }

  /** What the board shows now. */
  get step() {
    return burnPrompt(this.test, this.index, now(), this.units).step;
  }

  paint() {
    const { place, test, index, units } = this;
    const now_ms = now();
    const prompt = burnPrompt(test, index, now_ms, units);
    const { sheet, state } = test;
    place.querySelector(".act")?.toggleAttribute("data-arriving", isArriving());
    setText(slot(place, "title"), prompt.title);
    const wick = sheet.wicks[sheet.candles[index].wick].name;
    setText(slot(place, "place"), t("candle\u00a0{n} · {wick} · {title}", { n: index + 1, wick, title: sheet.title }));
    setText(slot(place, "doing"), prompt.doing);
    paintNumber(place, prompt);
    paintSound(place, prompt);
    const due = session.clocks().filter(({ at_ms }) => at_ms <= now_ms);
    paintAlarm(slot(place, "alarm"), due, test.id, index);
    this.fill("lines", prompt.lines, () => prompt.lines.map((line) => h("p", {}, ...rich(line))));
    this.fill("cautions", prompt.cautions, () => prompt.cautions.map((caution) => h("li", {}, caution)));
    const burning = countBurning(state);
    setText(
      slot(place, "say"),
      burning === 0 ? t("No candle burns.") : plural(burning, "{n} candle burns.", "{n} candles burn."),
    );
    // A button that was replaced under the finger would not be heard.
    const { main, others, stops } = prompt;
    const next = nextCandle(test, index, now_ms);
    this.fill("stops", [state.last, stops], () => stops.map((action) => this.#button(action, "stop")));
    const shown = [state.last, prompt.step, main?.label, others.map(({ label }) => label), next];
    this.fill("act", shown, () => this.#buttons(prompt, next));
    callStep(test, index, {
      view: prompt.step,
      isWhole: false,
      cue: (at_ms, hers) => burnCue(test, index, at_ms, hers),
    });
  }

  undo() {
    return this.hand.does(() => undoLast(this.test, this.index, now()));
  }

  /** @param {BurnPrompt} prompt @param {number | null} next the candle that wants her hands */
  #buttons({ main, others }, next) {
    const undo = h(
      "button",
      {
        type: "button",
        class: "quiet undo",
        disabled: lastUndoable(this.test, this.index) === null,
        onclick: () => void this.undo(),
      },
      t("Undo"),
    );
    const href = next === null ? `#/test/${this.test.id}` : burnHref(this.test.id, next);
    const away = next === null ? t("The test's page") : t("Go to candle {n}", { n: next + 1 });
    const go = main ? this.#button(main, "go") : h("a", { class: next === null ? "quiet" : "go", href }, away);
    return [h("div", { class: "side" }, undo, ...others.map((action) => this.#button(action, "quiet"))), go];
  }

  /** @param {Action} action @param {string} name its class */
  #button(action, name) {
    return h("button", { type: "button", class: name, onclick: () => void this.#perform(action) }, action.label);
  }

  /** @param {Action} drawn as the button was */
  #perform(drawn) {
    return this.hand.does(async () => {
      // What two phones said may read alike, and does not change with time.
      if (drawn.undo) {
        await undo(this.test, drawn.undo, now());
        return;
      }
      const action = this.#actionNow(drawn.label);
      const event = action && (await this.#eventOf(action));
      if (event === null) return;
      await addEvent(this.test, event, now());
      play("kept");
    });
  }

  /** @param {string} label */
  #actionNow(label) {
    return actionNow(burnPrompt(this.test, this.index, now(), this.units), label);
  }

  /** @param {Action} action @returns {Promise<import("../records/event_types.js").NewBurnTestEvent | null>} */
  async #eventOf({ label, more, pad, grade, event }) {
    if (more) {
      const names = more.map((action) => /** @type {[string, string]} */ ([action.label, action.label]));
      const chosen = await choose(label, names);
      const action = chosen === null ? null : this.#actionNow(chosen);
      return action && this.#eventOf(action);
    }
    if (pad) return this.#readOff(pad);
    if (grade) return this.#grade(grade);
    return event ?? null;
  }

  /** @param {import("../burns/burn_prompt.js").Pad} pad */
  async #readOff(pad) {
    const request = burnRequest(this.test, this.index, pad, now(), this.units);
    const value = await askReading(request, this.units);
    return value === null ? null : request.event(value);
  }

  /** How much of something there is: four steps, each with what it means. @param {Graded} what */
  async #grade(what) {
    const { sittings, sitting } = this.test.state.candles[this.index];
    const mark = markNow(sittings[sitting], now());
    const steps = GRADES[what].map(
      (means, step) => /** @type {[string, number]} */ ([`${step} · ${worded(means)}`, step]),
    );
    const grade = await choose(worded(NAMES[what]), steps);
    if (grade === null) return null;
    return /** @type {const} */ ({ type: "saw", candle: this.index, burn: sitting, mark, what, grade });
  }
}

/** @template T @param {string} asks @param {[string, T][]} choices @returns {Promise<T | null>} null if she went back */
function choose(asks, choices) {
  return ask(cloneTemplate("screen-choose"), (dialog, /** @type {(answer: T | null) => void} */ end) => {
    slot(dialog, "asks").textContent = asks;
    slot(dialog, "choices").replaceChildren(
      ...choices.map(([label, answer]) =>
        h("button", { type: "button", class: "quiet", onclick: () => end(answer) }, label),
      ),
    );
  });
}
