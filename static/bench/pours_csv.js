/** Pours as a table for a spreadsheet: one row a pour, in g and °C. */

import { ready } from "../formulas/cure.js";
import { reached } from "../formulas/load.js";
import { write } from "../formulas/rounding.js";
import { localDate } from "../words/dates.js";
import { InputError, message, worded } from "../words/door.js";
import { csvOf } from "./csv.js";
import { filledOf } from "./fold.js";

/** @typedef {import("./pours.js").Pour} Pour */
/** @typedef {Pick<Pour, "record" | "sheet" | "state">} Poured */

const HEAD = [
  message("Started"),
  message("Poured on"),
  message("Recipe"),
  message("Vessel"),
  message("Count"),
  message("Wax (g)"),
  message("Fragrance (g)"),
  message("Load reached (% of wax)"),
  message("Additives (g)"),
  message("Jugs"),
  message("Last dip before the fragrance (°C)"),
  message("Notes"),
  message("Tops"),
  message("Cured from"),
  message("Fully cured from"),
  message("Filled"),
  message("Good"),
  message("Second quality"),
  message("Spoiled"),
];

/** @param {Poured[]} pours */
export function tableOf(pours) {
  return csvOf([HEAD.map(worded), ...pours.map(rowOf)]);
}

/** @param {Poured} pour @returns {(string | number)[]} */
export function rowOf({ record, sheet, state }) {
  const { jugs, set_on } = state;
  const total = (/** @type {"wax_g" | "fragrance_g"} */ part) => jugs.reduce((sum, jug) => sum + jug[part], 0);
  const [in_jugs_g, fragrance_g] = [total("wax_g"), total("fragrance_g")];
  /** @type {Map<string, number>} */
  const extras = new Map();
  for (const { part, name, read_g } of jugs.flatMap(({ weighings }) => weighings)) {
    if (part === "additive" && read_g !== null) extras.set(name, (extras.get(name) ?? 0) + read_g);
  }
  const in_c =
    sheet.load > 0 ? jugs.flatMap(({ cooled, added_at }) => (added_at === null ? [] : cooled.slice(-1))) : [];
  const finish = state.counted.flatMap((each) => (each.type === "finished" ? [each] : []));
  // All that was weighed in, spilled or not.
  let wax_g = 0;
  for (const { part, read_g } of jugs.flatMap(({ weighings }) => weighings)) {
    if (part === "wax" || part === "restore") wax_g += read_g ?? 0;
  }
  const { filled, others } = filledOf(state);
  const { good, seconds, spoiled } = state.finished ?? {};
  const notes = [...state.notes, ...finish].map(({ text }) => text);
  return [
    localDate(record.started_at),
    set_on ?? "",
    sheet.title,
    sheet.sizes.map(({ name }) => name).join("; "),
    sheet.count,
    number(wax_g, 0.01),
    number(fragrance_g, 0.01),
    in_jugs_g > 0 ? number(reached(in_jugs_g, fragrance_g) * 100, 0.01) : "",
    [...extras].map(([name, grams]) => `${name} ${write(grams, 0.01)}`).join("; "),
    jugs.length,
    in_c.length === 1 ? number(in_c[0].temp_c, 0.1) : in_c.map(({ temp_c }) => write(temp_c, 0.1)).join("; "),
    notes.filter(Boolean).join("\n"),
    state.tops ?? "",
    curedFrom(set_on, sheet.cure_least_days),
    curedFrom(set_on, sheet.cure_best_days),
    filled + others,
    ...[good, seconds, spoiled].map((count) => count ?? ""),
  ];
}

/** @param {string | null} set_on @param {number} days */
function curedFrom(set_on, days) {
  try {
    return set_on ? ready(set_on, days) : "";
  } catch (error) {
    // One pour that says nothing sensible must not keep the others out of the table.
    if (!(error instanceof InputError)) throw error;
    return "";
  }
}

/** @param {number} value @param {number} step */
const number = (value, step) => Number(write(value, step));
