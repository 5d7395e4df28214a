/** The whole shelf counted in one go: what she leaves empty stays as it is. */
import { now, phoneNow } from "../bench/clock.js";
import * as store from "../records/store.js";
import { MATERIALS } from "../shelf/lots.js";
import { readShelf } from "../shelf/stock.js";
import { localDate } from "../words/dates.js";
import { InputError, plural, t } from "../words/door.js";
import { sayBeside } from "./boxes.js";
import { cloneTemplate, h, showToast, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { aboutKind } from "./kinds.js";
import { tryToKeep } from "./screen.js";
import { readAmount } from "./shelf_amount.js";
import { amountText } from "./shelf_words.js";

/** @param {HTMLElement} place @param {string[]} _path @param {import("./screen.js").Context} context */
export async function show(place, _path, { units, go }) {
  place.append(cloneTemplate("screen-stocktake"));
  const form = /** @type {HTMLFormElement} */ (slot(place, "form"));
  const { materials } = await readShelf(localDate(phoneNow()));
  /** @type {{id: string, pieces: boolean, box: HTMLInputElement, error: HTMLElement}[]} */
  const rows = [];
  for (const kind of MATERIALS) {
    const there = [...materials.values()].filter(
      (each) => each.kind === kind && each.lots.some(({ is_open }) => is_open),
    );
    if (there.length > 0) form.append(h("h2", { class: "group" }, aboutKind(kind).many));
    for (const { name, pieces, lots } of there) {
      for (const lot of lots.filter(({ is_open }) => is_open)) {
        const error = h("p", { class: "error", id: `count-${lot.id}`, hidden: true });
        const box = /** @type {HTMLInputElement} */ (
          h("input", { type: "text", autocomplete: "off", "aria-describedby": error.id, name: lot.id })
        );
        const expected = t("{lot}: {amount} expected", {
          lot: lot.name,
          amount: amountText(lot.state.here, pieces, units),
        });
        form.append(
          h(
            "div",
            { class: "field" },
            h("label", {}, h("span", { class: "name" }, name), h("span", { class: "help" }, expected), box),
            error,
          ),
        );
        rows.push({ id: lot.id, pieces, box, error });
      }
    }
  }
  const forget = keepDraft(form, "draft stocktake");
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const counted = rows.flatMap(({ id, pieces, box, error }) => {
      const { amount, problem } = readOr(box.value, pieces, units);
      sayBeside(box, error, problem);
      return amount === null ? [] : [{ id, amount }];
    });
    const wrong = rows.find(({ error }) => !error.hidden);
    if (wrong) {
      wrong.box.focus();
      return;
    }
    const keepAll = async () => {
      const at = now();
      for (const { id, amount } of counted) await store.append("lot", id, { type: "counted", amount, at });
    };
    if (!(await tryToKeep(keepAll))) return;
    forget();
    showToast(plural(counted.length, "{n} count is saved.", "{n} counts are saved."));
    go("shelf");
  });
}

/** @param {string} text @param {boolean} pieces @param {import("../bench/display_units.js").DisplayUnits} units
 * @returns {{amount: number | null, problem: string}} */
function readOr(text, pieces, units) {
  if (text.trim() === "") return { amount: null, problem: "" };
  try {
    return { amount: readAmount(text, pieces, units), problem: "" };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { amount: null, problem: error.message };
  }
}
