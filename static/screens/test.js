/** One burn test: what it asks, what it proves so far, its candles, and what there is to do. */
import { now } from "../bench/clock.js";
import { percent } from "../bench/display_units.js";
import { materials } from "../bench/materials.js";
import { readPour } from "../bench/pours.js";
import { NO_CERTIFICATE } from "../burns/limits.js";
import { nextWick } from "../burns/next_wick.js";
import { resultsOf } from "../burns/results.js";
import { countsOf, wicksInOrder } from "../burns/test_sheet.js";
import { alikeResults } from "../burns/tested.js";
import { addEvent, allTests, countBurning, openTests, readTest, undo } from "../burns/tests.js";
import { verdictOf } from "../burns/verdict.js";
import * as store from "../records/store.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { InputError, listed, plural, t, worded } from "../words/door.js";
import { numberText } from "../words/numbers.js";
import { askInBox } from "./ask_in_box.js";
import { showAttachments } from "./attachments.js";
import { cloneTemplate, h, look, replaceKeepingFocus, setText, showFacts, showToast, slot } from "./dom.js";
import { happened } from "./entry_happened.js";
import { deleteBy, takeNotes } from "./page_parts.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";
import { lotsText } from "./test_batches.js";
import { candleSection } from "./test_candles.js";
import { testClashes } from "./test_clashes.js";
import { askTestCorrection, toldOf } from "./test_happened.js";
import { scentFacts } from "./test_scent.js";
import { adviceOf, limitLines, wickSection } from "./test_wicks.js";
import { candleToBurn, comesNext } from "./test_words.js";

/** @typedef {import("../burns/tests.js").BurnTest} BurnTest */
/** @typedef {import("../records/event_types.js").BurnTestEvent} BurnTestEvent */
/** @typedef {import("../records/event_types.js").NewBurnTestEvent} NewBurnTestEvent */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("./test_candles.js").Batches} Batches */

/** So many lines of what happened are shown at first, and those of the same day. */
const LINES = 25;

/** @param {HTMLElement} place @param {string[]} path its id; or 'of' and a batch, to go to the test that burns it
 * @param {import("./screen.js").Context} context */
