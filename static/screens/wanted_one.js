/** One thing that is wanted: how it stands, and how many went out of which batch. */
import { now, phoneNow } from "../bench/clock.js";
import { parseNumber } from "../formulas/units.js";
import * as store from "../records/store.js";
import { candlesOf } from "../shelf/candles.js";
import { handedOut } from "../shelf/supply.js";
import { KINDS_OF_WANTED, readKept, workOut } from "../shelf/wanted.js";
import { localDate } from "../words/dates.js";
import { InputError, plural, t } from "../words/door.js";
import { sayBeside } from "./boxes.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, showToast, slot } from "./dom.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";
import { farDay } from "./shelf_words.js";
import { toDo } from "./wanted_lines.js";
import { nameOf, wantedText } from "./wanted_words.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../shelf/wanted.js").Order} Order */
/** @typedef {{pour: Pour, here: number, aside: number, box: HTMLInputElement, error: HTMLElement}} Row a batch with candles
 *   that are here; `aside`: how many are meant for this */
/** @typedef {{pour: string, n: number}} Handed */

/** @param {HTMLElement} place @param {string} id @param {import("./screen.js").Context} context */
export async function showOne(place, id, context) {
  const { units, go } = context;
  place.append(cloneTemplate("screen-wanted_one"));
  const form = /** @type {HTMLFormElement} */ (slot(place, "form"));
  /** @type {Row[]} */
  let rows = [];

  /** Keep what went out, and whether it is done now. @param {Handed[]} handed @param {boolean} done */
  async function keep(handed, done) {
    const kept = await tryToKeep(async () => {
      const at = now();
      for (const { pour, n } of handed) await store.append("pour", pour, { type: "handed_out", n, wanted: id, at });
      if (done) await store.save("wanted", id, { done: "yes" });
    });
    if (!kept) return;
    for (const { box } of rows) box.value = "";
    if (done) go("wanted");
    showToast(done ? t("It is done. You find it at the end of what is wanted.") : t("What went out is saved."));
  }

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const handed = readRows(rows);
    if (handed === null) {
      rows.find(({ error }) => !error.hidden)?.box.focus();
      return;
    }
    const error = slot(place, "error");
    error.hidden = handed.length > 0;
    setText(error, t("Say how many went out, beside the batch that they are of."));
    const button = /** @type {HTMLButtonElement | null} */ (event.submitter);
    if (handed.length > 0) await keep(handed, button?.value === "all");
  });
  slot(place, "aside").addEventListener("click", async () => {
    const handed = rows.flatMap(({ pour, aside }) => (aside > 0 ? [{ pour: pour.id, n: aside }] : []));
    await keep(handed, slot(place, "aside").dataset.all === "yes");
  });
  slot(place, "done").addEventListener("click", () => {
    const done = slot(place, "done");
    if (rows.length === 0 || done.dataset.sure === "yes") {
      void keep([], true);
      return;
    }
    done.dataset.sure = "yes";
    setText(done, t("Done, without saying of which batch"));
    slot(place, "handing").scrollIntoView();
    rows[0].box.focus({ preventScroll: true });
  });
  slot(place, "edit").href = `#/edit/wanted/${id}`;

  return drawOnChange(ofKinds(...KINDS_OF_WANTED), async () => {
    const today = localDate(phoneNow());
    const kept = await readKept(today, context, id);
    const record = kept.wanted.find((each) => each.id === id);
    if (record === undefined) {
      go("wanted");
      return;
    }
    setText(slot(place, "name"), nameOf(record));
    const isDone = record.done === "yes";
    const given = handedOut(kept.pours).get(id) ?? 0;
    const recipe = kept.recipes.get(record.recipe) ?? null;
    const none = { record, recipe, given, problem: null, worked: null, days: [], missing: [], uncounted: [] };
    const order = workOut(kept).find((each) => each.record.id === id) ?? none;
    setText(slot(place, "what"), wantedText(order, today));
    slot(place, "done").hidden = isDone;
    const done = isDone ? [h("p", { class: "help" }, doneText(given))] : toDo(order, units, today);
    replaceKeepingFocus(slot(place, "todo"), ...done.flatMap((each) => each || []));
    rows = rowsOf(order, kept.pours, rows, today);
    slot(place, "handing").hidden = isDone || rows.length === 0;
    const fields = rows.map(({ box }) => /** @type {Element} */ (box.closest(".field")));
    const there = slot(place, "batches");
    // Put in anew, a box would lose the keyboard.
    if (fields.some((field, at) => there.children[at] !== field) || there.children.length > fields.length)
      there.replaceChildren(...fields);
    drawAside(slot(place, "aside"), order, rows);
  });
}

