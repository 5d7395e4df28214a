/** What a pour should have been beside what was read: its facts, and of each jug the weights and the curve. */

import { curve } from "../bench/chart.js";
import { waitOf } from "../bench/countdown.js";
import { filledOf } from "../bench/fold.js";
import { loadLine } from "../bench/prompt.js";
import { vesselsOfJug } from "../bench/sheet.js";
import { topsInWords } from "../bench/tops.js";
import { ready } from "../formulas/cure.js";
import { eventType } from "../records/events.js";
import { codeOf } from "../shelf/batches.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { t } from "../words/door.js";
import { h, rich } from "./dom.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/fold.js").JugState} JugState */
/** @typedef {import("../bench/sheet.js").Sheet} Sheet */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** @param {Pour} pour @param {DisplayUnits} units @returns {[name: string, value: string][]} */
export function factsOf(pour, units) {
  const { sheet, state, record } = pour;
  const planned = {
    wax: units.text(sheet.wax_g, "mass", sheet.step_g),
    fragrance: units.text(sheet.fragrance_g, "mass", sheet.fine_step_g),
  };
  /** @type {[string, string][]} */
  const list = [
    [t("Started"), `${dayText(localDate(record.started_at))}, ${timeText(record.started_at)}`],
    [t("Planned"), t("{wax} wax, {fragrance} fragrance", planned)],
  ];
  const code = codeOf(pour);
  if (code !== null) list.unshift([t("Batch code"), `**${code}**`]);
  if (state.abandoned_at) list.push([t("Given up"), dayText(localDate(state.abandoned_at))]);
  if (state.set_on) {
    list.push(
      [t("Poured"), dayText(state.set_on)],
      [t("Cured from"), `**${dayText(ready(state.set_on, sheet.cure_least_days))}**`],
      [t("Fully cured from"), `**${dayText(ready(state.set_on, sheet.cure_best_days))}**`],
    );
  }
  list.push(...cameOut(state));
  if (sheet.wick) list.push([t("Wick"), sheet.wick.name]);
  if (state.tops) list.push([t("Tops"), topsInWords(state.tops)]);
  return list;
}

/** How many were filled where it is not what was planned, how they came out, and what became of the rest.
 * @param {import("../bench/fold.js").PourState} state @returns {[name: string, value: string][]} */
function cameOut(state) {
  const { filled, others, planned } = filledOf(state);
  /** @type {[string, string][]} */
  const list = [];
  if (state.set_on && (filled < planned || others > 0)) {
    const counts = { filled, planned, others };
    const value =
      others > 0 ? t("{filled} of {planned}, and {others} not planned", counts) : t("{filled} of {planned}", counts);
    list.push([t("Filled"), value]);
  }
  const { good, seconds, spoiled, rest } = state.finished ?? {};
  const told = [
    typeof good === "number" && t("{n} good", { n: good }),
    typeof seconds === "number" && t("{n} second quality", { n: seconds }),
    typeof spoiled === "number" && t("{n} spoiled", { n: spoiled }),
  ].filter((each) => each !== false);
  if (told.length > 0) list.push([t("Came out"), told.join(", ")]);
  const choices = eventType("pour", "finished")?.fields.rest.choices ?? {};
  if (rest && Object.hasOwn(choices, rest)) list.push([t("Left in the jug"), t(choices[rest])]);
  return list;
}

/** @param {Pour} pour @param {number} index @param {DisplayUnits} units */
export function jugSection({ sheet, state }, index, units) {
  const jug = state.jugs[index];
  const heading = state.jugs.length > 1 ? t("Jug {n}", { n: index + 1 }) : t("In the jug");
  return h(
    "section",
    { class: "jug" },
    h("h2", {}, heading),
    weightTable(sheet, jug, index, units),
    jug.fragrance_g > 0 && jug.wax_g > 0 && h("p", { class: "load" }, ...rich(loadLine(sheet, jug))),
    jug.all_dips.length > 0 && h("div", { class: "chart" }, curveOf(sheet, jug, units)),
  );
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {DisplayUnits} units */
function weightTable(sheet, jug, jugIndex, units) {
  const weighed = jug.weighings
    .filter(({ read_g }) => read_g !== null)
    .map((each) => {
      const text = (/** @type {number} */ grams) => units.text(grams, "mass", stepOf(sheet, each.part));
      const { name } = each;
      const what = each.part === "restore" ? t("{name}, added to put the load right", { name }) : name;
      return row(what, text(each.target_g), text(each.read_g ?? 0));
    });
  const coarse = (/** @type {number | undefined} */ grams) =>
    // One more than the jug was planned for has no target.
    typeof grams === "number" ? units.text(grams, "mass", sheet.step_g) : "";
  const all = sheet.sizes.length > 1 ? vesselsOfJug(sheet, jugIndex) : [];
  const vesselName = (/** @type {number} */ index) =>
    all[index] ? t("{n}: {vessel}", { n: index + 1, vessel: all[index].name }) : t("vessel {n}", { n: index + 1 });
  const vessels = jug.poured.map(({ vessel, target_g, read_g, skipped, unread }) =>
    skipped
      ? row(vesselName(vessel), "", t("not filled"))
      : row(vesselName(vessel), coarse(target_g), unread ? t("not weighed") : coarse(read_g)),
  );
  vessels.push(...jug.others.map(({ read_g }) => row(t("another vessel"), "", coarse(read_g))));
  if (weighed.length + vessels.length === 0) return null;
  const heads = [t("What"), t("Target"), t("Weighed")].map((text) => h("th", { scope: "col" }, text));
  return h("table", {}, h("thead", {}, h("tr", {}, ...heads)), h("tbody", {}, ...weighed, ...vessels));
}

/** What the scale reads to on which a part is weighed, grams. @param {Sheet} sheet @param {import("../bench/fold.js").Part} part */
function stepOf(sheet, part) {
  return part === "wax" || part === "restore" ? sheet.step_g : sheet.fine_step_g;
}

/** @param {string} name @param {string} target @param {string} read */
function row(name, target, read) {
  return h("tr", {}, h("th", { scope: "row" }, name), h("td", {}, target), h("td", {}, read));
}

/** @param {Sheet} sheet @param {JugState} jug @param {DisplayUnits} units */
function curveOf(sheet, jug, units) {
  const text = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const window = sheet.load > 0 ? sheet.fragrance : sheet.pour;
  // The dips that the countdown rested on, with its curve; all of them where there was none.
  const cooled = jug.cooled.length > 0 ? jug.cooled : jug.dips;
  const end_ms = (cooled.at(-1) ?? jug.all_dips[jug.all_dips.length - 1]).at;
  const wait = waitOf(sheet, { ...jug, step: "cool", warming: false, dips: cooled }, end_ms);
  return wait.forecast ? curve(cooled, window, wait, end_ms, text) : curve(jug.all_dips, window, null, end_ms, text);
}
