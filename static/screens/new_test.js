/** A burn test is planned: which wicks, how many candles of each and where they are from, and when she looks. */
import { now } from "../bench/clock.js";
import { materials } from "../bench/materials.js";
import { allPours } from "../bench/pours.js";
import { toolbox } from "../bench/tools.js";
import {
  countsOf,
  doubtOfSoFew,
  firstWicks,
  makeTestSheet,
  readMarks,
  wicksInOrder,
  widthOf,
} from "../burns/test_sheet.js";
import { startTest, testsOf } from "../burns/tests.js";
import { askToKeep } from "../records/persistence.js";
import { EARLIEST } from "../records/stamp.js";
import * as store from "../records/store.js";
import { withCandles } from "../shelf/read_candles.js";
import { dayText, localDate } from "../words/dates.js";
import { InputError, listed, plural, t } from "../words/door.js";
import { card, cloneTemplate, fact, setText, showCautions, slot } from "./dom.js";
import { goToFirstWrong } from "./edit.js";
import { redrawChoices } from "./form.js";
import { drawRecord } from "./form_draft.js";
import { complain, readForm } from "./form_reading.js";
import { takeMade } from "./made.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";
import { batchChoice, freeBatches, lotsText } from "./test_batches.js";

/** @typedef {import("../bench/mixing.js").Fields} Fields */
/** @typedef {import("../burns/burn_fold.js").TestSheet} TestSheet */
/** @typedef {import("./test_batches.js").FreeBatch} FreeBatch */
/** @typedef {{wick: string | null, batch: string | null}} Row */

/** Chosen where the candles are of no batch that is kept here. */
const NO_BATCH = "none";

/** @param {HTMLElement} place @param {string[]} path the recipe's id, or none to choose one; then the batch whose candles
 *   are to be burned @param {import("./screen.js").Context} context */