export async function show(place, [id, batch], { units, go }) {
  if (id === "of") {
    location.replace(`#/${await wayTo(batch)}`);
    return;
  }
  place.append(cloneTemplate("screen-test"));
  showAttachments(place, id);
  /** @type {BurnTest} */
  let test;
  const remove = slot(place, "remove");
  let showsAll = false;

  async function redraw() {
    const fresh = await readTest(id, true);
    if (fresh === null) {
      go("tests");
      return;
    }
    test = fresh;
    const [kept, tests, batches] = await Promise.all([materials(), allTests(), batchesOf(test)]);
    const recipe = test.sheet.recipe === null ? undefined : await store.get("recipe", test.sheet.recipe);
    draw(kept, tests, batches, recipe);
  }

  /** @param {import("../bench/materials.js").Materials} kept @param {BurnTest[]} tests @param {Batches} batches
   * @param {store.Plain | undefined} recipe */
  function draw(kept, tests, batches, recipe) {
    const { sheet, state, record } = test;
    setText(slot(place, "name"), sheet.title);
    slot(place, "look").replaceChildren(look(sheet));
    const gone = record.deleted
      ? [
          h(
            "p",
            { class: "beware notice" },
            t("This burn test was deleted. It proves nothing, until it is brought back."),
          ),
        ]
      : [];
    replaceKeepingFocus(slot(place, "gone"), ...gone, ...testClashes(test, units, (ids) => void takeBack(ids)));
    showFacts(slot(place, "facts"), testFacts(test, recipe, units));
    const canUse = recipe !== undefined && !recipe.deleted && !record.deleted;
    drawProved(kept, tests, recipe, canUse);
    const now_ms = now();
    const wasOpen = new Set(
      [.../** @type {NodeListOf<HTMLDetailsElement>} */ (slot(place, "candles").querySelectorAll("details[open]"))].map(
        ({ dataset }) => dataset.key,
      ),
    );
    const sections = sheet.candles.map((_, index) =>
      candleSection(test, index, batches, units, now_ms, () => void setAside(index)),
    );
    for (const section of sections)
      for (const details of section.querySelectorAll("details")) details.open = wasOpen.has(details.dataset.key);
    replaceKeepingFocus(slot(place, "candles"), ...sections);
    showFacts(slot(place, "scent"), scentFacts(test));
    slot(place, "rate").href = `#/scent/${id}`;
    slot(place, "rate").hidden = Boolean(record.deleted);
    slot(place, "limits").replaceChildren(...limitLines(units, sheet.hottest_c));
    setText(
      slot(place, "no_certificate"),
      `${worded(NO_CERTIFICATE)} ${t("The law where you sell, the standards and a qualified person have the last word.")}`,
    );
    slot(place, "notes").replaceChildren(
      ...state.notes.map(({ at, text }) => h("li", {}, h("time", {}, dayText(localDate(at))), " ", text)),
    );
    const takeBackOne = (/** @type {BurnTestEvent} */ event) =>
      void takeBack([event.id, ...(state.same.get(event.id) ?? [])]);
    drawHappened(happened("burn_test", test, toldOf(test, units), correct, takeBackOne));
    if (!remove.dataset.sure) setText(remove, record.deleted ? t("Bring it back") : t("Delete"));
    const close = slot(place, "close");
    close.hidden = record.deleted || state.closed !== null;
    const next = record.deleted ? null : candleToBurn(test);
    const burn = slot(place, "burn");
    burn.hidden = next === null;
    if (next !== null) {
      burn.href = `#/burn/${id}/${next}`;
      setText(burn, t("Burn candle {n}", { n: next + 1 }));
    }
  }

  /** All that happened; of much the last days, until she asks for the rest. @param {HTMLElement[]} lines */
  function drawHappened(lines) {
    const last = lines.length - LINES;
    const from = showsAll ? -1 : lines.findLastIndex((line, at) => at <= last && line.querySelector(".day") !== null);
    const earlier = slot(place, "earlier");
    earlier.hidden = from <= 0;
    setText(earlier, t("Show all {n}", { n: lines.length }));
    replaceKeepingFocus(slot(place, "happened"), ...lines.slice(Math.max(0, from)));
  }

  /** What it proves of each wick, and which to burn next. @param {Parameters<typeof drawNext>} given */
  function drawProved(...given) {
    const [kept, , recipe, canUse] = given;
    try {
      const results = resultsOf(test);
      const sections = results.map((result) => {
        const { wick } = result;
        const verdict = verdictOf(result, test.sheet, units);
        const isNew = verdict.verdict === "right" && wick.id !== recipe?.wick && kept.wicks.has(wick.id);
        return wickSection(test.sheet, result, verdict, units, canUse && isNew && useButton(wick, recipe));
      });
      replaceKeepingFocus(slot(place, "wicks"), ...sections);
      drawNext(...given);
    } catch (error) {
      // Its sheet holds what no bench would have kept.
      if (!(error instanceof InputError)) throw error;
      replaceKeepingFocus(slot(place, "wicks"), h("p", { class: "beware notice" }, error.message));
      slot(place, "next").hidden = true;
    }
  }

  /** Which wick to burn next of each series, by all that was burned of it in such a candle.
   * @param {import("../bench/materials.js").Materials} kept @param {BurnTest[]} tests
   * @param {store.Plain | undefined} recipe @param {boolean} canUse */
  function drawNext(kept, tests, recipe, canUse) {
    const { sheet, state } = test;
    const others = tests.filter((each) => each.id !== id);
    const results = alikeResults(test, others);
    const isBurned = state.candles.some(({ sittings }) => sittings.length > 0);
    const names = isBurned ? [...new Set(sheet.wicks.flatMap(({ series }) => series || []))] : [];
    const advice = names.flatMap((series) => {
      const ofSeries = wicksInOrder([...kept.wicks.values()].filter((wick) => wick.series === series));
      if (ofSeries.length < 2) return [];
      const wicks = ofSeries.map(({ id: wick, name, size }) => ({ id: wick, name, series, size: size ?? "" }));
      const next = nextWick(
        results.filter(({ wick }) => wick.series === series),
        wicks,
        sheet,
        units,
      );
      const use = canUse && next.wick !== null && next.wick.id !== recipe?.wick && useButton(next.wick, recipe);
      return [...adviceOf(next), ...(use ? [h("p", { class: "links" }, use)] : [])];
    });
    slot(place, "next").hidden = advice.length === 0;
    replaceKeepingFocus(slot(place, "advice"), ...advice);
  }

  /** @param {{id: string | null, name: string}} wick @param {store.Plain | undefined} recipe */
  function useButton(wick, recipe) {
    const button = h(
      "button",
      { type: "button", class: "quiet", "data-key": `use ${wick.id}` },
      t("Use this wick in the recipe"),
    );
    button.addEventListener("click", async () => {
      if (button.dataset.sure !== "yes") {
        button.dataset.sure = "yes";
        setText(button, t("Really give {recipe} the wick {wick}?", { recipe: recipe?.name ?? "", wick: wick.name }));
        return;
      }
      if (await tryToKeep(() => store.save("recipe", String(recipe?.id), { wick: wick.id })))
        showToast(t("{recipe} has the wick {wick} now.", { recipe: recipe?.name ?? "", wick: wick.name }));
    });
    return button;
  }

  const tryThenShow = async (/** @type {() => Promise<unknown>} */ work) => {
    const isKept = await tryToKeep(work, t("This test was changed elsewhere. Look again."));
    await redraw();
    return isKept;
  };
  const keep = (/** @type {NewBurnTestEvent} */ event) => tryThenShow(() => addEvent(test, event, now()));
  const takeBack = (/** @type {string[]} */ ids) => tryThenShow(() => undo(test, ids, now()));

  /** @param {BurnTestEvent} event */
  async function correct(event) {
    const correction = await askTestCorrection(event, test, units);
    if (correction !== null) await keep(correction);
  }

  /** @param {number} candle */
  async function setAside(candle) {
    const why = await askInBox(t("Why is candle {n} out of the test?", { n: candle + 1 }), "", (text) => text);
    if (why !== null) await keep({ type: "set_aside", candle, why });
  }

  slot(place, "earlier").addEventListener("click", () => {
    showsAll = true;
    void redraw();
  });
  slot(place, "close").addEventListener("click", async () => {
    const burning = countBurning(test.state);
    if (burning > 0) {
      showToast(
        plural(burning, "{n} candle still burns: put it out first.", "{n} candles still burn: put them out first."),
      );
      return;
    }
    if (await keep({ type: "closed" })) await tellBatches();
  });
  /** The batches whose candles were burned have had the test burn that they remind of. */
  async function tellBatches() {
    const { sheet, state } = test;
    const burned = sheet.candles.filter((_, index) =>
      state.candles[index].sittings.some(({ lit_at }) => lit_at !== null),
    );
    const at = now();
    for (const pour of new Set(burned.flatMap(({ pour: id }) => id ?? [])))
      await tryToKeep(() => store.append("pour", pour, { type: "burned", text: sheet.title, at }));
  }

  takeNotes(place, id, keep);
  deleteBy(remove, "burn_test", id, {
    isDeleted: () => Boolean(test.record.deleted),
    sure: t("Really delete this test?"),
    told: t("Deleted. You find it at the end of the burn tests."),
    leave: () => go("tests"),
  });
  // On paper all of it is to be read.
  const unfold = () => {
    for (const details of place.querySelectorAll("details")) if (!details.closest(".all")) details.open = true;
  };
  addEventListener("beforeprint", unfold);
  const end = await drawOnChange(ofKinds("burn_test", "recipe", "wick", "pour", "lot"), redraw);
  return () => {
    end();
    removeEventListener("beforeprint", unfold);
  };
}

