/** Being told with the bench closed: on or off here, when it comes, and the calendar's address. */

import { settingsOf } from "../bench/due.js";
import { ask, NoSignal, onSyncStatus, ServerError, syncStatus } from "../records/exchange.js";
import { how, PushTrouble } from "../records/push.js";
import { pushStatus, sendTest, turnOff, turnOn, whatToDo } from "../records/push_switch.js";
import { timeOfDay } from "../words/dates.js";
import { message, t, worded } from "../words/door.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, showToast, slot } from "./dom.js";
import { whenText } from "./server_state.js";

/** By then a test has come, or its trouble has. */
const TEST_MS = 5000;

/** @type {Record<string, import("../words/door.js").Message | undefined>} */
const STANDS = {
  on: message(
    "Reminders are on. This device tells you when a batch is due, and when a countdown ends while the screen is off.",
  ),
  off: message("Reminders are off. This device tells you nothing while the bench is closed."),
};

/** @param {HTMLElement} place @param {string[]} _path @param {import("./screen.js").Context} given */
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
    const says = STANDS[stands];
    const why = told?.why ?? "";
    setText(at("stands"), none ? t("The server sends no reminders. {why}", { why }) : worded(says ?? whatToDo(stands)));
    if (!at("turn").disabled) setText(at("turn"), stands === "on" ? t("Turn off") : t("Turn on"));
    at("turn").hidden = none || says === undefined;
    at("test").hidden = stands !== "on";
    at("pair").hidden = stands !== "not paired";
    at("calendar").hidden = syncStatus.workshop === null;
    setText(at("sent"), told?.sent_ms ? t("The last one was sent {when}.", { when: whenText(told.sent_ms) }) : "");
    setText(at("failed"), told?.trouble_ms ? `${whenText(told.trouble_ms)}: ${told.trouble}` : "");
    const { remind_at, quiet_from, quiet_to, zone } = settingsOf(workshop, told?.zone);
    const times = { at: timeOfDay(remind_at), from: timeOfDay(quiet_from), to: timeOfDay(quiet_to), zone };
    setText(
      at("when"),
      quiet_from === quiet_to
        ? t("Reminders come at {at}, in {zone}.", times)
        : t("Reminders come at {at}, not between {from} and {to}, in {zone}.", times),
    );
  };
  const complain = (/** @type {string} */ text) => {
    setText(at("trouble"), text);
    at("trouble").hidden = text === "";
  };
  /** Do something, ask how it stands then, and say what came between.
   * @param {() => unknown} what @param {{disabled: boolean}} [button] */
  const attempt = async (what, button = { disabled: false }) => {
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
    const revoke = h("button", { type: "button", class: "quiet small" }, t("End it"));
    revoke.addEventListener("click", () => {
      if (revoke.dataset.sure !== "yes") {
        revoke.dataset.sure = "yes";
        setText(revoke, t("Really end it?"));
      } else void attempt(() => ask(`/api/calendar/${id}/revoke`, {}));
    });
    const made = h(
      "span",
      { class: "what" },
      t("Made {when}", { when: whenText(made_ms) }),
      h("span", { class: "line" }, read_ms ? t("last read {when}", { when: whenText(read_ms) }) : t("not read yet")),
    );
    return h("div", { class: "card" }, made, revoke);
  };

  /** @type {Record<string, () => Promise<unknown>>} */
  const does = {
    turn: async () => {
      if (standsNow() === "on") return turnOff();
      setText(at("turn"), t("Turning on…"));
      return turnOn();
    },
    test: async () => {
      await sendTest();
      showToast(t("A test notification is on its way."));
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
        () => t("Copied."),
        () => t("The address is selected: copy it by hand."),
      ),
    );
  });
  const onStatus = () => {
    draw();
    // It is only known a moment after the start.
    if (!looked && syncStatus.workshop !== null) look();
  };
  onStatus();
  const unsubscribe = onSyncStatus(onStatus);
  return () => {
    clearTimeout(timer);
    unsubscribe();
  };
}
