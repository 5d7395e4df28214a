/** Which pours the log shows: a month, a recipe, a delivery, a state. */

import { FILTERS, isAmong } from "../find/filters.js";
import { STATES } from "../find/states.js";
import { monthText } from "../words/dates.js";
import { listed, t, worded } from "../words/door.js";
import { h } from "./dom.js";
import { monthOf } from "./log_lines.js";

/** @typedef {import("../find/found.js").Found} Found */
/** @typedef {import("../find/filters.js").Asked} Asked */
/** @typedef {typeof FILTERS[number]} Filter */

/**
 * The boxes, with what can be chosen: of each what the pours have that the other boxes leave.
 * @param {Map<string, Found>} entries @param {Asked} asked @param {string} today ISO 8601
 * @param {(name: Filter, value: string) => void} choose
 * @returns {HTMLElement[]}
 */
export function filterBoxes(entries, asked, today, choose) {
  return FILTERS.map((name) => {
    const pours = [...entries.values()].filter(
      ({ pour, at }) => pour && isAmong(pour, at, { ...asked, [name]: "" }, today),
    );
    const values = new Set([...pours.flatMap((entry) => valuesOf(entry, name)), ...(asked[name] ? [asked[name]] : [])]);
    const offered = name === "state" ? Object.keys(STATES) : inOrder([...values], name, entries);
    const box = /** @type {HTMLSelectElement} */ (
      h(
        "select",
        { name, "data-key": name, onchange: () => choose(name, box.value) },
        h("option", { value: "" }, t("all")),
        ...offered.map((value) => h("option", { value }, nameOf(name, value, entries))),
      )
    );
    box.value = asked[name];
    return h("label", {}, h("span", { class: "name" }, calledOf(name)), box);
  });
}

/** @param {Found} entry of a pour @param {Filter} name @returns {string[]} */
function valuesOf(entry, name) {
  if (name === "month") return [monthOf(entry)];
  if (name === "lot") return entry.pour?.lots ?? [];
  return name === "recipe" && entry.pour?.recipe ? [entry.pour.recipe] : [];
}

/** Months and deliveries the newest first, recipes by name. @param {string[]} values @param {Filter} name
 * @param {Map<string, Found>} entries */
function inOrder(values, name, entries) {
  if (name === "month") return values.sort().reverse();
  const at = (/** @type {string} */ id) => entries.get(`${name} ${id}`)?.at ?? 0;
  if (name === "lot") return values.sort((a, b) => at(b) - at(a) || (a < b ? -1 : 1));
  const named = new Map(values.map((value) => [value, nameOf(name, value, entries)]));
  return values.sort((a, b) => (named.get(a) ?? "").localeCompare(named.get(b) ?? ""));
}

/** @param {Filter} name @param {string} value @param {Map<string, Found>} entries */
function nameOf(name, value, entries) {
  if (name === "month") return /^\d{4}-\d\d$/.test(value) ? monthText(`${value}-01`) : value;
  if (name === "state") return stateText(value);
  const entry = entries.get(`${name} ${value}`);
  if (entry === undefined) return name === "recipe" ? lastTitle(value, entries) : t("a deleted delivery");
  const material = name === "lot" && entries.get(entry.others[0])?.name;
  return material ? `${material}, ${entry.name}` : entry.name;
}

/** @param {string} state as the address has it */
function stateText(state) {
  const known = Object.entries(STATES).find(([name]) => name === state);
  return known ? worded(known[1]) : state;
}

/** What the pours of a recipe that is deleted call it. @param {string} recipe its id @param {Map<string, Found>} entries */
function lastTitle(recipe, entries) {
  for (const { pour, name } of entries.values()) if (pour?.recipe === recipe) return name;
  return t("a deleted recipe");
}

/** @param {Filter} name */
function calledOf(name) {
  switch (name) {
    case "month":
      return t("Month");
    case "recipe":
      return t("Recipe");
    case "lot":
      return t("Delivery in it");
    default:
      return t("State");
  }
}

/** What is chosen, in words; '' where nothing is. @param {Asked} asked @param {Map<string, Found>} entries */
export function filtersInWords(asked, entries) {
  const chosen = FILTERS.filter((name) => asked[name]).map((name) => nameOf(name, asked[name], entries));
  return chosen.length > 0 ? listed(chosen) : "";
}
