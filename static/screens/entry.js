/** One pour looked back on: targets beside readings, the temperature curve, what happened when. */

import { now, phoneNow } from "../bench/clock.js";
import { nameOf } from "../bench/due.js";
import { eventWords, valueText } from "../bench/event_words.js";
import { filledOf } from "../bench/fold.js";
import { addEvent, isOnBench, ofEach, readPour, undo } from "../bench/pours.js";
import { daysLeft } from "../formulas/cure.js";
import * as store from "../records/store.js";
import { readPrices, readShelfOf } from "../shelf/read_cost.js";
import { usesOf } from "../shelf/uses.js";
import { dayText, localDate } from "../words/dates.js";
import { t } from "../words/door.js";
import { showAttachments } from "./attachments.js";
import { cloneTemplate, cureBar, h, look, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { drawCandles } from "./entry_candles.js";
import { clashNotices } from "./entry_clashes.js";
import { askCorrection } from "./entry_corrections.js";
import { drawCost } from "./entry_cost.js";
import { happened } from "./entry_happened.js";
import { factsOf, jugSection } from "./entry_jugs.js";
import { drawLots } from "./entry_lots.js";
import { deleteBy, takeNotes } from "./page_parts.js";
import { drawComing, keepBurns } from "./reminder_list.js";
import { drawOnChange, tryToKeep } from "./screen.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */

/** @param {HTMLElement} place @param {string[]} path @param {import("./screen.js").Context} given */
export async function show(place, [id], given) {
  const { units, go } = given;
  /** @type {Pour} */
  let pour;
  /** What it was poured by, as it stands now. @type {store.Plain | undefined} */
  let recipe;
  place.append(cloneTemplate("screen-entry"));
  const remove = slot(place, "remove");
  showAttachments(place, id);
  slot(place, "labels").href = `#/labels/of/${id}`;

  function draw() {
    const { sheet, state } = pour;
    slot(place, "look").replaceChildren(look(sheet));
    slot(place, "cure").replaceChildren(...cureOf(pour));
    setText(slot(place, "name"), nameOf(sheet).replaceAll(" × ", "\u00a0× "));
    const { deleted } = pour.record;
    slot(place, "test").href = `#/test/of/${id}`;
    slot(place, "net_link").href = `#/net/${id}`;
    slot(place, "net").hidden = Boolean(deleted) || filledOf(state).filled === 0;
    slot(place, "again").href = `#/plan/${sheet.recipe}`;
    slot(place, "again").hidden = recipe === undefined || recipe.deleted;
    const notices = [
      ...goneLines(pour, recipe, bringRecipeBack),
      ...clashNotices(pour, units, (ids) => void takeBack(ids)),
    ];
    replaceKeepingFocus(slot(place, "gone"), ...notices);
    if (!remove.dataset.sure) setText(remove, deleted ? t("Bring it back") : t("Delete"));
    showFacts(slot(place, "facts"), factsOf(pour, units));
    const goOn = h("p", {}, h("a", { class: "go", href: `#/pour/${id}/0` }, t("Go on with this pour")));
    replaceKeepingFocus(
      slot(place, "jugs"),
      ...(isOnBench(pour) && !deleted ? [goOn] : []),
      ...state.jugs.map((_, index) => jugSection(pour, index, units)),
    );
    slot(place, "notes").replaceChildren(
      ...notesOf(pour).map(({ at, text }) => h("li", {}, h("time", {}, dayText(localDate(at))), " ", text)),
    );
    const takeBackOne = (/** @type {PourEvent} */ { id }) => void takeBack([id, ...(state.same.get(id) ?? [])]);
    drawComing(place, pour, given, keep);
    if (deleted) slot(place, "reminders").hidden = true;
    const told = {
      words: (/** @type {PourEvent} */ event) => eventWords(event, pour.record),
      value: (/** @type {PourEvent} */ event, /** @type {string} */ field, /** @type {unknown} */ value) =>
        valueText(event, field, value, pour.record, units),
    };
    replaceKeepingFocus(slot(place, "happened"), ...happened("pour", pour, told, correct, takeBackOne));
  }

  /** What the shelf has to tell of it comes after the rest. */
  async function drawShelf() {
    // One whose sheet makes no sense took nothing that can be told.
    if (ofEach([pour], (each) => [usesOf(each)]).length === 0) return;
    const today = localDate(phoneNow());
    const [shelf, prices] = await Promise.all([readShelfOf(pour, today), readPrices()]);
    drawLots(place, pour, shelf, units);
    await drawCandles(place, pour, units);
    await drawCost(place, pour, shelf, prices, units);
  }

  async function redraw() {
    const fresh = await readPour(id, true);
    if (fresh === null) {
      go("log");
      return;
    }
    pour = fresh;
    recipe = await store.get("recipe", pour.sheet.recipe);
    draw();
    await drawShelf();
  }

  const bringRecipeBack = () =>
    tryToKeep(() => store.save("recipe", pour.sheet.recipe, { deleted: false })).then(redraw);

  const tryThenShow = async (/** @type {() => Promise<unknown>} */ work) => {
    const isKept = await tryToKeep(work, t("This pour was changed elsewhere. Look again."));
    await redraw();
    return isKept;
  };
  const keep = (/** @type {import("../records/event_types.js").NewPourEvent} */ event) =>
    tryThenShow(() => addEvent(pour, event, now()));
  const takeBack = (/** @type {string[]} */ ids) => tryThenShow(() => undo(pour, ids, now()));

  /** A number was wrong: the right one counts from now on, the wrong one stays to be seen.
   * @param {PourEvent} event */
  async function correct(event) {
    const correction = await askCorrection(event, pour.sheet, units);
    if (correction !== null) await keep(correction);
  }

  takeNotes(place, id, keep);
  keepBurns(place, id, keep);
  deleteBy(remove, "pour", id, {
    isDeleted: () => Boolean(pour.record.deleted),
    sure: t("Really delete this pour?"),
    told: t("Deleted. You find it at the end of the log."),
    leave: () => go("log"),
  });
  return drawOnChange(
    ({ id: changed, kind }) =>
      changed === id || changed === pour?.sheet.recipe || ["lot", "prices", "batch"].includes(kind),
    redraw,
  );
}

/** What is no longer there, and what can be done.
 * @param {Pour} pour @param {store.Plain | undefined} recipe @param {() => void} bringBack */
function goneLines({ record }, recipe, bringBack) {
  const notice = (/** @type {string} */ text) => h("p", { class: "beware notice" }, text);
  const lines = record.deleted ? [notice(t("This pour was deleted. It gives no reminders and does not count."))] : [];
  if (recipe === undefined) return [...lines, notice(t("Its recipe is not here, so you can't pour it again."))];
  if (!recipe.deleted) return lines;
  return [
    ...lines,
    notice(t("Its recipe was deleted: bring it back to pour it again.")),
    h(
      "p",
      { class: "links" },
      h("button", { type: "button", class: "quiet", onclick: bringBack }, t("Bring the recipe back")),
    ),
  ];
}

/** What she noted on the way and at its end. @param {Pour} pour */
function notesOf({ state, events }) {
  const end = events.flatMap((each) => (each.type === "finished" && each.text ? [each] : []));
  return [...state.notes, ...end.map(({ at, text }) => ({ at, text }))];
}

/** How far it has cured, while it does. @param {Pour} pour */
function cureOf({ sheet, state }) {
  if (state.set_on === null) return [];
  const days = -daysLeft(state.set_on, 0, localDate(now()));
  const whole = [sheet.cure_least_days, sheet.cure_best_days].find((each) => days < each);
  return whole ? [cureBar({ days, whole })] : [];
}
