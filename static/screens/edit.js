/** One record in its form. */

import { phoneNow } from "../bench/clock.js";
import { materials } from "../bench/materials.js";
import { sizeVessel, USUAL_MIX } from "../bench/sizing.js";
import { syncStatus } from "../records/exchange.js";
import { NAMED, ONLY } from "../records/kinds.js";
import { plainRecord } from "../records/merge.js";
import { askToKeep } from "../records/persistence.js";
import * as store from "../records/store.js";
import { localDate } from "../words/dates.js";
import { InputError, message, plural, t, worded } from "../words/door.js";
import { addAttachments } from "./attachments.js";
import { cloneTemplate, h, showToast, slot } from "./dom.js";
import { beginComplaint, readBatch } from "./edit_complaint.js";
import { beginLabel } from "./edit_label.js";
import { beginLot, isTold } from "./edit_lot.js";
import { drawPreview } from "./edit_preview.js";
import { beginProduct } from "./edit_product.js";
import { beginSheet } from "./edit_sheet.js";
import { redrawChoices } from "./form.js";
import { drawRecord } from "./form_draft.js";
import { complain, readForm } from "./form_reading.js";
import { aboutKind } from "./kinds.js";
import { keepMade, takeMade } from "./made.js";
import { FIRSTS, missing } from "./onboarding.js";
import { deleteRecord } from "./page_parts.js";
import { ofKinds, tryToKeep } from "./screen.js";

/** What is mostly added to a record of these kinds. @type {Record<string, import("../attachments/attachments.js").What>} */
const PAPERS = { safety_sheet: "sheet", vessel: "vessel", wax: "certificate", fragrance: "certificate" };

/** @param {HTMLElement} place
 * @param {string[]} path kind and id, or 'new'; then kind and id of the form to go back to, if it was left for this one
 * @param {import("./screen.js").Context} context */
export async function show(place, [kind, idText, ...from], { units: given, go }) {
  const { one, many } = aboutKind(kind);
  if (one === undefined) {
    go("workshop");
    return;
  }
  const isNew = idText === "new";
  const id = isNew ? store.newId() : idText;
  place.append(cloneTemplate("screen-edit"));
  let [kept, named, stored, lacking, prices] = await Promise.all([
    materials(),
    namedRecords(),
    isNew ? undefined : store.getStored(kind, id),
    missing(),
    store.get("prices", "prices"),
  ]);
  const units = { ...given, currency: prices?.currency };
  const first = isNew && lacking !== null && from.length === 0 ? FIRSTS.findIndex(([each]) => each === kind) : -1;
  const [back, backText] = wayBack(kind, from, first >= 0);
  slot(place, "back").href = `#/${back}`;
  slot(place, "back").textContent = backText;
  if (first >= 0) sayStep(slot(place, "step"), first);
  const called = isOnly(kind) ? undefined : stored?.fields.name?.value;
  slot(place, "title").textContent = isNew ? t("New {kind}", { kind: one }) : (called ?? many);

  const form = /** @type {HTMLFormElement} */ (slot(place, "form"));
  const others = (/** @type {string} */ other) => named[other] ?? [];
  const draft = drawRecord(form, `typed ${kind} ${idText}`, { kind, stored, units, others });
  const refusal = syncStatus.refused.find((each) => each.kind === kind && each.id === id);
  for (const [name, lines] of Object.entries(refusal?.fields ?? {})) complain(form, name, lines[0]);
  if (kind === "lot") beginLot(form, from[0] === "material" ? from.slice(1).join() : "", others);
  if (kind === "safety_sheet") beginSheet(form, isNew ? from[2] : undefined, units, others);
  if (kind === "label" && isNew) beginLabel(form, from[0] === "labels" ? from[2] : undefined, units, others);
  if (kind === "product" && isNew) beginProduct(form, from[0] === "products" ? from[2] : undefined, units, others);
  if (kind === "complaint") await beginComplaint(form, isNew ? from : [], units, others);
  if (stored !== undefined && PAPERS[kind]) addAttachments(slot(place, "attachments"), kind, id, PAPERS[kind]);
  takeMade(form);
  const draw = () => drawPreview(slot(place, "preview"), form, kind, readForm(form, units).values, kept, units);
  form.addEventListener("input", draw);
  form.addEventListener("change", draw);
  draw();

  const save = async () => {
    const name = /** @type {HTMLInputElement | null} */ (form.elements.namedItem("name"));
    if (name?.placeholder && name.value.trim() === "") name.value = name.placeholder;
    const { values, wrong } = readForm(form, units, true);
    const isOver = kind === "wanted" && isPast(form, values, draft.typed());
    const batch = kind === "complaint" ? await readBatch(form, values) : {};
    if (wrong > 0 || isOver || batch === null || (kind === "vessel" && !fits(form, values))) {
      goToFirstWrong(form);
      return;
    }
    // Only what was typed: the other boxes may say by now what another device has changed since.
    const typed = Object.fromEntries(draft.typed().map((each) => [each, values[each]]));
    const changed = { ...(stored === undefined ? values : typed), ...batch };
    const whole = isOnly(kind) ? { name: kind, ...changed } : changed;
    if (!(await tryToKeep(() => store.save(kind, id, whole, { seen: draft.seen() })))) return;
    draft.forget();
    if (isNew) void askToKeep();
    const isMade = isNew && from.length > 0 && !STARTED_FROM.has(from[0]);
    if (isMade && kind !== "lot" && kind !== "label" && kind !== "complaint") keepMade(kind, id);
    if (kind === "recipe") go(`${first >= 0 ? "plan" : "recipe"}/${id}`);
    else if (kind === "label" || kind === "complaint" || (kind === "product" && !isMade)) go(`${kind}/${id}`);
    else if (kind === "lot" && isNew) go(`material/${values.material.join("/")}`);
    else go(first >= 0 ? `edit/${await missing()}/new` : back);
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    void save();
  });

  slot(place, "history").hidden = stored === undefined;
  slot(place, "history").href = `#/history/${kind}/${id}`;
  const remove = slot(place, "remove");
  remove.hidden = isNew || isOnly(kind) || (kind === "lot" && (await isTold(id)));
  remove.addEventListener("click", async () => {
    if (remove.dataset.sure !== "yes") {
      const recipes = (await store.living("recipe")).filter((recipe) => isMadeWith(recipe, id)).length;
      const needed = plural(recipes, "{n} recipe uses it.", "{n} recipes use it.");
      remove.dataset.sure = "yes";
      remove.textContent = [t("Really delete this {kind}?", { kind: one }), recipes > 0 && needed]
        .filter(Boolean)
        .join(" ");
      return;
    }
    if (!(await deleteRecord(kind, id))) return;
    draft.forget();
    showToast(t("Deleted. You find it under “What was deleted”, at the end of the list."));
    go(back);
  });

  const follow = store.oneAtATime(async () => {
    [kept, named] = await Promise.all([materials(), namedRecords()]);
    redrawChoices(form, others);
    const now = await store.getStored(kind, id);
    if (now) {
      stored = now;
      draft.follow(now);
      slot(place, "gone").hidden = !plainRecord(now).deleted;
    }
    draw();
  });
  const isNamed = ofKinds(...NAMED);
  return store.onChange((changes) => {
    if (changes.some((change) => change.id === id || isNamed(change))) follow();
  });
}

