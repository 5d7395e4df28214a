/** Being told with the bench closed: on or off here, when it comes, and the calendar's address. */
import { settingsOf } from "../bench/due.js";
import { timeOfDay } from "../bench/hers.js";
import { ask, standing as bench, hear, NoSignal, ServerError } from "../records/exchange.js";
import { how, PushTrouble, sendTest, standing, turnOff, turnOn, whatToDo } from "../records/push.js";
import { copy, h, say, slot, swap, tellBelow } from "./dom.js";
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
  place.append(copy("screen-reminders"));
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
    say(at("stands"), none ? `The server sends no reminders. ${told?.why}` : (SAYS[stands] ?? whatToDo(stands)));
    if (!at("turn").disabled) say(at("turn"), stands === "on" ? "Turn off" : "Turn on");
    at("turn").hidden = none || !SAYS[stands];
    at("test").hidden = stands !== "on";
    at("pair").hidden = stands !== "not paired";
    at("calendar").hidden = bench.workshop === null;
    say(at("sent"), told?.sent_ms ? `Last sent ${whenText(told.sent_ms)}.` : "");
    say(at("failed"), told?.trouble_ms ? `${whenText(told.trouble_ms)}: ${told.trouble}` : "");
    const { remind_at, quiet_from, quiet_to, zone } = settingsOf(workshop, told?.zone);
    const quiet = quiet_from === quiet_to ? "" : `not between ${timeOfDay(quiet_from)} and ${timeOfDay(quiet_to)}, `;
    say(at("when"), `At ${timeOfDay(remind_at)}, ${quiet}in ${zone}.`);
  };
  const complain = (/** @type {string} */ text) => {
    say(at("trouble"), text);
    at("trouble").hidden = text === "";
  };
  /** Do something, hear how it stands then, and say what came between. @param {() => any} what @param {any} [button] */
  const attempt = async (what, button = {}) => {
    button.disabled = true;
    complain("");
    try {
      await what();
      if (bench.workshop !== null) {
        told = await standing();
        swap(at("cards"), ...(await ask("/api/calendar")).map(row));
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
      if (revoke.textContent === "Revoke") say(revoke, "Revoke: sure?");
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
      say(at("turn"), "Turning on…");
      return turnOn();
    },
    test: async () => {
      await sendTest();
      tellBelow("A test is on its way, as a notification.");
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
    tellBelow(
      await copied.then(
        () => "Copied.",
        () => "It is selected: copy it by hand.",
      ),
    );
  });
  const heard = () => {
    draw();
    // It is only known a moment after the start.
    if (!looked && bench.workshop !== null) look();
  };
  heard();
  const deaf = hear(heard);
  return () => {
    clearTimeout(timer);
    deaf();
  };
}
