/** Other hands at the same pour: what they did to the board that is shown here, and why it left. */
import { now } from "../bench/clock.js";
import { correctableField, eventWords, valueText } from "../bench/event_words.js";
import { readPour, undo } from "../bench/pours.js";
import { isStep } from "../records/events.js";
import { readStamp } from "../records/stamp.js";
import * as store from "../records/store.js";
import { plural, t } from "../words/door.js";
import { ask } from "./ask.js";
import { h, showToast } from "./dom.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */

/** By these a pour leaves the bench. */
const ENDS = ["abandoned", "set", "finished"];

/** What other phones did since a pour was shown, the last first; an instrument's own readings are no news.
 * @param {Pour} before @param {PourEvent[]} after @param {string} me this device, as its stamps have it */
export function byOthers({ events }, after, me) {
  const known = new Set(events.map(({ id }) => id));
  return after
    .filter((event) => !known.has(event.id) && readStamp(event.id).device !== me)
    .filter((event) => isStep("pour", event.type) || event.type === "undone" || event.type === "corrected")
    .filter((event) => !("source" in event && event.source))
    .reverse();
}

/** Who did what, in a sentence. @param {PourEvent[]} news the last first, not empty @param {Pour["record"]} record @param {DisplayUnits} units */
export function toldOf([last, ...rest], record, units) {
  const given = /** @type {Record<string, unknown>} */ (/** @type {unknown} */ (last));
  const field = correctableField(last);
  const what = eventWords(last, record);
  const value = field === null ? "" : valueText(last, field, given[field], record, units);
  const told = { who: whoOf(last), what: value ? t("{what}: {value}", { what, value }) : what };
  return rest.length === 0
    ? t("{who} · {what}", told)
    : plural(rest.length, "{who} · {what} (and {n} step before)", "{who} · {what} (and {n} steps before)", told);
}

/** @param {PourEvent} event */
const whoOf = ({ by }) => (typeof by === "string" && by) || t("Another phone");

/**
 * A pour left the bench by another hand: say why, and let her bring back what should not have gone.
 * @param {string} id @param {string} me @param {() => boolean} isShown whether its board is still shown
 * @returns {Promise<boolean>} it is on the bench again
 */
export async function whyItLeft(id, me, isShown) {
  const pour = await readPour(id, true);
  if (pour === null || !isShown()) return false;
  if (pour.record.deleted) {
    const back = () => store.save("pour", id, { deleted: false });
    return offer(t("This pour was deleted on another screen while it is on your bench."), t("Bring it back"), back);
  }
  const last = pour.events.findLast(({ type }) => ENDS.includes(type));
  if (last === undefined || readStamp(last.id).device === me) return false;
  const who = whoOf(last);
  if (pour.stage === "abandoned") {
    const given = pour.events.filter(({ type }) => type === "abandoned").map((event) => event.id);
    const goOn = () => undo(pour, given, now());
    return offer(t("{who} gave up this pour while it is on your bench.", { who }), t("Go on with it"), goOn);
  }
  showToast(
    pour.stage === "curing"
      ? t("{who} has put this pour away to cure.", { who })
      : t("{who} has set this pour aside. It is left to set.", { who }),
  );
  return false;
}

/** @param {string} sentence @param {string} label @param {() => Promise<unknown>} bringBack @returns {Promise<boolean>} */
async function offer(sentence, label, bringBack) {
  const place = document.createDocumentFragment();
  const take = h("button", { type: "button", class: "go" }, label);
  const leave = h("button", { type: "button", class: "quiet", "data-slot": "back" }, t("Leave it"));
  place.append(
    h(
      "dialog",
      { class: "pad", "aria-labelledby": "offer-asks" },
      h("p", { class: "asks", id: "offer-asks" }, sentence),
      h("div", { class: "ends" }, leave, take),
    ),
  );
  const wanted = await ask(place, (_, /** @type {(answer: true | null) => void} */ end) => {
    take.onclick = () => end(true);
  });
  if (wanted) await bringBack();
  return wanted === true;
}