export async function show(place, [id, batch], { units, go }) {
  place.append(cloneTemplate("screen-new_test"));
  const back = slot(place, "back");
  if (!id) {
    [back.href, back.textContent] = ["#/tests", t("Burn tests")];
    setText(slot(place, "title"), t("Test which recipe?"));
    return drawOnChange(ofKinds("recipe"), async () => {
      const recipes = await store.all("recipe");
      const cards = recipes.map((each) => card({ href: `#/new_test/${each.id}`, of: each, name: each.name }));
      slot(place, "cards").replaceChildren(...cards);
    });
  }
  const recipe = await store.get("recipe", id);
  if (recipe === undefined || recipe.deleted) {
    go("new_test");
    return;
  }
  [back.href, back.textContent] = [`#/recipe/${id}`, recipe.name];
  setText(slot(place, "title"), t("New burn test"));
  slot(place, "save").hidden = false;
  let kept = await read(id, units);
  const form = /** @type {HTMLFormElement} */ (slot(place, "form"));
  const others = (/** @type {string} */ kind) => (kind === "wick" ? kept.wicks : kept.choices);
  // What a new test begins with is shown as if it were kept, so that only what is typed is held as a draft.
  const version = (/** @type {unknown} */ value) => ({ value, stamp: EARLIEST });
  const width_mm = widthOf(kept.materials.vessels.get(recipe.vessel) ?? {});
  const fields = { wicks: version(firstRows(recipe, kept, batch)), ...(width_mm && { width_mm: version(width_mm) }) };
  const stored = { kind: "new_test", id: "", fields };
  const draft = drawRecord(form, `typed new_test ${id}`, { kind: "new_test", stored, units, others });
  takeMade(form);

  /** The sheet of what is typed. @throws {InputError} */
  const planned = (/** @type {Fields} */ { wicks, candles_each, marks, width_mm: width, hottest_c }) => {
    const rows = /** @type {Row[]} */ (wicks).filter(({ wick }) => wick);
    const from = rows.map((row) => kept.batches.find((each) => each.id === row.batch) ?? null);
    const wanted = {
      wicks: rows.map(({ wick }) => String(wick)),
      candles_each: candles_each ?? Number.NaN,
      marks_h: readMarks(marks ?? ""),
      width_mm: width ?? Number.NaN,
      hottest_c: hottest_c ?? null,
      from,
    };
    return { sheet: makeTestSheet(recipe, kept.materials, wanted, kept.scales), from };
  };

  let drawn = 0;
  const draw = async () => {
    const mine = (drawn += 1);
    const { values } = readForm(form, units);
    const found = tried(() => planned(values));
    slot(place, "facts").replaceChildren(...(found ? factsOf(found.sheet, units) : []));
    const rows = /** @type {Row[]} */ (values.wicks ?? []);
    const n = (values.candles_each ?? 0) * rows.filter((row) => row.wick && row.batch === NO_BATCH).length;
    slot(place, "pouring").hidden = n === 0;
    const plan = slot(place, "plan");
    plan.hidden = n === 0;
    plan.href = `#/plan/${id}/${n}`;
    setText(plan, plural(n, "Plan to pour {n}", "Plan to pour {n}"));
    const few = doubtOfSoFew(values.candles_each);
    const texts = [...(few === null ? [] : [few]), ...(found ? cautionsOf(found.sheet, found.from) : [])];
    showCautions(
      slot(place, "cautions"),
      texts.map((text) => ({ level: "warning", text })),
    );
    if (!found) return;
    const lots = await lotsFacts(found.from);
    if (mine === drawn) slot(place, "facts").append(...lots);
  };
  form.addEventListener("input", () => void draw());
  form.addEventListener("change", () => void draw());
  await draw();

  const save = slot(place, "save");
  const begin = async () => {
    const { values, wrong } = readForm(form, units, true);
    const found = wrong > 0 ? null : tried(() => planned(values), say);
    if (found === null) {
      goToFirstWrong(form);
      return;
    }
    save.disabled = true;
    let test = "";
    const isKept = await tryToKeep(async () => {
      test = await startTest(found.sheet, now());
      await takeOff(found.sheet, test, kept.batches);
    });
    save.disabled = false;
    if (!isKept) return;
    void askToKeep();
    draft.forget();
    go(`test/${test}`);
  };
  /** Beside the box that it is about; about what the recipe lacks at the foot. @param {InputError} problem */
  function say({ about, message }) {
    const isOfForm = ["wicks", "candles_each", "width_mm", "marks"].includes(about ?? "");
    if (isOfForm) complain(form, about ?? "", message);
    const error = slot(place, "error");
    error.hidden = isOfForm;
    setText(error, isOfForm ? "" : message);
  }
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    save.focus();
  });
  save.addEventListener("click", () => void begin());

  const follow = store.oneAtATime(async () => {
    kept = await read(id, units);
    redrawChoices(form, others);
    await draw();
  });
  const concerns = ofKinds("wick", "pour", "batch", "vessel", "wax", "fragrance", "scale", "burn_test");
  return store.onChange((changes) => {
    if (changes.some(concerns)) follow();
  });
}

/** What a test of a recipe is planned with. @param {string} id @param {import("../bench/display_units.js").DisplayUnits} units */
async function read(id, units) {
  const [all, pours, tests, tools, recipe] = await Promise.all([
    materials(),
    allPours().then(withCandles),
    testsOf(id),
    toolbox(units),
    store.get("recipe", id),
  ]);
  const batches = freeBatches(pours, id, tests);
  return {
    materials: all,
    scales: tools.scales,
    wicks: wicksInOrder(all.wicks.values(), recipe?.wick),
    batches,
    choices: [
      ...batches.map((each) => ({ id: each.id, name: batchChoice(each) })),
      { id: NO_BATCH, name: t("no batch that is kept here") },
    ],
  };
}

/** @param {FreeBatch} batch */
const isCured = ({ cured_on }) => cured_on !== null && cured_on <= localDate(now());

/** The rows that it begins with: of the recipe's wick candles of a batch of it that has cured, if there is one.
 * @param {Fields} recipe @param {Awaited<ReturnType<typeof read>>} kept @param {string} [batch] whose candles are meant
 * @returns {Row[]} */
