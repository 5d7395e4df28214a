/** What a batch reminds of, on its own page: what is done, what comes, the calendar file, test burns. */

import { calendarOf } from "../bench/calendar.js";
import { now } from "../bench/clock.js";
import { due, remindersOf, SAYS, settingsOf } from "../bench/due.js";
import { dayText } from "../bench/hers.js";
import { how, PushTrouble, turnOn } from "../records/push.js";
import * as store from "../records/store.js";
import { putOff, seenTo } from "./answers.js";
import { download, h, slot, swap, tellBelow } from "./dom.js";
import { keepDraft } from "./form.js";

/** @typedef {import("../bench/bench.js").Pour} Pour */
/** @typedef {(event: {type: string} & Record<string, any>) => Promise<boolean>} Keep */

/** @param {HTMLElement} place @param {Pour} pour @param {{workshop: Record<string, any>}} given @param {Keep} keep */
export function drawComing(place, pour, { workshop }, keep) {
  const settings = settingsOf(workshop);
  const reminders = remindersOf(pour, { ...settings, off: [] });
  slot(place, "reminders").hidden = reminders.length === 0;
  const asked = due(reminders, now());
  swap(slot(place, "coming"), ...reminders.map((each) => lineOf(each, asked.includes(each), keep)));
  const tell = slot(place, "tell");
  tell.hidden = how() !== "off" || reminders.every(({ done }) => done);
  tell.onclick = async () => {
    try {
      await turnOn();
      tellBelow("This phone tells you on the morning.");
      tell.hidden = true;
    } catch (error) {
      if (!(error instanceof PushTrouble)) throw error;
      tellBelow(error.message);
    }
  };
  slot(place, "file").onclick = async () => {
    const text = calendarOf(pour, settings, await store.getStored("workshop", "workshop"), now());
    if (text === null) tellBelow("Nothing is left to remind of.");
    else download(new File([text], `${pour.sheet.title}.ics`, { type: "text/calendar" }));
  };
}

/** @param {import("../bench/due.js").Reminder} reminder @param {boolean} asked it is due @param {Keep} keep */
function lineOf({ kind, day, on, at_ms, done }, asked, keep) {
  const button = (/** @type {string} */ label, /** @type {() => {type: string}} */ event) =>
    h("button", { type: "button", class: "quiet small", onclick: () => void keep(event()) }, label);
  const over = done || (!asked && at_ms <= now());
  return h(
    "p",
    { class: over ? "comes done" : "comes" },
    h("span", {}, `${dayText(on)}: `, h("b", {}, SAYS[kind]), over ? " ✓" : ""),
    asked && kind !== "trim" && kind !== "label" && button("Done", () => seenTo(kind, day)),
    asked && button("Tomorrow", () => putOff(kind, day)),
  );
}

/** @param {HTMLElement} place @param {string} id @param {import("../bench/hers.js").Hers} units @param {Keep} keep */
export function keepBurns(place, id, units, keep) {
  const form = slot(place, "burn");
  const forget = keepDraft(form, `draft burn ${id}`, units, () => []);
  form.addEventListener("submit", async (/** @type {Event} */ event) => {
    event.preventDefault();
    const [text, next_on] = [slot(place, "saw").value.trim(), slot(place, "next").value];
    if (!(await keep({ type: "burned", ...(text && { text }), ...(next_on && { next_on }) }))) return;
    form.reset();
    forget();
  });
}