/** The records that a form may name. @returns {Promise<Record<string, import("../records/merge.js").Plain[]>>} */
async function namedRecords() {
  return Object.fromEntries(await Promise.all(NAMED.map(async (kind) => [kind, await store.all(kind)])));
}

/** @param {store.Plain} recipe @param {string} id of what it may be made with */
function isMadeWith({ vessel, wick, waxes, oils, additives }, id) {
  const rows = [waxes, oils, additives].flatMap((each) => each ?? []);
  return [vessel, wick, ...rows.flatMap(Object.values)].includes(id);
}

/** There is one of these, and she does not name it. @param {string} kind */
const isOnly = (kind) => ONLY.includes(kind);

/** Where a kind without a list of its own is shown. @type {Record<string, [string, import("../words/door.js").Message]>} */
const ROOMS = {
  recipe: ["recipes", message("Recipes")],
  workshop: ["workshop", message("Workshop")],
  prices: ["shelf", message("The shelf")],
  label: ["labels", message("Labels")],
  label_stock: ["labels", message("Labels")],
  maker: ["labels", message("Labels")],
  lot: ["shelf", message("The shelf")],
  wanted: ["wanted", message("Wanted")],
  product: ["products", message("Products")],
  complaint: ["complaints", message("Complaints and accidents")],
};

/** Lists from which a new one is begun, and which are no form. */
const STARTED_FROM = new Set(["labels", "products"]);

/** Where it is gone back to, and what that is called. @param {string} kind @param {string[]} from @param {boolean} first */
function wayBack(kind, from, first) {
  const { many = "" } = aboutKind(kind);
  const isBegun = kind === "lot" || kind === "complaint" || STARTED_FROM.has(from[0]);
  if (isBegun && from.length > 0) return [from.join("/"), t("Back")];
  if (kind === "safety_sheet" && from[0] === "product") return [from.slice(0, 2).join("/"), t("Back to the product")];
  if (from[0] === "hazard") return [from.slice(0, 2).join("/"), t("Back to the hazard class")];
  if (from[0] === "new_test") return [from.join("/"), t("Back to the burn test")];
  if (from.length > 0) {
    const { one } = aboutKind(from[0]);
    return [`edit/${from.join("/")}`, one ? t("Back to the {kind}", { kind: one }) : t("Back to the form")];
  }
  if (first) return ["today", t("Today")];
  const [room, name] = ROOMS[kind] ?? [];
  return room && name ? [room, worded(name)] : [`list/${kind}`, many];
}

/** How far a first pour is. @param {HTMLElement} place @param {number} first */
function sayStep(place, first) {
  place.append(t("Step {step} of {steps} to your first pour.", { step: first + 1, steps: FIRSTS.length }), " ");
  if (FIRSTS[first][0] === "fragrance")
    place.append(h("a", { href: "#/edit/recipe/new" }, t("No scent: go to the recipe")));
  place.hidden = false;
}

/** Whether the measures of a vessel go together; if not, says so beside the box to look at.
 * @param {HTMLElement} form @param {import("./form_fields.js").Fields} vessel */
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

/** The days of what is wanted that can't be over, when she types them. */
const TO_COME = ["by", "pour_on"];

/** Whether a day is over that is still to come; if so, says so beside the box.
 * @param {HTMLElement} form @param {import("./form_fields.js").Fields} values @param {string[]} typed */
function isPast(form, values, typed) {
  const today = localDate(phoneNow());
  const over = TO_COME.filter((name) => typed.includes(name) && values[name] && values[name] < today);
  for (const name of over) complain(form, name, t("That day is over: choose one that is still to come."));
  return over.length > 0;
}

/** @param {HTMLFormElement} form */
export function goToFirstWrong(form) {
  const first = /** @type {HTMLElement | null} */ (form.querySelector('[aria-invalid="true"]'));
  const folded = first?.closest("details");
  if (folded) folded.open = true;
  first?.focus();
  if (first === null) form.querySelector("[data-error]:not([hidden])")?.scrollIntoView({ block: "center" });
}
