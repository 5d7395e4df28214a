/** A recipe planned for today: how many, with what, and the sheet that follows. */

import { now } from "../bench/clock.js";
import { percent } from "../bench/display_units.js";
import { materials, roomOf } from "../bench/materials.js";
import { cautionsFor, mixOf } from "../bench/mixing.js";
import { pastPours } from "../bench/past_pours.js";
import { startPour } from "../bench/pours.js";
import { isTooWarm, makeSheet, vesselsFrom } from "../bench/sheet.js";
import { runsOver, USUAL_JUG_ML } from "../bench/sizing.js";
import { unlock } from "../bench/sound.js";
import { chosenTools, toolbox, toolsOf } from "../bench/tools.js";
import { reached, TOLERANCE } from "../formulas/load.js";
import { parseNumber } from "../formulas/units.js";
import { askToKeep } from "../records/persistence.js";
import * as store from "../records/store.js";
import { InputError, plural, t } from "../words/door.js";
import { cloneTemplate, fact, h, look, showCautions, showToast, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { readLike } from "./quantity_box.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../bench/sheet.js").Sheet} Sheet */
/** @typedef {import("../bench/tools.js").Chosen} Chosen */
/** @typedef {import("../bench/tools.js").ToolName} ToolName */
/** @typedef {Record<ToolName, HTMLSelectElement>} ToolBoxes */

/** What she last planned with, for the next time. */
const LAST = "plan with";

/** The boxes for further sizes of vessel. */
const MORE = [2, 3];

const TOOLS = /** @type {ToolName[]} */ (["jug", "heater", "scale", "fine", "thermometer"]);

/** @param {HTMLElement} place @param {string[]} path the recipe's id, and how many if that is said
 * @param {import("./screen.js").Context} context */
