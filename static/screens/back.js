/** Looking back: what was poured, sold, broken and earned, how near it came to what was meant, and how the tops looked. */

import { phoneNow } from "../bench/clock.js";
import * as store from "../records/store.js";
import { partsOf, periodOf, recipesOf, sumsOf, yearsOf } from "../shelf/back_sums.js";
import { looked } from "../shelf/back_tops.js";
import { MATERIALS, materialOf } from "../shelf/lots.js";
import { readBack } from "../shelf/read_back.js";
import { localDate } from "../words/dates.js";
import { t } from "../words/door.js";
import { backTable } from "./back_csv.js";
import { monthParts, nearParts, recipeParts } from "./back_parts.js";
import { faultsOf, topsFacts, topsParts } from "./back_tops.js";
import { goneFacts, partText, yieldFacts } from "./back_words.js";
import { cloneTemplate, download, h, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { drawOnChange, ofKinds } from "./screen.js";

/** @typedef {import("../shelf/back_sums.js").PeriodName} PeriodName */
/** @typedef {import("../shelf/back_told.js").Told} Told */

/** What she chose last, as long as the bench is open. @type {{period: PeriodName, fault: string}} */
const chosen = { period: "months", fault: "" };

/** @param {HTMLElement} place @param {string[]} path a recipe's id: that alone @param {import("./screen.js").Context} context */
export async function show(place, [recipe], { units }) {
  place.append(cloneTemplate("screen-back"));
  const at = (/** @type {string} */ name) => slot(place, name);
  /** @type {Told[]} */
  let pours = [];
  /** @type {Map<string, {name: string, of: string}>} */
  let lots = new Map();

  const drawTops = () => {
    const period = periodOf(chosen.period, localDate(phoneNow()));
    const own = pours.filter(({ month }) => period.from <= month && month <= period.to);
    const faults = faultsOf(own);
    if (!faults.some(([value]) => value === chosen.fault)) chosen.fault = "";
    at("fault").replaceChildren(...faults.map(([value, name]) => h("option", { value }, name)));
    at("fault").value = chosen.fault;
    at("tops").hidden = looked(own).length === 0;
    showFacts(at("tops_told"), topsFacts(own));
    // Where nothing was amiss, there is nothing to look for.
    at("faults").hidden = faults.length === 1;
    const found = faults.length === 1 ? [] : topsParts(own, chosen.fault, lots, units);
    replaceKeepingFocus(at("by"), ...found);
  };

  const draw = async () => {
    const period = periodOf(chosen.period, localDate(phoneNow()));
    const all = await readBack(yearsOf(period));
    pours = recipe ? all.filter((pour) => pour.recipe === recipe) : all;
    lots = await lotNames(pours);
    if (recipe) {
      const kept = await store.get("recipe", recipe);
      const name = kept?.name ?? pours[0]?.title ?? "";
      setText(at("name"), name === "" ? t("Look back") : t("Looking back on {recipe}", { recipe: name }));
    }
    const sums = sumsOf(pours, period);
    const recipes = recipesOf(pours, period);
    const parts = partsOf(pours, period);
    at("period").value = chosen.period;
    const [first, last] = [parts[0], parts.at(-1)].map((part) => (part ? partText(part[0]) : ""));
    setText(at("span"), first === last ? first : t("From {first} to {last}.", { first, last }));
    at("empty").hidden = recipes.length > 0;
    at("found").hidden = recipes.length === 0;
    at("table").disabled = recipes.length === 0;
    showFacts(at("facts"), [...yieldFacts(sums, Boolean(recipe), units), ...goneFacts(sums)]);
    replaceKeepingFocus(at("months"), ...(recipes.length > 0 ? monthParts(parts, units) : []));
    at("recipes").hidden = Boolean(recipe);
    replaceKeepingFocus(at("by_recipe"), ...recipeParts(recipes, units));
    const own = pours.filter(({ month }) => period.from <= month && month <= period.to);
    const near = nearParts(own, units);
    at("near").hidden = near.length === 0;
    replaceKeepingFocus(at("dots"), ...near);
    drawTops();
  };

  if (recipe) {
    at("back").href = `#/recipe/${recipe}`;
    setText(at("back"), t("Recipe"));
  }
  at("period").addEventListener("change", () => {
    chosen.period = at("period").value;
    return draw();
  });
  at("fault").addEventListener("change", () => {
    chosen.fault = at("fault").value;
    drawTops();
  });
  at("print").addEventListener("click", () => print());
  at("table").addEventListener("click", () => {
    const period = periodOf(chosen.period, localDate(phoneNow()));
    const text = backTable(pours, period);
    download(new File([text], `look-back-${localDate(phoneNow())}.csv`, { type: "text/csv" }));
  });
  return drawOnChange(ofKinds("pour", "batch", "recipe", "lot"), draw);
}

/** The lots that pours took from, and of what they are, by 'kind id'. @param {Told[]} pours */
async function lotNames(pours) {
  const ids = [...new Set(pours.flatMap((pour) => pour.lots.map(([, id]) => id)))];
  const [lots, ...materials] = await Promise.all([store.livingOf("lot", ids), ...MATERIALS.map(store.all)]);
  const names = new Map(materials.flat().map(({ kind, id, name }) => [`${kind} ${id}`, String(name ?? "")]));
  return new Map(
    lots.map((lot) => {
      const [kind, of] = materialOf(lot);
      return [`${kind} ${lot.id}`, { name: String(lot.name ?? ""), of: names.get(`${kind} ${of}`) ?? "" }];
    }),
  );
}
