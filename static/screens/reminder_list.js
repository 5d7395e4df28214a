/** What a batch reminds of, on its own page: what is done, what comes, the calendar file, test burns. */

import { calendarOf } from "../bench/calendar.js";
import { phoneNow } from "../bench/clock.js";
import { due, remindersOf, SAYS, settingsOf } from "../bench/due.js";
import { putOff, seenTo } from "../bench/reminder_events.js";
import { how, PushTrouble } from "../records/push.js";
import { turnOn } from "../records/push_switch.js";
import * as store from "../records/store.js";
import { dayText } from "../words/dates.js";
import { t } from "../words/door.js";
import { download, h, replaceKeepingFocus, showToast, slot } from "./dom.js";
import { keepDraft } from "./draft.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../records/event_types.js").NewPourEvent} NewEvent */
/** @typedef {(event: NewEvent) => Promise<boolean>} Keep */

/** @param {HTMLElement} place @param {Pour} pour @param {Pick<import("./screen.js").Context, "workshop">} given @param {Keep} keep */
export function drawComing(place, pour, { workshop }, keep) {
  const settings = settingsOf(workshop);
  const reminders = remindersOf(pour, { ...settings, off: [] });
  slot(place, "reminders").hidden = reminders.length === 0;
  const asked = due(reminders, phoneNow());
  const isPutAway = pour.stage === "curing";
  replaceKeepingFocus(
    slot(place, "coming"),
    ...reminders.map((each) => lineOf(each, asked.includes(each), isPutAway, keep)),
  );
  const tell = slot(place, "tell");
  tell.hidden = how() !== "off" || reminders.every(({ done }) => done);
  tell.onclick = async () => {
    try {
      await turnOn();
      showToast(t("This phone tells you on that morning."));
      tell.hidden = true;
    } catch (error) {
      if (!(error instanceof PushTrouble)) throw error;
      showToast(error.message);
    }
  };
  slot(place, "file").onclick = async () => {
    const text = calendarOf(pour, settings, await store.getStored("workshop", "workshop"), phoneNow());
    if (text === null) showToast(t("There is nothing left to remind you of."));
    else download(new File([text], `${pour.sheet.title}.ics`, { type: "text/calendar" }));
  };
}

/** @param {import("../bench/due.js").Reminder} reminder @param {boolean} asked it is due
 * @param {boolean} isPutAway before, trimming and labels are said on their own screen @param {Keep} keep */
function lineOf({ kind, day, on, at_ms, done }, asked, isPutAway, keep) {
  /** @param {string} key @param {string} label @param {() => NewEvent} event */
  const button = (key, label, event) =>
    h(
      "button",
      { type: "button", class: "quiet small", "data-key": `${key} ${kind}`, onclick: () => void keep(event()) },
      label,
    );
  const over = done || (!asked && at_ms <= phoneNow());
  return h(
    "p",
    { class: over ? "comes done" : "comes" },
    h("span", {}, `${dayText(on)}: `, h("b", {}, t(SAYS[kind])), over ? " ✓" : ""),
    asked && (isPutAway || (kind !== "trim" && kind !== "label")) && button("done", t("OK"), () => seenTo(kind, day)),
    asked && button("tomorrow", t("Tomorrow"), () => putOff(kind, day)),
  );
}

/** @param {HTMLElement} place @param {string} id @param {Keep} keep */
export function keepBurns(place, id, keep) {
  const form = slot(place, "burn");
  const forget = keepDraft(form, `draft burn ${id}`);
  form.addEventListener("submit", async (/** @type {Event} */ event) => {
    event.preventDefault();
    const [text, next_on] = [slot(place, "saw").value.trim(), slot(place, "next").value];
    if (!(await keep({ type: "burned", ...(text && { text }), ...(next_on && { next_on }) }))) return;
    form.reset();
    forget();
  });
}
