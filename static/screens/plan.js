/** A recipe planned for today: how many, with what, and the sheet that follows. */

import { now } from "../bench/clock.js";
import { percent } from "../bench/display_units.js";
import { cautionsFor, mixOf } from "../bench/mixing.js";
import { allPours, jugHistory, learnedEfficiency, startPour } from "../bench/pours.js";
import { makeSheet, vesselsFrom } from "../bench/sheet.js";
import { unlock } from "../bench/sound.js";
import { parseNumber } from "../formulas/units.js";
import { askToKeep } from "../records/persistence.js";
import * as store from "../records/store.js";
import { InputError } from "../words/door.js";
import { cloneTemplate, fact, h, showCautions, slot } from "./dom.js";
import { keepDraft } from "./form_draft.js";
import { readLike } from "./form_reading.js";
import { materials, roomOf, toolbox } from "./materials.js";

/** What she last planned with, for the next time. */
const LAST = "plan with";

/** @param {HTMLElement} place @param {string[]} path @param {any} context */
export async function show(place, [id], { units, workshop, go }) {
  const [recipe, kept, tools, pours] = await Promise.all([
    store.get("recipe", id),
    materials(),
    toolbox(units),
    allPours(),
  ]);
  if (recipe === undefined || recipe.deleted) {
    go("recipes");
    return;
  }
  place.append(cloneTemplate("screen-plan"));
  slot(place, "name").textContent = recipe.name;
  slot(place, "back").href = `#/recipe/${id}`;
  const boxes = Object.fromEntries(
    ["count", "wax", "jug", "heater", "scale", "fine", "thermometer", "room", "allowance"].map((name) => [
      name,
      slot(place, name),
    ]),
  );
  const last = JSON.parse(localStorage.getItem(LAST) ?? "{}");
  choose(boxes.jug, tools.jugs, last.jug);
  choose(
    boxes.heater,
    [...tools.heaters, { id: "", name: tools.heaters.length ? "another" : "not kept" }],
    last.heater,
  );
  choose(boxes.scale, tools.scales, last.scale ?? coarsest(tools.scales).id);
  choose(boxes.fine, tools.scales, last.fine ?? finest(tools.scales).id);
  choose(boxes.thermometer, tools.thermometers, last.thermometer);
  const room = roomOf(workshop);
  boxes.room.value = units.editable(room.room_c, "temperature");
  boxes.allowance.value = units.editable(room.allowance_g, "mass");
  boxes.count.value = String(last.counts?.[id] ?? 1);

  const forget = keepDraft(slot(place, "form"), `draft plan ${id}`);

  /** @type {import("../bench/sheet.js").Sheet | null} */
  let sheet = null;

  const tool = (/** @type {string} */ name, /** @type {any[]} */ records) =>
    records.find((record) => record.id === boxes[name].value) ?? records[0];

  /** @type {Map<string, number[][]>} */
  const histories = new Map();
  const historyOf = (/** @type {string} */ jug) => {
    const known = histories.get(jug) ?? jugHistory(pours, jug);
    histories.set(jug, known);
    return known;
  };

  const heaterOf = (/** @type {string} */ heater) => {
    const record = tools.heaters.find((each) => each.id === heater);
    return record ? { ...record, efficiency: learnedEfficiency(pours, record.id, record.way) } : null;
  };

  function reckon() {
    const with_ = {
      scale: tool("scale", tools.scales),
      fine: tool("fine", tools.scales),
      jug: tool("jug", tools.jugs),
      heater: heaterOf(boxes.heater.value),
      thermometer: tool("thermometer", tools.thermometers),
      room_c: readLike("workshop", "room_c", boxes.room.value, units),
      allowance_g: readLike("workshop", "allowance_g", boxes.allowance.value, units),
      history: historyOf(tool("jug", tools.jugs).id),
    };
    const vessel = kept.vessels.get(recipe?.vessel);
    if (vessel === undefined) throw new InputError("This recipe has no vessel: give it one first.");
    if (!recipe) throw new InputError("This recipe is gone.");
    if (boxes.wax.value.trim() !== "") {
      const to_hand = units.read(boxes.wax.value, "mass");
      boxes.count.value = String(vesselsFrom(recipe, vessel, kept.waxes, kept.oils, with_, to_hand));
    }
    const count = parseNumber(boxes.count.value);
    return makeSheet(recipe, vessel, kept.waxes, kept.oils, kept.wicks.get(recipe.wick), with_, count);
  }

  function draw() {
    const error = slot(place, "error");
    try {
      sheet = reckon();
      error.hidden = true;
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      sheet = null;
      error.textContent = problem.message;
      error.hidden = false;
    }
    slot(place, "with").textContent = `With ${tool("jug", tools.jugs).name} and ${tool("scale", tools.scales).name}`;
    slot(place, "sheet").replaceChildren(...(sheet ? sheetLines(sheet, units) : []));
    slot(place, "start").disabled = sheet === null;
    const mix = mixOf(/** @type {any} */ (recipe), kept.waxes, kept.oils);
    const found = cautionsFor(mix, /** @type {any} */ (recipe), kept.oils, (celsius) =>
      units.text(celsius, "temperature", 1),
    );
    if (sheet && Math.min(sheet.pour.target_c, sheet.load > 0 ? sheet.fragrance.target_c : Infinity) <= sheet.room_c) {
      found.push({ level: "warning", text: "The room is as warm as the wax should get: it will never cool to it." });
    }
    if (sheet && !sheet.fine_enough) found.push({ level: "warning", text: tooCoarse(sheet, units) });
    showCautions(slot(place, "cautions"), found);
  }

  slot(place, "form").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    // Not started yet: a phone's keyboard is closed with the same key.
    slot(place, "start").focus();
  });
  boxes.count.addEventListener("input", () => (boxes.wax.value = ""));
  slot(place, "form").addEventListener("input", draw);
  slot(place, "start").addEventListener("click", async (/** @type {Event} */ event) => {
    if (sheet === null) return;
    const button = /** @type {HTMLButtonElement} */ (event.currentTarget);
    button.disabled = true;
    // The one tap in which a phone lets sound begin.
    unlock();
    try {
      const pour = await startPour(sheet, now());
      void askToKeep();
      remember(id, boxes);
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

/** @param {string} recipe @param {Record<string, any>} boxes */
function remember(recipe, boxes) {
  const before = JSON.parse(localStorage.getItem(LAST) ?? "{}");
  const chosen = Object.fromEntries(
    ["jug", "heater", "scale", "fine", "thermometer"].map((name) => [name, boxes[name].value]),
  );
  const counts = { ...before.counts, [recipe]: Number(boxes.count.value) };
  localStorage.setItem(LAST, JSON.stringify({ ...chosen, counts }));
}

/** @param {HTMLSelectElement} box @param {any[]} records @param {string | undefined} chosen */
function choose(box, records, chosen) {
  box.replaceChildren(...records.map((record) => h("option", { value: record.id }, record.name)));
  if (records.some((record) => record.id === chosen)) box.value = /** @type {string} */ (chosen);
}

/** @param {any[]} scales */
const finest = (scales) => scales.reduce((best, each) => (each.step_g < best.step_g ? each : best));

/** The one that carries most. @param {any[]} scales */
const coarsest = (scales) => scales.reduce((best, each) => (each.capacity_g > best.capacity_g ? each : best));

/** @param {import("../bench/sheet.js").Sheet} sheet @param {import("../bench/display_units.js").DisplayUnits} units */
function tooCoarse(sheet, units) {
  return (
    `On a ${units.text(sheet.fine_step_g, "mass", sheet.fine_step_g)} scale your ${percent(sheet.load)} could be ` +
    `${percent(sheet.load_low)} to ${percent(sheet.load_high)}: use a finer scale or pour ${sheet.count_for_scale}.`
  );
}

/** @param {import("../bench/sheet.js").Sheet} sheet @param {import("../bench/display_units.js").DisplayUnits} units */
function sheetLines(sheet, units) {
  const coarse = (/** @type {number} */ grams) => units.text(grams, "mass", sheet.step_g);
  const fine = (/** @type {number} */ grams) => units.text(grams, "mass", sheet.fine_step_g);
  const warmth = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const window = (/** @type {import("../bench/mixing.js").Window} */ { low_c, target_c, high_c }) =>
    `**${warmth(target_c)}** (${warmth(low_c)} to ${warmth(high_c)})`;
  return [
    h(
      "dl",
      { class: "facts total" },
      fact("Wax", `**${coarse(sheet.wax_g)}**`),
      ...(sheet.load > 0 ? [fact("Fragrance", `**${fine(sheet.fragrance_g)}**`)] : []),
      fact("Vessels", `**${sheet.count}** × ${sheet.vessel.name}`),
      ...(sheet.wick ? [fact("Wick", sheet.wick)] : []),
      ...(sheet.load > 0 ? [fact("Fragrance in at", window(sheet.fragrance))] : []),
      fact("Pour at", window(sheet.pour)),
    ),
    ...sheet.jugs.map((jug, index) =>
      h(
        "section",
        { class: "jug" },
        h(
          "h2",
          {},
          sheet.jugs.length > 1
            ? `Jug ${index + 1}: ${jug.vessels} vessels`
            : `One jug: ${jug.vessels} ${jug.vessels > 1 ? "vessels" : "vessel"}`,
        ),
        h(
          "dl",
          { class: "facts" },
          ...jug.waxes.map((target) =>
            fact(target.name, `**${coarse(target.target_g)}** (${coarse(target.low_g)} to ${coarse(target.high_g)})`),
          ),
          ...jug.additives.map((target) => fact(target.name, `**${fine(target.target_g)}**`)),
          ...jug.fragrances.map((target) => fact(target.name, `**${fine(target.target_g)}**`)),
          fact("Each vessel", vesselText(jug.vessel_targets_g, coarse)),
          fact("Stays in the jug", fine(jug.stays_g)),
          fact("Hot, in the jug", units.text(jug.hot_ml, "volume")),
        ),
      ),
    ),
  ];
}

/** '106 g', or '107 g, then 106 g' where the parts must add up. @param {number[]} targets @param {(grams: number) => string} text */
function vesselText(targets, text) {
  const [first, last] = [targets[0], targets[targets.length - 1]];
  return first === last ? `**${text(first)}**` : `**${text(first)}**, the last ones **${text(last)}**`;
}
