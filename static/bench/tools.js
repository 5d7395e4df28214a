/** Her tools: which there are, which are chosen for a pour, and what past pours have told of them. */
import { all } from "../records/store.js";
import { t } from "../words/door.js";
import { jugHistory, learnedEfficiency } from "./past_pours.js";

/** @typedef {import("./mixing.js").Fields} Fields */
/** @typedef {import("./pours.js").Pour} Pour */
/**
 * @typedef {object} Toolbox all that she has of each; never none, but for heaters
 * @property {Fields[]} scales
 * @property {Fields[]} jugs
 * @property {Fields[]} thermometers
 * @property {Fields[]} heaters
 */
/** @typedef {"scale" | "fine" | "jug" | "thermometer" | "heater"} ToolName `fine`: the scale for fragrance and additives */
/** @typedef {Record<ToolName, string>} Chosen ids; an empty one stands for what is usual, or for no heater */

/** Her tools, or the stated defaults. Of a heater whose power is not known nothing can be told. @param {import("./display_units.js").DisplayUnits} units @returns {Promise<Toolbox>} */
export async function toolbox(units) {
  const [scales, jugs, thermometers, heaters] = await Promise.all(["scale", "jug", "thermometer", "heater"].map(all));
  const usual = usualTools(units.units.mass);
  return {
    heaters: heaters.filter(({ power_w }) => power_w),
    scales: asUsual(scales, usual.scale),
    jugs: asUsual(jugs, usual.jug),
    thermometers: asUsual(thermometers, usual.thermometer),
  };
}

/** What a tool's record does not say is as usual. @param {Fields[]} records @param {Fields} usual */
const asUsual = (records, usual) => (records.length ? records : [{}]).map((each) => ({ ...usual, ...each }));

/** What a first pour is made with, without any tool's record. @param {string} mass_unit */
function usualTools(mass_unit) {
  return {
    scale:
      mass_unit === "g"
        ? { id: "", name: t("a 1 g scale"), step_g: 1, capacity_g: 5000 }
        : { id: "", name: t("a 0.1 oz scale"), step_g: 2.8349523125, capacity_g: 5000 },
    jug: { id: "", name: t("jug"), empty_g: 0, volume_ml: null },
    thermometer: { id: "", name: t("a thermometer to 0.1 °C"), step_c: 0.1 },
  };
}

/** Those last used, where they are still kept; else the scale that carries most for wax, the finest for
 * fragrance, and the first of the others. @param {Toolbox} toolbox @param {Partial<Chosen>} last @returns {Chosen} */
export function chosenTools({ scales, jugs, thermometers, heaters }, last) {
  const id = (
    /** @type {Fields[]} */ records,
    /** @type {string | undefined} */ wanted,
    usual = records[0]?.id ?? "",
  ) => (records.some((record) => record.id === wanted) ? /** @type {string} */ (wanted) : usual);
  return {
    scale: id(scales, last.scale, leading(scales, ({ capacity_g }) => capacity_g).id),
    fine: id(scales, last.fine, leading(scales, ({ step_g }) => -step_g).id),
    jug: id(jugs, last.jug),
    thermometer: id(thermometers, last.thermometer),
    // Not to use any heater is a choice too.
    heater: last.heater === "" ? "" : id(heaters, last.heater),
  };
}

/** The first of those that have most. @param {Fields[]} records @param {(record: Fields) => number} of */
function leading(records, of) {
  return records.reduce((best, each) => (of(each) > of(best) ? each : best));
}

/**
 * The tools by the ids that were chosen, with what past pours have told of them.
 * @param {Toolbox} toolbox @param {Chosen} chosen @param {Pour[]} pours
 * @returns {Omit<import("./sheet.js").Tools, "room_c" | "allowance_g">}
 */
export function toolsOf({ scales, jugs, thermometers, heaters }, chosen, pours) {
  const find = (/** @type {Fields[]} */ records, /** @type {string} */ id) =>
    records.find((record) => record.id === id) ?? records[0];
  const jug = find(jugs, chosen.jug);
  const heater = heaters.find(({ id }) => id === chosen.heater);
  return {
    scale: find(scales, chosen.scale),
    fine: find(scales, chosen.fine),
    jug,
    thermometer: find(thermometers, chosen.thermometer),
    heater: heater ? { ...heater, efficiency: learnedEfficiency(pours, heater.id, heater.way) } : null,
    history: historyOf(pours, jug.id || null),
  };
}

/** What pours have told of jugs so far: they are asked anew at each touch of the plan.
 * @type {WeakMap<Pour[], Map<string | null, number[][]>>} */
const histories = new WeakMap();

/** @param {Pour[]} pours @param {string | null} jug */
function historyOf(pours, jug) {
  const known = histories.get(pours) ?? new Map();
  histories.set(pours, known);
  const history = known.get(jug) ?? jugHistory(pours, jug);
  known.set(jug, history);
  return history;
}
