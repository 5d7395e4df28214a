/** All labels, and those that were made of them; or those that a batch or a recipe may have. */

import { ofEach, readPour } from "../bench/pours.js";
import { isFinished } from "../labels/answers.js";
import { foldPrints } from "../labels/prints.js";
import { findings } from "../records/findings.js";
import * as store from "../records/store.js";
import { dayText, localDate } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { card, chip, cloneTemplate, replaceKeepingFocus, slot } from "./dom.js";
import { sizeText } from "./label_report.js";
import { drawOnChange, ofKinds } from "./screen.js";

/** @typedef {Record<string, any>} Fields */

/** @param {HTMLElement} place @param {string[]} path 'of' and a pour, 'for' and a recipe, or nothing
 * @param {import("./screen.js").Context} context */
export async function show(place, [which, id], { go }) {
  place.append(cloneTemplate("screen-labels"));
  const pour = which === "of" ? id : "";
  const recipe = which === "for" ? id : pour && (await readPour(pour, true))?.sheet.recipe;
  if (recipe) {
    const back = slot(place, "back");
    [back.href, back.textContent] = pour ? [`#/entry/${pour}`, t("The pour")] : [`#/recipe/${recipe}`, t("The recipe")];
  }
  if (recipe) slot(place, "new").href = `#/edit/label/new/labels/for/${recipe}`;
  return drawOnChange(ofKinds("label", "made_label", "maker", "recipe"), async () => {
    const [all, made, maker, recipes] = await Promise.all([
      store.all("label"),
      findings("made_label"),
      store.get("maker", "maker"),
      store.all("recipe"),
    ]);
    const labels = recipe ? all.filter((each) => each.recipe === recipe) : all;
    if (pour && labels.length === 1) {
      go(`label/${labels[0].id}/${pour}`);
      return;
    }
    slot(place, "deleted").hidden = (await store.deleted("made_label")).length === 0;
    slot(place, "empty").hidden = labels.length > 0;
    slot(place, "nameless").hidden = Boolean(maker?.called);
    const names = new Map(recipes.map(({ id: each, name }) => [each, name]));
    const cards = labels.map((label) =>
      card({
        href: `#/label/${label.id}${pour && `/${pour}`}`,
        name: label.name,
        line: [names.get(label.recipe), ownSize(label)].filter(Boolean).join(", "),
      }),
    );
    replaceKeepingFocus(slot(place, "cards"), ...cards);
    const ids = new Set(labels.map((label) => label.id));
    const shown = made.filter(({ label, pour: of }) => (pour ? of === pour : !recipe || ids.has(label)));
    await drawMade(place, shown);
  });
}

/** The labels that were made, the newest first. @param {HTMLElement} place @param {store.Plain[]} made */
export async function drawMade(place, made) {
  slot(place, "made").hidden = made.length === 0;
  const newest = [...made].sort((a, b) => b.made_at - a.made_at);
  const told = await Promise.all(
    newest.map(async (each) => ({
      ...{ id: each.id, label: each },
      prints: foldPrints(await store.events("made_label", each.id)),
    })),
  );
  const cards = ofEach(told, ({ id, label: { name, made_at, asked, found }, prints }) => [
    card({
      href: `#/made_label/${id}`,
      name,
      line: asked.batch ?? t("without a batch"),
      chip: !isFinished(found.report, found.answers) && chip(t("not finished"), "past"),
      right: prints.label > 0 ? plural(prints.label, "{n} printed", "{n} printed") : "",
      under: dayText(localDate(made_at)),
    }),
  ]);
  replaceKeepingFocus(slot(place, "made_cards"), ...cards);
}

/** Its size in words; "" where it has none. @param {Fields} label */
export function ownSize({ shape, diameter_mm, width_mm, height_mm }) {
  if (!(shape === "round" ? diameter_mm : width_mm && height_mm)) return "";
  return shape === "round" ? t("{mm} mm round", { mm: diameter_mm }) : sizeText({ width_mm, height_mm });
}
