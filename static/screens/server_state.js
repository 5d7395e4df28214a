/** How this phone stands with its server, in words; and the line that says so on every desk screen. */

import { ahead, phoneNow } from "../bench/clock.js";
import { session } from "../bench/session.js";
import { onSyncStatus, syncStatus } from "../records/exchange.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { setText, showToast } from "./dom.js";

/** A change on its way is no news before this. */
const PATIENCE_MS = 5000;

/** All of it, for Workshop. @returns {string} */
export function serverText() {
  const { workshop, count, heard_at } = syncStatus;
  if (workshop === null) {
    return t(
      "Everything is on this phone only. Pair it with a server to keep a second copy and to work with other devices.",
    );
  }
  const { name } = workshop;
  if (syncStatus.state === "out") {
    return t("This device is shut out of “{name}”. Pair it again. What is saved here stays.", { name });
  }
  if (count > 0) return waitingText();
  if (heard_at === null) return t("This device is paired with “{name}”. The server has not answered yet.", { name });
  const all = t("Everything is on the server too, in “{name}”. It last answered {when}.", {
    name,
    when: whenText(heard_at),
  });
  return sentences(all, troubleText());
}

/** What is not on the server yet, since when, and why. */
function waitingText() {
  const { count, since, refused } = syncStatus;
  const waits = plural(
    count,
    "{n} change is not on the server yet, since {when}.",
    "{n} changes are not on the server yet, since {when}.",
    { when: whenText(since ?? phoneNow()) },
  );
  const why = plural(
    refused.length,
    "The server refused one change: see why.",
    "The server refused {n} changes: see why.",
  );
  return sentences(waits, troubleText(), refused.length > 0 ? why : "");
}

function troubleText() {
  switch (syncStatus.state) {
    case "no signal":
      return t("There is no signal, or the server does not answer.");
    case "trouble":
    case "update":
      return syncStatus.trouble;
    default:
      return "";
  }
}

/** @param {...string} each empty ones are left out */
const sentences = (...each) => each.filter(Boolean).join(" ");

/** A moment: the time alone where it is today. @param {number} at_ms */
export function whenText(at_ms) {
  const day = localDate(at_ms);
  return day === localDate(phoneNow()) ? timeText(at_ms) : `${dayText(day)}, ${timeText(at_ms)}`;
}

/** The clock of this phone, where it is wrong. @returns {string} */
export function clockWarning() {
  const minutes = Math.round(Math.abs(syncStatus.offset_ms) / 60_000);
  if (syncStatus.workshop === null || minutes < 5) return "";
  const long = durationText(minutes);
  return syncStatus.offset_ms < 0
    ? t("This phone's clock is {long} ahead of the server's. The bench goes by the server's. Set the phone's clock.", {
        long,
      })
    : t("This phone's clock is {long} behind the server's. The bench goes by the server's. Set the phone's clock.", {
        long,
      });
}

/** That the phone's clock was put back while something is on the bench. @returns {string} */
function putBack() {
  const minutes = Math.round(ahead() / 60_000);
  if (minutes === 0) return "";
  return t(
    "The phone's clock was set back {long} during this pour. The bench keeps to the old time until it is poured.",
    {
      long: durationText(minutes),
    },
  );
}

/** @param {number} minutes */
function durationText(minutes) {
  if (minutes < 120) return plural(minutes, "{n} minute", "{n} minutes");
  if (minutes < 2880) return plural(Math.round(minutes / 60), "{n} hour", "{n} hours");
  return plural(Math.round(minutes / 1440), "{n} day", "{n} days");
}

/** Keep the line up to date. */
export function showServerLine() {
  const place = /** @type {HTMLElement} */ (document.getElementById("server"));
  const link = /** @type {HTMLElement} */ (place.firstElementChild);
  let told = false;
  const draw = () => {
    const clock = putBack() || clockWarning();
    // The board has no such line.
    if (clock !== "" && !told && location.hash.startsWith("#/pour/")) {
      showToast(clock);
      told = true;
    }
    told &&= clock !== "";
    const { workshop, state, count, since, refused } = syncStatus;
    const onItsWay = (state === "resting" || state === "busy") && phoneNow() - (since ?? 0) < PATIENCE_MS;
    const waits = count > 0 && (refused.length > 0 || !onItsWay);
    const isServer = workshop !== null && (state === "out" || waits);
    place.hidden = !isServer && clock === "";
    if (!place.hidden) setText(link, sentences(clock, !isServer ? "" : state === "out" ? serverText() : waitingText()));
  };
  onSyncStatus(draw);
  session.onTick(draw);
  draw();
}