/** @param {number} given */
function doneText(given) {
  const out = plural(given, "{n} went out for it.", "{n} went out for it.");
  return given > 0 ? `${t("It is done.")} ${out}` : t("It is done.");
}

/** One touch for all that is set aside. @param {HTMLElement} button @param {Order} order @param {Row[]} rows */
function drawAside(button, { record, given }, rows) {
  const n = rows.reduce((sum, { aside }) => sum + aside, 0);
  const all = given + n >= record.count;
  button.hidden = n === 0;
  button.dataset.all = all ? "yes" : "no";
  const some = plural(n, "The {n} set aside went out", "The {n} set aside went out");
  setText(button, all ? plural(n, "The {n} set aside went out: done", "The {n} set aside went out: done") : some);
}

/** The batches of its recipe that are put away, with what was typed already.
 * @param {Order} order @param {Pour[]} pours @param {Row[]} before @param {string} today @returns {Row[]} */
function rowsOf({ record, worked }, pours, before, today) {
  const shares = [...(worked?.from ?? []), ...(worked?.cured.from ?? [])];
  const there = pours.filter(({ sheet, stage }) => stage === "curing" && sheet.recipe === record.recipe);
  return there.flatMap((pour) => {
    const { shelf: here, withdrawn } = candlesOf(pour);
    if (here === 0 || withdrawn !== null) return [];
    const aside = shares.reduce((sum, { id, n }) => (id === pour.id ? sum + n : sum), 0);
    const known = before.find((row) => row.pour.id === pour.id && row.here === here && row.aside === aside);
    return [known ?? rowOf(pour, here, aside, today)];
  });
}

/** @param {Pour} pour @param {number} here @param {number} aside @param {string} today @returns {Row} */
function rowOf(pour, here, aside, today) {
  const error = h("p", { class: "error", id: `went-${pour.id}`, hidden: true });
  const attributes = { type: "text", inputmode: "numeric", autocomplete: "off", "aria-describedby": error.id };
  const box = /** @type {HTMLInputElement} */ (h("input", attributes));
  const poured = farDay(pour.state.set_on ?? localDate(pour.record.started_at), today);
  const help = plural(here, "{n} is here.", "{n} are here.");
  const meant = aside > 0 ? plural(aside, "{n} is set aside for this.", "{n} are set aside for this.") : "";
  h(
    "div",
    { class: "field" },
    h(
      "label",
      {},
      h("span", { class: "name" }, t("{title}, poured {day}", { title: pour.sheet.title, day: poured })),
      h("span", { class: "help" }, [help, meant].filter(Boolean).join(" ")),
      box,
    ),
    error,
  );
  return { pour, here, aside, box, error };
}

/** What she typed; null where some of it makes no sense, which is then said beside it. @param {Row[]} rows
 * @returns {Handed[] | null} */
function readRows(rows) {
  const handed = rows.map(({ pour, here, box, error }) => {
    let problem = "";
    let n = 0;
    try {
      if (box.value.trim() !== "") n = wentOut(box.value, here);
    } catch (refused) {
      if (!(refused instanceof InputError)) throw refused;
      problem = refused.message;
    }
    sayBeside(box, error, problem);
    return { pour: pour.id, n, problem };
  });
  if (handed.some(({ problem }) => problem !== "")) return null;
  return handed.flatMap(({ pour, n }) => (n > 0 ? [{ pour, n }] : []));
}

/** @param {string} text @param {number} here @throws {InputError} not whole, none, or more than are here */
function wentOut(text, here) {
  const n = parseNumber(text);
  if (!Number.isInteger(n) || n < 1) throw new InputError("Write how many candles went out, such as 12.");
  if (n > here) {
    throw new InputError("Only {here} of this batch are here: write fewer, or count the batch again.", { here });
  }
  return n;
}