export async function show(place, [id, many], { units, workshop, go }) {
  const [found, kept, tools] = await Promise.all([store.get("recipe", id), materials(), toolbox(units)]);
  const pours = await pastPours([...tools.jugs, ...tools.heaters]);
  if (found === undefined || found.deleted) {
    showToast(t("This recipe was deleted. “What was deleted” has it."));
    go("recipes");
    return;
  }
  const recipe = found;
  place.append(cloneTemplate("screen-plan"));
  slot(place, "name").textContent = recipe.name;
  slot(place, "back").href = `#/recipe/${id}`;
  slot(place, "look").append(look(recipe));
  const [count, wax, room, allowance] = ["count", "wax", "room", "allowance"].map(
    (name) => /** @type {HTMLInputElement} */ (slot(place, name)),
  );
  const boxes = /** @type {ToolBoxes} */ (Object.fromEntries(TOOLS.map((name) => [name, slot(place, name)])));
  const last = JSON.parse(localStorage.getItem(LAST) ?? "{}");
  const first = chosenTools(tools, last);
  const noHeater = { id: "", name: tools.heaters.length ? t("another") : t("not kept") };
  offer(boxes.jug, tools.jugs, first.jug);
  offer(boxes.heater, [...tools.heaters, noHeater], first.heater);
  offer(boxes.scale, tools.scales, first.scale);
  offer(boxes.fine, tools.scales, first.fine);
  offer(boxes.thermometer, tools.thermometers, first.thermometer);
  const usual = roomOf(workshop);
  room.value = units.editable(usual.room_c, "temperature");
  allowance.value = units.editable(usual.allowance_g, "mass");
  count.value = String(many ?? last.counts?.[id] ?? 1);
  const vessels = [...kept.vessels.values()].filter((vessel) => !vessel.deleted && vessel.id !== recipe.vessel);
  slot(place, "more").hidden = vessels.length === 0;
  for (const number of MORE) offer(slot(place, `vessel${number}`), [{ id: "", name: t("none") }, ...vessels], "");

  const forget = keepDraft(slot(place, "form"), `draft plan ${id}`);

  /** The further sizes that she chose, with how many of each. @throws {InputError} one has no count */
  function furtherSizes() {
    return MORE.flatMap((number) => {
      const vessel = kept.vessels.get(slot(place, `vessel${number}`).value);
      return vessel ? [{ vessel, count: parseNumber(slot(place, `count${number}`).value) }] : [];
    });
  }

  /** @type {Sheet | null} */
  let sheet = null;

  /** @param {Omit<import("../bench/sheet.js").Tools, "room_c" | "allowance_g">} chosen */
  function planned(chosen) {
    const given = {
      ...chosen,
      room_c: readLike("plan", "room_c", room.value, units),
      allowance_g: readLike("plan", "allowance_g", allowance.value, units),
    };
    if (wax.value.trim() !== "") {
      const to_hand = units.read(wax.value, "mass");
      count.value = String(vesselsFrom(recipe, kept, given, to_hand, furtherSizes()));
    }
    return makeSheet(recipe, kept, given, parseNumber(count.value), furtherSizes());
  }

  function draw() {
    const error = slot(place, "error");
    const chosen = toolsOf(tools, valuesOf(boxes), pours);
    try {
      sheet = planned(chosen);
      error.hidden = true;
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      sheet = null;
      error.textContent = problem.message;
      error.hidden = false;
    }
    slot(place, "with").textContent = t("With {jug} and {scale}", { jug: chosen.jug.name, scale: chosen.scale.name });
    const [total, ...jugs] = sheet ? sheetLines(sheet, units) : [""];
    slot(place, "total").replaceChildren(total);
    slot(place, "sheet").replaceChildren(...jugs);
    slot(place, "lots").planned = { sheet, recipe };
    slot(place, "start").disabled = sheet === null;
    const cautions = cautionsFor(mixOf(recipe, kept), recipe, kept, (celsius) => units.text(celsius, "temperature", 1));
    if (sheet && isTooWarm(sheet)) {
      cautions.push({
        level: "warning",
        text: t("The room is as warm as the wax should get: it will never cool to it."),
      });
    }
    if (sheet && !sheet.fine_enough) cautions.push({ level: "warning", text: tooCoarse(sheet, units) });
    if (sheet) cautions.push(...roomFor(sheet, units));
    showCautions(slot(place, "cautions"), cautions, slot(place, "heed"));
  }

  slot(place, "form").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    // Not started yet: a phone's keyboard is closed with the same key.
    slot(place, "start").focus();
  });
  count.addEventListener("input", () => (wax.value = ""));
  slot(place, "form").addEventListener("input", draw);
  slot(place, "start").addEventListener("click", async (/** @type {Event} */ event) => {
    if (sheet === null) return;
    const button = /** @type {HTMLButtonElement} */ (event.currentTarget);
    button.disabled = true;
    // The one tap in which a phone lets sound begin.
    unlock();
    try {
      const pour = await startPour(sheet, now(), slot(place, "lots").pinned);
      void askToKeep();
      remember(id, Number(count.value), valuesOf(boxes));
      forget();
      go(`pour/${pour}/0`);
    } catch (problem) {
      if (!(problem instanceof store.StoreError)) throw problem;
      const error = slot(place, "error");
      error.textContent = problem.message;
      error.hidden = false;
      button.disabled = false;
    }
  });
  draw();
  // A plan that she leaves is begun afresh; one that is reloaded is not.
  return () => forget(true);
}

/** @param {ToolBoxes} boxes */
function valuesOf(boxes) {
  return /** @type {Chosen} */ (Object.fromEntries(TOOLS.map((name) => [name, boxes[name].value])));
}

/** @param {string} recipe @param {number} count @param {Chosen} chosen */
function remember(recipe, count, chosen) {
  const before = JSON.parse(localStorage.getItem(LAST) ?? "{}");
  localStorage.setItem(LAST, JSON.stringify({ ...chosen, counts: { ...before.counts, [recipe]: count } }));
}

/** @param {HTMLSelectElement} box @param {Record<string, any>[]} records @param {string} chosen */
function offer(box, records, chosen) {
  box.replaceChildren(...records.map((record) => h("option", { value: record.id }, record.name)));
  box.value = chosen;
}

/** @param {Sheet} sheet @param {DisplayUnits} units */
function tooCoarse(sheet, units) {
  return t("On a {step} scale your {load} could be {low} to {high}: use a finer scale or pour {count}.", {
    step: units.text(sheet.fine_step_g, "mass", sheet.fine_step_g),
    load: percent(sheet.load),
    low: percent(sheet.load_low),
    high: percent(sheet.load_high),
    count: sheet.count_for_scale,
  });
}

/** Whether jug and vessels hold what is planned, as far as is known. @param {Sheet} sheet @param {DisplayUnits} units
 * @returns {import("../bench/mixing.js").Caution[]} */
