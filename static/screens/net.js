/** Net content: what a batch's label may state by what its vessels really weigh, and what to aim for next time. */
import { now } from "../bench/clock.js";
import { isOnBench, readPour } from "../bench/pours.js";
import { ask } from "../records/exchange.js";
import { keepFinding, findings as readFindings } from "../records/findings.js";
import * as store from "../records/store.js";
import { askedOf, decimals, isOutdated, newest, questionOf, readable } from "../shelf/net_asked.js";
import { weightsOf } from "../shelf/weights.js";
import { dayText, localDate } from "../words/dates.js";
import { plural, t, WordedError } from "../words/door.js";
import { boxOf } from "./boxes.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { goToFirstWrong } from "./edit.js";
import { fillField, fillForm, showWhen } from "./form.js";
import { ownField } from "./form_fields.js";
import { complain, readForm } from "./form_reading.js";
import { findingParts } from "./net_words.js";
import { drawOnChange, tryToKeep } from "./screen.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../bench/mixing.js").Fields} Fields */
/** @typedef {import("../shelf/weights.js").Batch} Batch */
/** @typedef {import("../shelf/net_asked.js").Said} Said */

/** The sides of each shape of a panel, as the desk asks for them and as the form calls them. */
const SIDES = {
  round: { diameter_mm: "diameter_mm", height_mm: "height_mm" },
  side: { width_mm: "width_mm", height_mm: "height_mm" },
  surface: { surface_mm2: "surface_cm2" },
};
const MM2_OF_CM2 = 100;

/** What the desk calls what the form calls otherwise. */
const CALLED = new Map([
  ["nominal_g", "stated"],
  ["stated_g", "stated"],
]);

/** @param {HTMLElement} place @param {string[]} path the pour's id @param {import("./screen.js").Context} context */
export async function show(place, [id], { units, go }) {
  const first = await readPour(id);
  if (first === null) {
    go("log");
    return;
  }
  let pour = first;
  place.append(cloneTemplate("screen-net"));
  slot(place, "back").href = `#/entry/${id}`;
  const form = /** @type {HTMLFormElement} */ (slot(place, "form"));
  const size = /** @type {HTMLSelectElement} */ (slot(place, "size"));
  /** @type {Batch[]} */
  let batches = [];
  let others = 0;
  /** @type {store.Plain[]} */
  let findings = [];
  const chosen = () => batches.find(({ key }) => key === size.value) ?? batches[0];

  const settle = () => {
    showWhen(form);
    const isUs = boxOf(/** @type {HTMLElement} */ (ownField(form, "law"))).value === "us";
    for (const name of ["diameter_mm", "width_mm", "height_mm", "surface_cm2"]) {
      const field = /** @type {HTMLElement} */ (ownField(form, name));
      field.hidden ||= !isUs;
    }
    const marks = /** @type {HTMLElement} */ (ownField(form, "marks"));
    marks.hidden = !chosen()?.weights.some(({ isMark }) => isMark);
  };

  function draw() {
    const batch = chosen();
    const there = batch !== undefined;
    form.hidden = !there;
    slot(place, "counts").hidden = !there;
    slot(place, "reckon").hidden = !there;
    replaceKeepingFocus(slot(place, "notices"), ...noticesOf(pour, batch, others));
    settle();
    const last = batch && newest(findings, ({ asked, pour: of }) => of === id && asked.vessel === batch.key);
    slot(place, "again").hidden = last === undefined;
    replaceKeepingFocus(slot(place, "found"), ...(last ? partsOrWhy(last, units) : []));
    replaceKeepingFocus(slot(place, "older"), ...(last && batch ? olderLines(last, batch, pour.sheet) : []));
  }

  async function redraw() {
    const [fresh, kept] = await Promise.all([readPour(id), readFindings("net_finding")]);
    if (fresh === null) {
      go("log");
      return;
    }
    pour = fresh;
    findings = readable(kept);
    ({ batches, others } = weightsOf(pour));
    setText(slot(place, "back"), pour.sheet.title);
    const before = size.value;
    size.replaceChildren(...batches.map(({ key, name }) => h("option", { value: key }, name)));
    if (batches.some(({ key }) => key === before)) size.value = before;
    slot(place, "sizes").hidden = batches.length < 2;
    draw();
  }

  const unsubscribe = await drawOnChange(({ id: changed, kind }) => changed === id || kind === "net_finding", redraw);
  fillForm(form, firstOf(findings, pour, chosen()?.key), units, () => []);
  const stated = /** @type {HTMLElement} */ (ownField(form, "stated"));
  let offered = boxOf(stated).value;
  keepDraft(form, `draft net ${id}`);
  form.addEventListener("change", settle);
  settle();
  size.addEventListener("change", () => {
    // What she typed stays.
    if (boxOf(stated).value === offered) {
      fillField(stated, firstOf(findings, pour, size.value).stated ?? null, units, () => []);
      offered = boxOf(stated).value;
    }
    draw();
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    slot(place, "reckon").focus();
  });

  const reckon = slot(place, "reckon");
  reckon.addEventListener("click", async () => {
    const error = slot(place, "error");
    error.hidden = true;
    const { values, wrong } = readForm(form, units, true);
    if (wrong > 0) {
      goToFirstWrong(form);
      return;
    }
    reckon.disabled = true;
    try {
      const asked = askedOf(chosen(), pour.sheet, saidOf(values, boxOf(stated).value, units));
      const found = await ask("/api/desk/netcontent", questionOf(asked));
      const finding = { name: pour.sheet.title, pour: id, made_at: now(), asked, found };
      const isKept = await tryToKeep(() => keepFinding("net_finding", store.newId(), finding));
      if (isKept) {
        await redraw();
        slot(place, "found").scrollIntoView();
      }
    } catch (problem) {
      if (!(problem instanceof WordedError)) throw problem;
      const about = aboutOf(problem);
      const field = about === null ? undefined : ownField(form, about);
      if (field && !field.hidden) complain(form, about ?? "", problem.message);
      else {
        setText(error, problem.message);
        error.hidden = false;
      }
    } finally {
      reckon.disabled = false;
    }
  });
  return unsubscribe;
}

