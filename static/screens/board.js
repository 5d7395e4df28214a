/** The board: one pour at the bench, one number at a time. */
import { BoardState } from "../bench/board_state.js";
import { now } from "../bench/clock.js";
import { startHandsFree } from "../bench/hands_free.js";
import { onReading } from "../bench/live_reading.js";
import { isWaiting } from "../bench/next_jug.js";
import { isOnBench } from "../bench/pours.js";
import { onPreference, preferences } from "../bench/preferences.js";
import { session } from "../bench/session.js";
import { unlock } from "../bench/sound.js";
import { keepAwake, letSleep } from "../bench/wake_lock.js";
import { holdPourLock } from "../offline.js";
import * as store from "../records/store.js";
import { onAlert, soundCheck } from "./announcer.js";
import { BoardActions } from "./board_actions.js";
import { ARRIVING_MS, arrive, follow } from "./board_follow.js";
import { feed, hear } from "./board_hands_free.js";
import { onCaption, startMuteButton } from "./board_sound.js";
import { BoardView } from "./board_view.js";
import { cloneTemplate, showToast, slot } from "./dom.js";
import { byOthers, toldOf, whyItLeft } from "./other_hands.js";

/** @typedef {import("./screen.js").Context} Context */

/** @param {HTMLElement} place @param {string[]} path @param {Context} context */
export async function show(place, [id, jugText], { units, go }) {
  const [pour, me] = await Promise.all([session.read("pour", id), store.deviceName()]);
  if (pour === null || !isOnBench(pour)) {
    go(pour === null ? "today" : pour.stage === "setting" ? `trim/${id}` : `entry/${id}`);
    return;
  }
  const jugIndex = Math.min(Math.max(0, Math.trunc(Number(jugText)) || 0), pour.sheet.jugs.length - 1);
  const state = new BoardState(pour, jugIndex, units);
  place.append(cloneTemplate("screen-board"));
  const release = holdPourLock(id);
  void keepAwake((on) => (slot(place, "awake").hidden = on));
  place.addEventListener("click", unlock);
  startMuteButton(place);

  let leaving = false;

  /** Show the pour as it stands, and say what other hands did; one that left the bench is no longer shown here. */
  function refresh() {
    const fresh = session.item(id);
    if (fresh === null) {
      void leave();
      return;
    }
    const news = byOthers(state.pour, fresh.events, me);
    if (news.length > 0) {
      showToast(toldOf(news, fresh, units));
      // A finger that is on its way meant what was shown before.
      arrive();
      clearTimeout(arrived);
      arrived = setTimeout(() => view.paint(), ARRIVING_MS);
    }
    state.take(fresh);
    view.paint();
  }

  async function leave() {
    if (leaving) return;
    leaving = true;
    const isBack = await whyItLeft(id, me, () => !ended);
    leaving = false;
    if (isBack) await session.read("pour", id);
    else if (!ended) go("today");
  }

  const actions = new BoardActions(state, refresh);
  const view = new BoardView(place, state, {
    perform: (action) => actions.perform(action),
    undo: () => actions.undo(),
    nudge: (steps) => {
      const prompt = state.prompt();
      state.nudge(prompt, steps);
      view.paintDraft(prompt);
    },
  });
  const board = { state, actions, view, go };
  const followDue = (/** @type {import("./announcer.js").Alert[]} */ due) => {
    if (!actions.isFree) return;
    const { pour, jugIndex, ahead, hasEntered } = state;
    const mayLeave = () => !ahead && !hasEntered && isWaiting(pour, jugIndex, now());
    follow({ id, part: jugIndex, mayLeave }, due, go);
  };
  const prefer = () => {
    document.documentElement.toggleAttribute("data-sun", preferences().sun);
    /** @type {HTMLElement} */ (place.querySelector(".board")).toggleAttribute("data-left", preferences().left);
    view.paint();
  };
  let ended = false;
  let arrived = setTimeout(() => view.paint(), ARRIVING_MS);
  const ends = [
    () => clearTimeout(arrived),
    session.onChange((changed) => {
      // While an event is being kept, what is shown is what it is added to.
      if (changed.some((each) => each.id === id) && !actions.isBusy) refresh();
    }),
    session.onTick(() => {
      if (!document.hidden) view.paint();
    }),
    session.onDue(followDue),
    onAlert((alert) => followDue([alert])),
    onPreference(prefer),
    onCaption(() => view.paint()),
    onReading((reading) => {
      feed(board, reading);
      view.paint();
    }),
    startHandsFree({ onWord: (word) => hear(board, word), onTrouble: showToast }),
    release,
    letSleep,
    () => document.body.removeAttribute("data-ahead"),
  ];
  // Not before the board hears what is said, or its first words would not be shown.
  if (pour.stage === "ready") soundCheck();
  prefer();
  return () => {
    ended = true;
    for (const end of ends) end();
  };
}
