/** One record in its form; for vessels and recipes, what follows from it as she types. */
import { displayUnits } from "../bench/display_units.js";
import { materials } from "../bench/materials.js";
import { sizeVessel, USUAL_MIX } from "../bench/sizing.js";
import { syncStatus } from "../records/exchange.js";
import { askToKeep } from "../records/persistence.js";
import * as store from "../records/store.js";
import { InputError } from "../words/door.js";
import { cloneTemplate, fact, h, showCautions, showToast, slot } from "./dom.js";
import { chooseMade, complain, drawForm, keepDraft, readForm } from "./form.js";
import { FIRSTS, missing } from "./onboarding.js";
import { aboutRecipe, levels } from "./recipe.js";
import { aboutKind } from "./workshop.js";

/** What was made on the way from another form, to be chosen there. @type {{kind: string, id: string} | null} */
let made = null;

/** @param {HTMLElement} place
 * @param {string[]} path kind and id, or 'new'; then kind and id of the form to go back to, if it was left for this one
 * @param {any} context */
export async function show(place, [kind, idText, ...from], { units, go }) {
  const about = aboutKind(kind);
  if (about.one === undefined) {
    go("workshop");
    return;
  }
  const isNew = idText === "new";
  const id = isNew ? store.newId() : idText;
  const record = isNew ? undefined : await store.get(kind, id);
  place.append(cloneTemplate("screen-edit"));
  const [kept, tools, lacking] = await Promise.all([materials(), otherKinds(), missing()]);
  const first = isNew && lacking !== null && from.length === 0 ? FIRSTS.findIndex(([each]) => each === kind) : -1;
  const [back, backText] = wayBack(kind, from, first >= 0);
  slot(place, "back").href = `#/${back}`;
  slot(place, "back").textContent = backText;
  if (first >= 0) sayStep(slot(place, "step"), first);
  slot(place, "title").textContent = isNew ? `New ${about.one}` : (kind !== "workshop" && record?.name) || about.many;
  const form = /** @type {HTMLFormElement} */ (slot(place, "form"));
  const others = (/** @type {string} */ other) => tools[other] ?? [];
  drawForm(form, kind, record ?? {}, units, others);
  const refusal = syncStatus.refused.find((each) => each.kind === kind && each.id === id);
  for (const [name, lines] of Object.entries(refusal?.fields ?? {})) complain(form, name, lines[0]);
  const forget = keepDraft(form, `draft ${kind} ${idText}`, units, others);
  if (made !== null) {
    chooseMade(form, made.kind, made.id);
    made = null;
  }

  const preview = slot(place, "preview");
  const name = /** @type {HTMLInputElement} */ (form.elements.namedItem("name"));
  const draw = () => {
    const { values } = readForm(form, units);
    if (kind === "vessel") previewVessel(preview, values, units);
    if (kind === "recipe") {
      name.placeholder = usualName(values, kept);
      previewRecipe(preview, values, kept, units);
    }
  };
  form.addEventListener("input", draw);
  form.addEventListener("change", draw);
  draw();

  const save = async () => {
    if (kind === "recipe" && name.value.trim() === "") name.value = name.placeholder;
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
      showToast(error.message);
      return;
    }
    forget(true);
    if (isNew) void askToKeep();
    if (from.length > 0 && isNew) made = { kind, id };
    if (kind === "recipe") go(`${first >= 0 ? "plan" : "recipe"}/${id}`);
    else go(first >= 0 ? `edit/${await missing()}/new` : back);
  };
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
      showToast(error.message);
      return;
    }
    forget(true);
    go(back);
  });
}

/** Where it is gone back to, and what that is called. @param {string} kind @param {string[]} from @param {boolean} first */
function wayBack(kind, from, first) {
  const about = aboutKind(kind);
  if (from.length > 0) return [`edit/${from.join("/")}`, `Back to the ${aboutKind(from[0]).one ?? "form"}`];
  if (first) return ["today", "Today"];
  return kind === "recipe"
    ? ["recipes", "Recipes"]
    : kind === "workshop"
      ? ["workshop", "Workshop"]
      : [`list/${kind}`, about.many ?? ""];
}

/** How far a first pour is. @param {HTMLElement} place @param {number} first */
function sayStep(place, first) {
  place.append(`${first + 1} of ${FIRSTS.length} to your first pour. `);
  if (FIRSTS[first][0] === "fragrance")
    place.append(h("a", { href: "#/edit/recipe/new" }, "No scent: on to the recipe"));
  place.hidden = false;
}

/** What a recipe is called that is given no name. @param {Record<string, any>} values @param {import("../bench/mixing.js").Materials} kept */
function usualName({ vessel, waxes, oils }, kept) {
  const what = kept.oils.get(oils?.[0]?.fragrance) ?? kept.waxes.get(waxes?.[0]?.wax);
  const where = kept.vessels.get(vessel);
  return what && where ? `${what.name} in ${where.name}`.slice(0, 80) : "";
}

/** The records that a form may name. @returns {Promise<Record<string, any[]>>} */
async function otherKinds() {
  const kinds = ["vessel", "wax", "fragrance", "wick", "additive"];
  return Object.fromEntries(await Promise.all(kinds.map(async (kind) => [kind, await store.all(kind)])));
}

/** Whether the measures of a vessel go together; if not, says so beside the box to look at.
 * @param {HTMLElement} form @param {Record<string, any>} vessel */
function fits(form, vessel) {
  try {
    sizeVessel(vessel, USUAL_MIX);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    complain(form, vessel.method === "water" ? "brim_g" : "headspace_mm", error.message);
    return false;
  }
  return true;
}

/** @param {HTMLElement} place @param {Record<string, any>} vessel @param {ReturnType<typeof displayUnits>} units */
function previewVessel(place, vessel, units) {
  try {
    const filled = sizeVessel(vessel, USUAL_MIX);
    const cautionsFor = h("div");
    showCautions(
      cautionsFor,
      filled.warnings.map((text) => ({ level: "warning", text })),
    );
    place.replaceChildren(
      cautionsFor,
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
    if (!(error instanceof InputError)) throw error;
    place.replaceChildren(h("p", { class: "help" }, error.message));
  }
}

/** @param {HTMLElement} place @param {Record<string, any>} values @param {import("../bench/mixing.js").Materials} kept @param {ReturnType<typeof displayUnits>} units */
function previewRecipe(place, values, kept, units) {
  const waxes = values.waxes ?? [];
  if (typeof values.load !== "number" || !waxes.some((/** @type {any} */ { wax }) => kept.waxes.has(wax))) {
    place.replaceChildren();
    return;
  }
  try {
    const { facts, found } = aboutRecipe(values, kept, units);
    const cautionsFor = h("div");
    showCautions(cautionsFor, found);
    place.replaceChildren(cautionsFor, h("dl", { class: "facts" }, ...facts));
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    place.replaceChildren(h("p", { class: "help" }, error.message));
  }
}