/** Where a batch is burned: the open test that has candles of it, else a new one of its recipe. @param {string} batch its id */
async function wayTo(batch) {
  const [tests, pour] = await Promise.all([openTests(), readPour(batch)]);
  const test = tests.find(({ sheet }) => sheet.candles.some((candle) => candle.pour === batch));
  if (test) return `test/${test.id}`;
  return pour?.sheet.recipe ? `new_test/${pour.sheet.recipe}/${batch}` : "new_test";
}

/** The batches that its candles are of, deleted ones too, with the lots that they were made from. @param {BurnTest} test
 * @returns {Promise<Batches>} */
async function batchesOf({ sheet }) {
  const ids = [...new Set(sheet.candles.flatMap(({ pour }) => pour ?? []))];
  const found = await Promise.all(
    ids.map(async (id) => {
      const pour = await readPour(id, true).catch(() => null);
      return pour === null ? [] : [/** @type {const} */ ([id, { pour, lots: await lotsText(pour) }])];
    }),
  );
  return new Map(found.flat());
}

/** What it asks. @param {BurnTest} test @param {store.Plain | undefined} recipe @param {DisplayUnits} units
 * @returns {[name: string, value: string][]} */
export function testFacts(test, recipe, units) {
  const { sheet, record, state } = test;
  const parts = (/** @type {{name: string, share: number}[]} */ all) =>
    listed(all.map(({ name, share }) => (all.length > 1 ? `${name} ${percent(share, 1)}` : name)));
  /** @type {[string, string][]} */
  const facts = [
    [t("Stands"), `**${state.closed === null ? comesNext(test) : closedText(state.closed)}**`],
    [t("Begun"), `${dayText(localDate(record.started_at))}, ${timeText(record.started_at)}`],
  ];
  if (recipe && !recipe.deleted) facts.push([t("Recipe"), recipe.name]);
  facts.push(
    [
      t("Vessel"),
      t("{vessel}, {width} wide inside", {
        vessel: sheet.vessel.name ?? t("vessel"),
        width: units.text(sheet.width_mm, "length"),
      }),
    ],
    [t("In each"), t("{mass} of wax and fragrance", { mass: units.text(sheet.fuel_g, "mass", "fine") })],
    [t("Wax"), parts(sheet.waxes)],
  );
  if (sheet.load > 0)
    facts.push([
      t("Fragrance"),
      t("{fragrance}, {load} of the wax", { fragrance: parts(sheet.oils), load: percent(sheet.load) }),
    ]);
  facts.push(
    [t("Candles"), countsOf(sheet)],
    [t("Looked at"), t("after {hours} h", { hours: listed(sheet.marks_h.map((hours) => numberText(String(hours)))) })],
  );
  return facts;
}

/** @param {{why: string, at: number}} closed */
function closedText({ why, at }) {
  const day = dayText(localDate(at));
  return why ? t("closed on {day}: {why}", { day, why }) : t("closed on {day}", { day });
}
