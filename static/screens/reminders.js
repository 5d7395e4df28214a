/** Being told with the bench closed: on or off here, when it comes, and the calendar's address. */

import { settingsOf } from "../bench/due.js";
import { ask, NoSignal, onSyncStatus, ServerError, syncStatus } from "../records/exchange.js";
import { how, PushTrouble, pushStatus, sendTest, turnOff, turnOn, whatToDo } from "../records/push.js";
import { timeOfDay } from "../words/dates.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, showToast, slot } from "./dom.js";
import { whenText } from "./server_state.js";

/** By then a test has come, or its trouble has. */
const TEST_MS = 5000;

/** @type {Record<string, string>} */
const SAYS = {
  on: "On: this device tells you when a batch is due, and when a countdown ends while it sleeps.",
  off: "Off: this device tells you nothing while the bench is closed.",
};

/** @param {HTMLElement} place @param {string[]} _path @param {{workshop: Record<string, any>}} given */
export async function show(place, _path, { workshop }) {
  place.append(cloneTemplate("screen-reminders"));
  const at = (/** @type {string} */ name) => slot(place, name);
  /** @type {import("../records/push.js").Told | null} */
  let told = null;
  let looked = false;
  let timer = 0;

  // The server may have lost where this device listens.
  const standsNow = () => (how() === "on" && told?.subscribed === false ? "off" : how());
  const draw = () => {
    const stands = standsNow();
    const none = told?.key === null && (stands === "off" || stands === "denied");
    setText(at("stands"), none ? `The server sends no reminders. ${told?.why}` : (SAYS[stands] ?? whatToDo(stands)));
    if (!at("turn").disabled) setText(at("turn"), stands === "on" ? "Turn off" : "Turn on");
    at("turn").hidden = none || !SAYS[stands];
    at("test").hidden = stands !== "on";
    at("pair").hidden = stands !== "not paired";
    at("calendar").hidden = syncStatus.workshop === null;
    setText(at("sent"), told?.sent_ms ? `Last sent ${whenText(told.sent_ms)}.` : "");
    setText(at("failed"), told?.trouble_ms ? `${whenText(told.trouble_ms)}: ${told.trouble}` : "");
    const { remind_at, quiet_from, quiet_to, zone } = settingsOf(workshop, told?.zone);
    const quiet = quiet_from === quiet_to ? "" : `not between ${timeOfDay(quiet_from)} and ${timeOfDay(quiet_to)}, `;
    setText(at("when"), `At ${timeOfDay(remind_at)}, ${quiet}in ${zone}.`);
  };
  const complain = (/** @type {string} */ text) => {
    setText(at("trouble"), text);
    at("trouble").hidden = text === "";
  };
  /** Do something, ask how it stands then, and say what came between. @param {() => any} what @param {any} [button] */
  const attempt = async (what, button = {}) => {
    button.disabled = true;
    complain("");
    try {
      await what();
      if (syncStatus.workshop !== null) {
        told = await pushStatus();
        replaceKeepingFocus(at("cards"), ...(await ask("/api/calendar")).map(row));
      }
    } catch (error) {
      if (!(error instanceof PushTrouble || error instanceof ServerError || error instanceof NoSignal)) throw error;
      complain(error.message);
    } finally {
      button.disabled = false;
      draw();
    }
  };
  const look = () => {
    looked = true;
    void attempt(() => undefined);
  };

  /** @param {{id: string, made_ms: number, read_ms: number | null}} address */
  const row = ({ id, made_ms, read_ms }) => {
    const revoke = h("button", { type: "button", class: "quiet small" }, "Revoke");
    revoke.addEventListener("click", () => {
      if (revoke.textContent === "Revoke") setText(revoke, "Revoke: sure?");
      else void attempt(() => ask(`/api/calendar/${id}/revoke`, {}));
    });
    const made = h(
      "span",
      {},
      `Made ${whenText(made_ms)}`,
      h("span", { class: "under" }, read_ms ? `last read ${whenText(read_ms)}` : "not read yet"),
    );
    return h("div", { class: "card" }, made, revoke);
  };

  /** @type {Record<string, () => any>} */
  const does = {
    turn: async () => {
      if (standsNow() === "on") return turnOff();
      setText(at("turn"), "Turning on…");
      return turnOn();
    },
    test: async () => {
      await sendTest();
      showToast("A test is on its way, as a notification.");
      timer = window.setTimeout(look, TEST_MS);
    },
    make: async () => {
      at("url").value = (await ask("/api/calendar", {})).url;
      at("fresh").hidden = false;
    },
  };
  for (const [name, what] of Object.entries(does)) at(name).addEventListener("click", () => attempt(what, at(name)));
  at("copy").addEventListener("click", async () => {
    at("url").select();
    const copied = navigator.clipboard?.writeText(at("url").value) ?? Promise.reject();
    showToast(
      await copied.then(
        () => "Copied.",
        () => "It is selected: copy it by hand.",
      ),
    );
  });
  const heard = () => {
    draw();
    // It is only known a moment after the start.
    if (!looked && syncStatus.workshop !== null) look();
  };
  heard();
  const unsubscribe = onSyncStatus(heard);
  return () => {
    clearTimeout(timer);
    unsubscribe();
  };
}
