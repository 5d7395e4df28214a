/** One record in its form; for vessels and recipes, what follows from it as she types. */
import { hers } from "../bench/hers.js";
import { sizeVessel, USUAL_MIX } from "../bench/sizing.js";
import { ValueError } from "../formulas/checks.js";
import { standing } from "../records/exchange.js";
import { askToKeep } from "../records/keeping.js";
import * as store from "../records/store.js";
import { copy, fact, h, showBewares, slot, tellBelow } from "./dom.js";
import { complain, drawForm, keepDraft, readForm } from "./form.js";
import { materials } from "./kept.js";
import { aboutRecipe, levels } from "./recipe.js";
import { aboutKind } from "./workshop.js";

/** Where each kind is gone back to. @type {Record<string, string>} */
const BACK = { recipe: "recipes", workshop: "workshop" };

/** @param {HTMLElement} place @param {string[]} path @param {any} context */
export async function show(place, [kind, idText], { units, go }) {
  const about = aboutKind(kind);
  if (about.one === undefined) {
    go("workshop");
    return;
  }
  const isNew = idText === "new";
  const id = isNew ? store.newId() : idText;
  const record = isNew ? undefined : await store.get(kind, id);
  place.append(copy("screen-edit"));
  const [kept, tools] = await Promise.all([materials(), otherKinds()]);
  const back = BACK[kind] ?? `list/${kind}`;
  slot(place, "back").href = `#/${back}`;
  slot(place, "back").textContent = BACK[kind] === "recipes" ? "Recipes" : kind === "workshop" ? "Workshop" : about.many;
  slot(place, "title").textContent = isNew ? `New ${about.one}` : ((kind !== "workshop" && record?.name) || about.many);
  const form = /** @type {HTMLFormElement} */ (slot(place, "form"));
  const others = (/** @type {string} */ other) => tools[other] ?? [];
  drawForm(form, kind, record ?? {}, units, others);
  const refusal = standing.refused.find((each) => each.kind === kind && each.id === id);
  for (const [name, lines] of Object.entries(refusal?.fields ?? {})) complain(form, name, lines[0]);
  const forget = keepDraft(form, `draft ${kind} ${idText}`, units, others);

  const preview = slot(place, "preview");
  const draw = () => {
    const { values } = readForm(form, units);
    if (kind === "vessel") previewVessel(preview, values, units);
    if (kind === "recipe") previewRecipe(preview, values, kept, units);
  };
  form.addEventListener("input", draw);
  form.addEventListener("change", draw);
  draw();

  const save = async () => {
    const { values, wrong } = readForm(form, units, true);
    if (wrong > 0 || (kind === "vessel" && !fits(form, values))) {
      const first = /** @type {HTMLElement | null} */ (form.querySelector('[aria-invalid="true"]'));
      const folded = first?.closest("details");
      if (folded) folded.open = true;
      first?.focus();
      if (first === null) form.querySelector("[data-error]:not([hidden])")?.scrollIntoView({ block: "center" });
      return;
    }
    try {
      await store.save(kind, id, kind === "workshop" ? { name: "workshop", ...values } : values);
    } catch (error) {
      if (!(error instanceof store.StoreError)) throw error;
      tellBelow(error.message);
      return;
    }
    forget(true);
    if (isNew) void askToKeep();
    if (kind === "recipe") go(`recipe/${id}`);
    else if (isNew && (await store.all("recipe")).length === 0) go("today");
    else go(back);
  };
  slot(place, "save").addEventListener("click", () => void save());
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    void save();
  });
  slot(place, "history").hidden = record === undefined;
  slot(place, "history").href = `#/history/${kind}/${id}`;
  const remove = slot(place, "remove");
  remove.hidden = isNew || kind === "workshop";
  remove.addEventListener("click", async () => {
    if (remove.dataset.sure !== "yes") {
      remove.dataset.sure = "yes";
      remove.textContent = `Delete this ${about.one}: sure?`;
      return;
    }
    try {
      await store.remove(kind, id);
    } catch (error) {
      if (!(error instanceof store.StoreError)) throw error;
      tellBelow(error.message);
      return;
    }
    forget(true);
    go(back);
  });
}

/** The records that a form may name. @returns {Promise<Record<string, any[]>>} */
async function otherKinds() {
  const kinds = ["vessel", "wax", "fragrance", "wick"];
  return Object.fromEntries(await Promise.all(kinds.map(async (kind) => [kind, await store.all(kind)])));
}

/** Whether the measures of a vessel go together; if not, says so beside the box to look at.
 * @param {HTMLElement} form @param {Record<string, any>} vessel */
function fits(form, vessel) {
  try {
    sizeVessel(vessel, USUAL_MIX);
  } catch (error) {
    if (!(error instanceof ValueError)) throw error;
    complain(form, vessel.method === "water" ? "brim_g" : "headspace_mm", error.message);
    return false;
  }
  return true;
}

/** @param {HTMLElement} place @param {Record<string, any>} vessel @param {ReturnType<typeof hers>} units */
function previewVessel(place, vessel, units) {
  try {
    const filled = sizeVessel(vessel, USUAL_MIX);
    const bewares = h("div");
    showBewares(bewares, filled.warnings.map((text) => ({ level: "warning", text })));
    place.replaceChildren(
      bewares,
      h("h2", {}, "It takes about"),
      h(
        "dl",
        { class: "facts" },
        fact("Wax", `**${units.text(filled.wax_g, "mass")}**`),
        fact("Fragrance at 8 %", `**${units.text(filled.fragrance_g, "mass", "fine")}**`),
        ...levels(filled, units),
      ),
      h("p", { class: "help" }, "With a usual wax. A recipe reckons with its own."),
    );
  } catch (error) {
    if (!(error instanceof ValueError)) throw error;
    place.replaceChildren(h("p", { class: "help" }, error.message));
  }
}

/** @param {HTMLElement} place @param {Record<string, any>} values @param {import("./kept.js").Materials} kept @param {ReturnType<typeof hers>} units */
function previewRecipe(place, values, kept, units) {
  if (typeof values.load !== "number") {
    place.replaceChildren();
    return;
  }
  try {
    const { facts, found } = aboutRecipe(values, kept, units);
    const bewares = h("div");
    showBewares(bewares, found);
    place.replaceChildren(bewares, h("dl", { class: "facts" }, ...facts));
  } catch (error) {
    if (!(error instanceof ValueError)) throw error;
    place.replaceChildren(h("p", { class: "help" }, error.message));
  }
}
