/** How this phone stands with its server, in words; and the line that says so on every desk screen. */
import { now } from "../bench/clock.js";
import { onSyncStatus, syncStatus } from "../records/exchange.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { setText } from "./dom.js";

/** A change on its way is no news before this. */
const PATIENCE_MS = 5000;

/** All of it, for Workshop. @returns {string} */
export function serverText() {
  const { workshop, count, heard_at } = syncStatus;
  if (workshop === null) {
    return "Everything is on this phone alone. Pair it with a server to keep a second copy and to work with other devices.";
  }
  const where = `in “${workshop.name}”`;
  if (syncStatus.state === "out") return `This device gets in no more ${where}: ${troubleText()}`;
  if (count > 0) return waitingText();
  if (heard_at === null) return `Paired ${where}; the server has not answered yet.`;
  return `All of it is on the server too, ${where}. It last answered ${whenText(heard_at)}.${troubleText()}`;
}

/** What is not on the server yet, since when, and why. */
function waitingText() {
  const { count, since, refused } = syncStatus;
  const were = refused.length === 1 ? "One was" : `${refused.length} were`;
  const kept = refused.length > 0 ? ` ${were} refused: see why.` : "";
  const changes = count === 1 ? "1 change is" : `${count} changes are`;
  return `${changes} not on the server yet, since ${whenText(since ?? now())}.${troubleText()}${kept}`;
}

function troubleText() {
  switch (syncStatus.state) {
    case "no signal":
      return " There is no signal, or it does not answer.";
    case "out":
      return "pair it again. What is kept here stays.";
    case "trouble":
    case "update":
      return ` ${syncStatus.trouble}`;
    default:
      return "";
  }
}

/** A moment: the time alone where it is today. @param {number} at_ms */
export function whenText(at_ms) {
  const day = localDate(at_ms);
  return day === localDate(now()) ? timeText(at_ms) : `${dayText(day)}, ${timeText(at_ms)}`;
}

/** The clock of this phone, where it is wrong. @returns {string} */
export function clockWarning() {
  const minutes = Math.round(Math.abs(syncStatus.offset_ms) / 60_000);
  if (syncStatus.workshop === null || minutes < 5) return "";
  const long =
    minutes < 120
      ? `${minutes} minutes`
      : minutes < 2880
        ? `${Math.round(minutes / 60)} hours`
        : `${Math.round(minutes / 1440)} days`;
  const side = syncStatus.offset_ms < 0 ? "ahead of" : "behind";
  return `This phone's clock is ${long} ${side} the server's: set it right, so that the times in your log are.`;
}

/** Keep the line up to date. */
export function showServerLine() {
  const place = /** @type {HTMLElement} */ (document.getElementById("server"));
  const link = /** @type {HTMLElement} */ (place.firstElementChild);
  const draw = () => {
    const { workshop, state, count, since, refused } = syncStatus;
    const onItsWay = (state === "resting" || state === "busy") && now() - (since ?? 0) < PATIENCE_MS;
    const waits = count > 0 && (refused.length > 0 || !onItsWay);
    place.hidden = workshop === null || !(state === "out" || waits);
    if (!place.hidden) setText(link, state === "out" ? serverText() : waitingText());
  };
  onSyncStatus(draw);
  setInterval(draw, PATIENCE_MS);
  draw();
}