function firstRows(recipe, { wicks, batches }, batch) {
  const meant = batches.find((each) => each.id === batch) ?? batches.find(isCured) ?? null;
  const of = meant?.pour.sheet.wick?.id ?? recipe.wick;
  const first = firstWicks(wicks, of ?? recipe.wick);
  const rows = first.length > 0 ? first : wicks.slice(0, 1).map((wick) => wick.id);
  return rows.map((wick) => ({ wick, batch: wick === of && meant ? meant.id : NO_BATCH }));
}

/** @template T @param {() => T} make @param {(problem: InputError) => void} [say] @returns {T | null} null: it can't be made */
function tried(make, say) {
  try {
    return make();
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    say?.(problem);
    return null;
  }
}

/** What follows from what is typed. @param {TestSheet} sheet @param {import("../bench/display_units.js").DisplayUnits} units */
function factsOf(sheet, units) {
  const all = sheet.candles.length;
  const each = units.text(sheet.fuel_g, "mass", "fine");
  return [
    fact(t("Name"), sheet.title),
    fact(
      t("Candles"),
      sheet.wicks.length > 1 ? t("**{all}**: {each}", { all, each: countsOf(sheet) }) : `**${countsOf(sheet)}**`,
    ),
    fact(t("In each"), t("{mass} of wax and fragrance", { mass: each })),
    fact(
      t("Weigh them"),
      t("on the scale that reads in steps of {step}", { step: units.text(sheet.step_g, "mass", sheet.step_g) }),
    ),
  ];
}

/** From which lots each batch was made. @param {(FreeBatch | null)[]} from */
async function lotsFacts(from) {
  const batches = [...new Set(from)].filter((each) => each !== null);
  const told = await Promise.all(
    batches.map(async (batch) => ({ name: batch.name, lots: await lotsText(batch.pour) })),
  );
  return told.flatMap(({ name, lots }) =>
    lots ? [fact(t("Lots"), batches.length > 1 ? `${name}: ${lots}` : lots)] : [],
  );
}

/** What she should think of before she begins with these batches. @param {TestSheet} sheet @param {(FreeBatch | null)[]} from */
function cautionsOf(sheet, from) {
  return from.flatMap((batch, index) => {
    if (batch === null) return [];
    const { name, pour, cured_on } = batch;
    const wick = sheet.wicks[index];
    const texts = [];
    if (cured_on === null)
      texts.push(t("{batch} is not set aside yet: burn it once it is fully cured.", { batch: name }));
    else if (!isCured(batch))
      texts.push(t("{batch} is not fully cured before {day}: burn it then.", { batch: name, day: dayText(cured_on) }));
    if (pour.sheet.wick && pour.sheet.wick.id !== wick.id) {
      const values = { batch: name, poured: pour.sheet.wick.name, wick: wick.name };
      texts.push(t("{batch} was poured with {poured}, not with {wick}.", values));
    }
    const other = otherThan(sheet, pour.sheet);
    if (other.length > 0) {
      const values = { batch: name, what: listed(other) };
      texts.push(t("{batch} was poured with another {what} than the recipe has now.", values));
    }
    return texts;
  });
}

/** In what a batch differs from what is to be tested. @param {TestSheet} sheet @param {import("../bench/sheet.js").Sheet} poured */
function otherThan(sheet, poured) {
  const ids = (/** @type {{id: string | null}[]} */ parts) =>
    parts
      .map(({ id }) => id)
      .sort()
      .join();
  return [
    ids(sheet.waxes) !== ids(poured.waxes) && t("wax"),
    ids(sheet.oils) !== ids(poured.oils) && t("fragrance"),
    Math.abs(sheet.load - poured.load) > 0.0005 && t("load"),
    poured.sizes.every(({ id }) => id !== sheet.vessel.id) && t("vessel"),
  ].filter((each) => each !== false);
}

/** Candles that are burned are no longer there to be sold. @param {TestSheet} sheet
 * @param {string} test its id @param {FreeBatch[]} batches */
async function takeOff({ candles }, test, batches) {
  const at = now();
  for (const { id } of batches) {
    const n = candles.filter(({ pour }) => pour === id).length;
    if (n > 0) await store.append("batch", id, { type: "test_burned", n, test, at });
  }
}