function roomFor({ jug, jugs, sizes }, units) {
  const found = [];
  for (const { name, most_g, each_g } of sizes) {
    if (most_g === null || each_g <= most_g * (1 + 1e-9)) continue;
    found.push(sizes.length > 1 ? `${name}: ${runsOver()}` : runsOver());
  }
  if (jug.volume_ml === null && jugs[0].hot_ml > USUAL_JUG_ML) {
    const hot = units.text(jugs[0].hot_ml, "volume");
    found.push(
      t("One jug would hold {hot}. Enter your jug under Workshop, and the bench shares this out by what it holds.", {
        hot,
      }),
    );
  }
  return found.map((text) => ({ level: "warning", text }));
}

/** @param {Sheet} sheet @param {DisplayUnits} units */
function sheetLines(sheet, units) {
  const coarse = (/** @type {number} */ grams) => units.text(grams, "mass", sheet.step_g);
  const fine = (/** @type {number} */ grams) => units.text(grams, "mass", sheet.fine_step_g);
  const warmth = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const window = (/** @type {import("../bench/mixing.js").Window} */ { low_c, target_c, high_c }) =>
    t("**{target}** ({low} to {high})", { target: warmth(target_c), low: warmth(low_c), high: warmth(high_c) });
  const weight = (/** @type {import("../formulas/weigh.js").Target} */ { target_g, low_g, high_g }) =>
    t("**{target}** ({low} to {high})", { target: coarse(target_g), low: coarse(low_g), high: coarse(high_g) });
  const several = sheet.jugs.length > 1;
  return [
    h(
      "dl",
      { class: "facts total" },
      fact(t("Wax"), `**${coarse(sheet.wax_g)}**`),
      ...(sheet.load > 0 ? [fact(t("Fragrance"), `**${fine(sheet.fragrance_g)}**`)] : []),
      ...sheet.sizes.map(({ count, name }, index) =>
        fact(index === 0 ? t("Vessels") : t("and"), t("**{count}** × {vessel}", { count, vessel: name })),
      ),
      ...(sheet.wick ? [fact(t("Wick"), sheet.wick.name)] : []),
      ...(sheet.load > 0 ? [fact(t("Fragrance in at"), window(sheet.fragrance))] : []),
      fact(t("Pour at"), window(sheet.pour)),
    ),
    ...sheet.jugs.map((jug, index) =>
      h(
        "section",
        { class: "jug" },
        h(
          "h2",
          {},
          several
            ? plural(jug.vessels, "Jug {number}: {n} vessel", "Jug {number}: {n} vessels", { number: index + 1 })
            : plural(jug.vessels, "One jug: {n} vessel", "One jug: {n} vessels"),
        ),
        h(
          "dl",
          { class: "facts" },
          ...jug.waxes.map((target) => fact(target.name, weight(target))),
          ...jug.additives.map((target) => fact(target.name, `**${fine(target.target_g)}**`)),
          ...jug.fragrances.map((target) => fact(target.name, `**${fine(target.target_g)}**`)),
          ...roundedLoad(sheet, jug),
          ...vesselFacts(sheet, index, coarse),
          fact(t("Left clinging to the jug"), fine(jug.stays_g)),
          fact(t("Hot, in the jug"), units.text(jug.hot_ml, "volume")),
        ),
      ),
    ),
  ];
}

/** What each vessel of a jug takes, size by size. @param {Sheet} sheet @param {number} index @param {(grams: number) => string} text */
function vesselFacts({ sizes, jugs }, index, text) {
  const { vessel_targets_g, sizes: counts } = jugs[index];
  let from = 0;
  return counts.flatMap((count, at) => {
    const targets = vessel_targets_g.slice(from, from + count);
    from += count;
    if (count === 0) return [];
    const name = sizes.length > 1 ? t("Each {vessel}", { vessel: sizes[at].name }) : t("Each vessel");
    return [fact(name, vesselText(targets, text))];
  });
}

/** What the rounded targets come to, where that is not the load that was meant.
 * @param {Sheet} sheet @param {import("../formulas/weigh.js").Jug} jug */
function roundedLoad({ load }, { wax_g, fragrance_g }) {
  const comes_to = reached(wax_g, fragrance_g);
  if (Math.abs(comes_to - load) <= TOLERANCE) return [];
  const values = { load: percent(comes_to), wanted: percent(load) };
  return [fact(t("Load"), t("**{load}** by the scale's step, not {wanted}", values))];
}

/** '106 g', or '107 g, the last ones 106 g' where the parts must add up.
 * @param {number[]} targets @param {(grams: number) => string} text */
function vesselText(targets, text) {
  const [first, last] = [targets[0], targets[targets.length - 1]];
  return first === last
    ? `**${text(first)}**`
    : t("**{first}**, the last ones **{last}**", { first: text(first), last: text(last) });
}