/** What was found, or that it can't be told: a newer version may have kept it. @param {store.Plain} finding
 * @param {DisplayUnits} units */
function partsOrWhy(finding, units) {
  try {
    return findingParts(finding, units);
  } catch (error) {
    console.warn(`The finding ${finding.id} can't be read.`, error);
    return [
      h("p", { class: "beware notice" }, t("This version of the bench can't read what was found: work it out anew.")),
    ];
  }
}

/** Which box of the form an error is about, as the desk says it or the bench itself. @param {WordedError} problem
 * @returns {string | null} */
function aboutOf(problem) {
  const { told, about } = /** @type {{told?: {about?: string}, about?: string}} */ (problem);
  const name = told?.about ?? about ?? null;
  return name === null ? null : (CALLED.get(name) ?? name);
}

/** What the form begins with: where she sold last, and what such a batch stated last.
 * @param {store.Plain[]} findings @param {Pour} pour @param {string | undefined} vessel @returns {Fields} */
function firstOf(findings, { sheet }, vessel) {
  const last = newest(findings)?.asked;
  const alike = newest(findings, ({ asked }) => asked.recipe === sheet.recipe && asked.vessel === vessel)?.asked;
  const { shape, ...sides } = alike?.panel ?? {};
  const kept = Object.fromEntries(
    Object.entries(SIDES[/** @type {keyof typeof SIDES} */ (shape)] ?? {}).map(([asked, called]) => {
      const value = Number(sides[asked]);
      return [called, called === "surface_cm2" ? value / MM2_OF_CM2 : value];
    }),
  );
  return {
    ...(last && { law: last.law }),
    ...(alike?.stated_g && { stated: Number(alike.stated_g) }),
    ...(shape && { panel: shape, ...kept }),
  };
}

/** @param {Fields} values of the form @param {string} typed as the stated weight @param {DisplayUnits} units @returns {Said} */
function saidOf(values, typed, units) {
  const { law, stated, marks, panel } = values;
  const sides = SIDES[/** @type {keyof typeof SIDES} */ (panel)];
  const said = Object.entries(sides ?? {}).map(([asked, called]) => [
    asked,
    decimals(called === "surface_cm2" ? values[called] * MM2_OF_CM2 : values[called]),
  ]);
  return {
    law,
    stated_g: stated,
    unit: law === "us" ? unitOf(typed, units) : null,
    countMarks: marks === "read",
    panel: law === "us" && sides ? { shape: panel, ...Object.fromEntries(said) } : null,
  };
}

/** In which of both the US stated weight comes first: the one that was typed, else hers. @param {string} typed
 * @param {DisplayUnits} units @returns {"g" | "oz"} */
function unitOf(typed, { units }) {
  if (/oz|lb/i.test(typed)) return "oz";
  return /g\s*$/i.test(typed) || units.mass === "g" ? "g" : "oz";
}

/** That the weights are others than when it was worked out. @param {store.Plain} finding @param {Batch} batch
 * @param {Pour["sheet"]} sheet */
function olderLines(finding, batch, sheet) {
  if (!isOutdated(finding, batch, sheet)) return [];
  const day = dayText(localDate(finding.made_at));
  const text = t("The weights of this pour have changed since this was worked out on {day}: work it out anew.", {
    day,
  });
  return [h("p", { class: "beware notice" }, text)];
}

/** What she should know of these weights. @param {Pour} pour @param {Batch | undefined} batch @param {number} others */
function noticesOf(pour, batch, others) {
  const notice = (/** @type {string} */ text) => h("p", { class: "beware notice" }, text);
  if (batch === undefined) return [notice(t("No vessel of this pour is filled, so there is nothing to say of it."))];
  const lines = [];
  if (isOnBench(pour)) lines.push(t("This pour is still on the bench: what is not yet filled counts as not weighed."));
  const missing = batch.of - batch.weights.length - batch.unclear;
  if (missing > 0)
    lines.push(
      plural(
        missing,
        "One of {of} was not weighed. As long as that is so, no weight is sure.",
        "{n} of {of} were not weighed. As long as that is so, no weight is sure.",
        { of: batch.of },
      ),
    );
  const marks = batch.weights.filter(({ isMark }) => isMark).length;
  if (marks > 0)
    lines.push(
      plural(
        marks,
        "At one you touched “on target”: that tells the mark, and not what the scale showed.",
        "At {n} you touched “on target”: that tells the mark, and not what the scale showed.",
      ),
    );
  if (batch.unclear > 0)
    lines.push(
      plural(
        batch.unclear,
        "Two phones say different things of one: choose on the pour's page which is right.",
        "Two phones say different things of {n}: choose on the pour's page which is right.",
      ),
    );
  if (others > 0)
    lines.push(
      plural(
        others,
        "One more was filled that was not planned: it is not among these.",
        "{n} more were filled that were not planned: they are not among these.",
      ),
    );
  if ((pour.state.finished?.spoiled ?? 0) > 0)
    lines.push(t("Some were spoiled. Nobody said which, so their weights are still among these."));
  return lines.map(notice);
}
