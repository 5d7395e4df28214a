/** One question about a product: what she answers, and what is kept that may show it. */
import { answerOf } from "../products/parts.js";
import { filled, standing } from "../records/merge.js";
import * as store from "../records/store.js";
import { localDate } from "../words/dates.js";
import { t } from "../words/door.js";
import { wholeDayText } from "../words/whole_days.js";
import { boxOf } from "./boxes.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, slot } from "./dom.js";
import { goToFirstWrong } from "./edit.js";
import { drawRecord } from "./form_draft.js";
import { ownField } from "./form_fields.js";
import { readForm } from "./form_reading.js";
import { foundInShort } from "./hazard_found.js";
import { questions, readProduct } from "./product_sources.js";
import { dayOrNone } from "./product_words.js";
import { tryToKeep } from "./screen.js";

/** @typedef {import("./product_sources.js").Sources} Sources */
/** @typedef {{text: string, href: string}} Evidence */

/** @param {HTMLElement} place @param {string[]} path the product's id, and the question's key
 * @param {import("./screen.js").Context} context */
export async function show(place, [id, key], { units, go }) {
  const all = questions();
  const at = all.findIndex((each) => each.key === key);
  const kept = await store.getStored("product", id);
  if (kept === undefined || at < 0) {
    go(kept === undefined ? "products" : `product/${id}`);
    return;
  }
  const { field, asks, shown_by } = all[at];
  place.append(cloneTemplate("screen-risk"));
  const back = slot(place, "back");
  [back.href, back.textContent] = [`#/product/${id}`, t("The product")];
  setText(slot(place, "asks"), asks);
  setText(slot(place, "step"), t("Question {n} of {all}", { n: at + 1, all: all.length }));
  slot(place, "next").href = `#/risk/${id}/${all[(at + 1) % all.length].key}`;

  const form = /** @type {HTMLFormElement} */ (slot(place, "form"));
  const answerIn = (/** @type {store.Stored} */ record) => asRecord(id, record, field);
  const draft = drawRecord(form, `typed risk ${id} ${key}`, {
    ...{ kind: "risk", stored: answerIn(kept), units, others: () => [] },
  });
  let shown = kept;

  const save = async () => {
    const { values, wrong } = readForm(form, units, true);
    if (wrong > 0) {
      goToFirstWrong(form);
      return;
    }
    const seen = { fields: Object.hasOwn(shown.fields, field) ? { [field]: shown.fields[field] } : {} };
    if (!(await tryToKeep(() => store.save("product", id, { [field]: filled(values) }, { seen })))) return;
    draft.forget();
    go(nextOf(all, at, (await store.get("product", id)) ?? {}, id));
  };
  slot(place, "save").addEventListener("click", save);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    void save();
  });

  const draw = store.oneAtATime(async () => {
    const [fresh, sources] = await Promise.all([store.getStored("product", id), readProduct(id)]);
    if (fresh && fresh.fields[field]?.stamp !== shown.fields[field]?.stamp) {
      shown = fresh;
      const answer = answerIn(fresh);
      if (answer) draft.follow(answer);
    }
    const found = sources ? shown_by.flatMap((what) => evidenceOf(what, sources)) : [];
    slot(place, "evidence").hidden = found.length === 0;
    replaceKeepingFocus(slot(place, "shown"), ...found.map((each) => evidenceLine(each, form)));
  });
  draw();
  return store.onChange(() => draw());
}

/** Where she goes on: at the next question that is open, or back at the product. @param {import("./product_sources.js").Question[]} all
 * @param {number} at @param {Record<string, any>} product @param {string} id */
function nextOf(all, at, product, id) {
  const next = [...all.slice(at + 1), ...all.slice(0, at)].find(({ field }) => answerOf(product[field]) === "open");
  return next ? `risk/${id}/${next.key}` : `product/${id}`;
}

/** An answer as if it were a record, all of whose fields were written with it. @param {string} id @param {store.Stored} product
 * @param {string} field @returns {store.Stored | undefined} */
function asRecord(id, { fields }, field) {
  if (!Object.hasOwn(fields, field)) return undefined;
  const { value, stamp } = standing(fields, field);
  if (value === null || typeof value !== "object") return undefined;
  const told = Object.entries(value).map(([name, each]) => [name, { value: each, stamp }]);
  return { kind: "risk", id, fields: Object.fromEntries(told) };
}

/** What is kept that may show what was done; whether it does is hers to see. @param {string} what @param {Sources} sources
 * @returns {Evidence[]} */
function evidenceOf(what, { recipe, tests, tested, hazard, materials, made }) {
  const on = (/** @type {number} */ at_ms) => wholeDayText(localDate(at_ms));
  switch (what) {
    case "burn_test":
      return tests.map(({ id, sheet, record }) => {
        const values = { name: sheet.title, day: on(record.started_at) };
        const text = t("Burn test {name} of {day}", values);
        const told = tested?.test === id ? tested.text.replaceAll("**", "") : "";
        return { text: told ? `${text}. ${told}` : text, href: `#/test/${id}` };
      });
    case "finding":
      return hazard
        ? [
            {
              text: t("Hazard class of {day}: {said}", { day: on(hazard.made_at), said: foundInShort(hazard.found) }),
              href: `#/hazard/${recipe?.id ?? ""}`,
            },
          ]
        : [];
    case "sheet":
      return materials.flatMap(({ sheets }) =>
        sheets.map(({ id, name, dated }) => ({
          text: dated
            ? t("Safety data sheet {name} of {day}", { name, day: dayOrNone(dated) })
            : t("Safety data sheet {name}", { name }),
          href: `#/edit/safety_sheet/${id}`,
        })),
      );
    case "label":
      return made.slice(0, 1).map(({ id, made_at, name }) => ({
        text: t("Label {name} of {day}", { name, day: on(made_at) }),
        href: `#/made_label/${id}`,
      }));
    default:
      return [];
  }
}

/** @param {Evidence} evidence @param {HTMLElement} form */
function evidenceLine({ text, href }, form) {
  const name = () => {
    const box = boxOf(/** @type {HTMLElement} */ (ownField(form, "shows")));
    box.value = [box.value.trim(), text].filter(Boolean).join("\n");
    box.dispatchEvent(new Event("input", { bubbles: true }));
  };
  return h(
    "li",
    {},
    h("a", { href }, text),
    " ",
    h(
      "button",
      { type: "button", class: "quiet small", "data-key": `name ${href}`, onclick: name },
      t("Name it above"),
    ),
  );
}
