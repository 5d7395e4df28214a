/**
 * What is typed and not yet saved: kept while she is away from the form, also over a reload.
 *
 * A record's form knows of each field which version it showed. A field that still says what was shown
 * follows the record; one that was typed in keeps what is typed, and says beside it what the record
 * holds now. So a save can write what was typed alone, and name what it was typed over.
 */

import { isSame, plainRecord } from "../records/merge.js";
import { t } from "../words/door.js";
import { boxesOf } from "./boxes.js";
import { h } from "./dom.js";
import { keepOrForget, setText, textOf } from "./draft.js";
import { chooseOnly, drawForm, fillField, setRowCount, showWhen } from "./form.js";
import { fieldName, ownField, ownFields, rowsOf } from "./form_fields.js";
import { readForm } from "./form_reading.js";
import { fieldInWords } from "./form_words.js";

/** @typedef {import("./boxes.js").Box} Box */
/** @typedef {import("../records/merge.js").Stored} Stored */
/** @typedef {import("../records/merge.js").Version} Version */
/** @typedef {string[][]} Texts what stands in a field's boxes, row by row; a field that is no rows has one */
/** @typedef {{version: Version | null, texts: Texts, hidden: boolean}} Shown a field as it was drawn */
/** @typedef {Record<string, {version: Version | null, texts: Texts}>} Kept what is typed, and over which version */
/**
 * @typedef {object} RecordDraft
 * @property {() => string[]} typed the fields that say something else than what was shown
 * @property {() => import("../records/merge.js").Seen} seen of each field the version that was shown
 * @property {(stored: Stored) => void} follow show what the record holds now
 * @property {() => void} forget it is saved, or thrown away
 */

/**
 * Draw the form of a record, put back what was typed when she was here before, and keep it from now on.
 * @param {HTMLElement} form @param {string} key where it is kept
 * @param {{kind: string, stored: Stored | undefined, units: import("./form_fields.js").DisplayUnits,
 *   others: import("./form.js").Others}} about
 * @returns {RecordDraft}
 */
export function drawRecord(form, key, { kind, stored, units, others }) {
  /** @type {Kept} */
  const kept = JSON.parse(sessionStorage.getItem(key) ?? "{}");
  /** @type {Map<string, Version | null>} */
  const versions = new Map(Object.entries(stored?.fields ?? {}));
  for (const [name, { version }] of Object.entries(kept)) versions.set(name, version);
  const fields = Object.fromEntries([...versions].flatMap(([name, version]) => (version ? [[name, version]] : [])));
  drawForm(form, kind, plainRecord({ kind, id: "", fields }), units, others);

  /** @type {Map<string, Shown>} */
  const shown = new Map();
  for (const field of ownFields(form)) {
    const name = fieldName(field);
    shown.set(name, { version: versions.get(name) ?? null, texts: textsOf(field), hidden: isHidden(field) });
  }
  const shownOf = (/** @type {HTMLElement} */ field) => /** @type {Shown} */ (shown.get(fieldName(field)));
  const hasOtherText = (/** @type {HTMLElement} */ field) => !isSame(textsOf(field), shownOf(field).texts);
  const isTyped = (/** @type {HTMLElement} */ field) =>
    hasOtherText(field) || isHidden(field) !== shownOf(field).hidden;

  for (const [name, { texts }] of Object.entries(kept)) {
    const field = ownField(form, name);
    if (!field) continue;
    if (field.dataset.as === "rows") setRowCount(field, texts.length, units, others);
    partsOf(field).forEach((part, row) =>
      boxesOf(part).forEach((box, index) => {
        setText(box, texts[row]?.[index]);
      }),
    );
  }
  chooseOnly(form);
  showWhen(form);

  let over = false;
  const keep = () => {
    // A box that is taken off the page with the cursor in it still says that it changed.
    if (over) return;
    const typed = ownFields(form)
      .filter(hasOtherText)
      .map((field) => [fieldName(field), { texts: textsOf(field), version: shownOf(field).version }]);
    keepOrForget(key, Object.fromEntries(typed));
  };
  form.addEventListener("input", keep);
  form.addEventListener("change", keep);

  /** Let fields show something else. @param {HTMLElement[]} typed what is typed in these stays so @param {() => void} act */
  function redraw(typed, act) {
    act();
    showWhen(form);
    for (const field of ownFields(form)) {
      if (!typed.includes(field)) Object.assign(shownOf(field), { texts: textsOf(field), hidden: isHidden(field) });
    }
    keep();
  }

  /** @param {HTMLElement} field @param {Version} version */
  function fill(field, version) {
    fillField(field, version.value, units, others);
    shownOf(field).version = version;
    field.querySelector("[data-elsewhere]")?.remove();
  }

  /** Say beside a field what the record holds now; a touch takes it. @param {HTMLElement} field @param {Version} version */
  function tellElsewhere(field, version) {
    const named = (/** @type {string} */ other, /** @type {string} */ id) =>
      others(other).find((each) => each.id === id)?.name;
    const { text } = fieldInWords(kind, fieldName(field), version.value, units, named);
    const take = () => {
      const typed = ownFields(form).filter((each) => each !== field && isTyped(each));
      redraw(typed, () => fill(field, version));
      field.dispatchEvent(new Event("change", { bubbles: true }));
      boxesOf(field)[0]?.focus({ preventScroll: true });
    };
    field.querySelector("[data-elsewhere]")?.remove();
    field.append(
      h(
        "p",
        { class: "elsewhere", role: "status", "data-elsewhere": true },
        h("span", {}, t("This was changed elsewhere. It is now: {value}", { value: text })),
        h("button", { type: "button", class: "quiet small", onclick: take }, t("Use it")),
      ),
    );
  }

  /** @param {Stored} now */
  function follow(now) {
    const { values } = readForm(form, units);
    const typed = ownFields(form).filter((field) => isTyped(field) || field.contains(document.activeElement));
    const agreed = typed.filter((field) => {
      const [name, version] = [fieldName(field), now.fields[fieldName(field)]];
      return version !== undefined && isSame(version.value, values[name]);
    });
    redraw(
      typed.filter((field) => !agreed.includes(field)),
      () => {
        for (const field of ownFields(form)) {
          const before = shownOf(field).version;
          const version = now.fields[fieldName(field)];
          if (version === undefined || version.stamp === before?.stamp) continue;
          if (agreed.includes(field) || isSame(version.value, before?.value)) {
            shownOf(field).version = version;
            field.querySelector("[data-elsewhere]")?.remove();
          } else if (typed.includes(field)) tellElsewhere(field, version);
          else fill(field, version);
        }
      },
    );
  }
  if (stored) follow(stored);

  return {
    typed: () => ownFields(form).filter(isTyped).map(fieldName),
    seen: () => ({
      fields: Object.fromEntries([...shown].flatMap(([name, { version }]) => (version ? [[name, version]] : []))),
    }),
    follow,
    forget() {
      over = true;
      sessionStorage.removeItem(key);
    },
  };
}

/** @param {HTMLElement} field */
const partsOf = (field) => (field.dataset.as === "rows" ? rowsOf(field) : [field]);

/** @param {HTMLElement} field @returns {Texts} */
const textsOf = (field) => partsOf(field).map((part) => boxesOf(part).map(textOf));

/** @param {HTMLElement} field */
const isHidden = (field) => field.hidden === true;
