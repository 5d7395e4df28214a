/** The hazard class of a recipe's candle: the desk works it out, the phone keeps it, and says when it is older than what it
 * rests on. Without a recipe: all of them, and how each stands. */
import { allFindings, changedSince, findingsOf, requestOf } from "../hazards/request.js";
import { ask, NoSignal, ServerError } from "../records/exchange.js";
import { keepFinding } from "../records/findings.js";
import * as store from "../records/store.js";
import { localDate, timeText } from "../words/dates.js";
import { listed, message, t, worded } from "../words/door.js";
import { wholeDayText } from "../words/whole_days.js";
import { card, cloneTemplate, h, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { earlierSection, foundInShort, foundSections, loadText } from "./hazard_found.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";

/** What a finding rests on. */
export const RESTS_ON = ["hazard_finding", "recipe", "wax", "fragrance", "additive", "safety_sheet"];

/** Whose rules there are. @type {Record<string, import("../words/door.js").Message>} */
const PLACES = {
  eu: message("the European Union"),
  gb: message("Great Britain"),
  un: message("the United Nations"),
};

/** @param {HTMLElement} place @param {string[]} path the recipe's id, or nothing
 * @param {import("./screen.js").Context} context */
export async function show(place, [id], { go }) {
  if (!id) return showAll(place);
  place.append(cloneTemplate("screen-hazard"));
  slot(place, "back").href = `#/recipe/${id}`;
  setText(slot(place, "back"), t("Recipe"));
  const [last] = await findingsOf(id);
  /** @type {HTMLSelectElement} */
  const rules = slot(place, "rules");
  if (last && Object.hasOwn(PLACES, last.found.rules)) rules.value = last.found.rules;
  rules.addEventListener("change", () => void draw());

  async function draw() {
    const recipe = await store.get("recipe", id);
    if (recipe === undefined || recipe.deleted) {
      go("recipes");
      return;
    }
    setText(slot(place, "name"), recipe.name);
    const [findings, asked] = await Promise.all([findingsOf(id), requestOf(recipe, rules.value)]);
    const finding = findings.find((each) => each.found.rules === rules.value);
    drawSheets(place, id, asked);
    drawAge(place, finding, asked);
    const wasOpen = new Set([...place.querySelectorAll("details[open] > summary")].map((each) => each.textContent));
    const before = findings.filter((each) => each !== finding).map(lineOf);
    const sections = [...(finding ? foundSections(finding.found) : []), ...earlierSection(before)];
    for (const details of sections)
      if (details instanceof HTMLDetailsElement)
        details.open = wasOpen.has(details.querySelector("summary")?.textContent ?? "");
    replaceKeepingFocus(slot(place, "found"), ...sections);
  }

  const button = slot(place, "ask");
  button.addEventListener("click", async () => {
    const failed = slot(place, "failed");
    failed.hidden = true;
    button.disabled = true;
    button.setAttribute("aria-busy", "true");
    try {
      const recipe = await store.get("recipe", id);
      if (recipe) await workOut(recipe, rules.value);
    } catch (error) {
      if (!(error instanceof NoSignal) && !(error instanceof ServerError)) throw error;
      setText(failed, error.message);
      failed.hidden = false;
      failed.scrollIntoView({ block: "center" });
    } finally {
      button.disabled = false;
      button.removeAttribute("aria-busy");
    }
  });
  return drawOnChange(ofKinds(...RESTS_ON), draw);
}

/** Ask the desk, and keep what it found with all that it was asked. @param {store.Plain} recipe @param {string} rules */
async function workOut(recipe, rules) {
  const asked = await requestOf(recipe, rules);
  const found = await ask("/api/desk/hazard", asked);
  const made_at = Math.round(await store.timeNow());
  const fields = { name: recipe.name, recipe: recipe.id, made_at, asked, found };
  await tryToKeep(() => keepFinding("hazard_finding", store.newId(), fields));
}

/** When it was worked out, and whether it still holds. @param {HTMLElement} place @param {store.Plain | undefined} finding
 * @param {import("../hazards/request.js").Asked} asked what would be asked now */
function drawAge(place, finding, asked) {
  const older = slot(place, "older");
  const changed = finding ? changesOf(finding, asked, slot(place, "editions").dataset) : [];
  older.hidden = changed.length === 0;
  setText(
    older,
    t("It is older than what it rests on: {what}. What stands below held before. Work it out again.", {
      what: listed(changed),
    }),
  );
  setText(slot(place, "ask"), finding ? t("Work it out again") : t("Work it out"));
  setText(
    slot(place, "age"),
    finding
      ? t("Worked out on {day}, {time}, for {load}.", {
          day: wholeDayText(localDate(finding.made_at)),
          time: timeText(finding.made_at),
          load: loadText(finding.found),
        })
      : t("It is not worked out yet. That needs the server; what it finds then stays on this phone."),
  );
}

/** What has changed under a finding, in words. @param {store.Plain} finding
 * @param {import("../hazards/request.js").Asked} asked @param {DOMStringMap} editions of the rules that this app comes with */
function changesOf(finding, asked, editions) {
  const changed = changedSince(finding.asked, asked).map(worded);
  const edition = editions[asked.rules];
  if (edition && finding.found?.edition !== edition) changed.push(t("the rules, which have a newer text"));
  return changed;
}

/** What has changed under a finding of a recipe, in words; empty where it still holds.
 * @param {store.Plain} recipe @param {store.Plain} finding */
export async function changesUnder(recipe, finding) {
  const { dataset } = slot(cloneTemplate("screen-hazard"), "editions");
  return changesOf(finding, await requestOf(recipe, finding.found.rules), dataset);
}

/** Which sheets there are, and which are missing. @param {HTMLElement} place @param {string} id of the recipe
 * @param {import("../hazards/request.js").Asked} asked */
function drawSheets(place, id, { materials, sheets }) {
  /** @type {[string, string][]} */
  const facts = [];
  const links = [];
  for (const [kind, records] of Object.entries(materials))
    for (const [material, { name = "" }] of Object.entries(records)) {
      const mine = sheets.filter((sheet) => sheet.material[0] === kind && sheet.material[1] === material);
      const told = mine.map((sheet) => (sheet.dated ? `${sheet.name}, ${wholeDayText(sheet.dated)}` : sheet.name));
      facts.push([name, mine.length > 0 ? listed(told) : `**${t("none yet")}**`]);
      if (mine.length === 0)
        links.push(
          h(
            "a",
            { class: "quiet", href: `#/edit/safety_sheet/new/hazard/${id}/${kind},${material}` },
            t("Put in the sheet of {name}", { name }),
          ),
        );
      for (const sheet of mine)
        links.push(h("a", { class: "quiet", href: `#/edit/safety_sheet/${sheet.id}/hazard/${id}` }, sheet.name));
    }
  links.push(
    h("a", { class: "quiet", href: `#/edit/safety_sheet/new/hazard/${id}`, "data-key": "new" }, t("Put in a sheet")),
  );
  showFacts(slot(place, "sheets"), facts);
  replaceKeepingFocus(slot(place, "links"), ...links);
}

/** @param {store.Plain} finding */
function lineOf({ made_at, found }) {
  const said = foundInShort(found);
  const values = {
    day: wholeDayText(localDate(made_at)),
    load: loadText(found),
    said,
    rules: worded(PLACES[found.rules] ?? PLACES.eu),
  };
  return t("{day}, {load}, by the rules of {rules}: {said}.", values);
}

/** How a recipe stands, in a line. @param {store.Plain} recipe @param {store.Plain | undefined} finding its latest */
export async function standing(recipe, finding) {
  if (finding === undefined) return t("Not worked out yet.");
  const changed = await changesUnder(recipe, finding);
  const values = { day: wholeDayText(localDate(finding.made_at)), said: foundInShort(finding.found) };
  return changed.length > 0
    ? t("On {day}: {said}. Since then has changed: {what}.", { ...values, what: listed(changed) })
    : t("On {day}: {said}.", values);
}

/** All recipes. @param {HTMLElement} place */
function showAll(place) {
  place.append(cloneTemplate("screen-hazards"));
  return drawOnChange(ofKinds(...RESTS_ON), async () => {
    const [recipes, findings] = await Promise.all([store.all("recipe"), allFindings()]);
    const empty = slot(place, "empty");
    empty.hidden = recipes.length > 0;
    setText(empty, t("There is no recipe yet."));
    const cards = await Promise.all(
      recipes.map(async (recipe) => {
        const line = await standing(recipe, findings.get(recipe.id)?.[0]);
        return card({ href: `#/hazard/${recipe.id}`, of: recipe, name: recipe.name, line });
      }),
    );
    replaceKeepingFocus(slot(place, "cards"), ...cards);
  });
}
