/**
 * At a plan: which lots it is to come from, whether they are enough, and how many what is there makes. The plan keeps
 * a place for it, `<bench-lots>`, tells it the sheet, and asks it at the start what to pin.
 */

import { phoneNow } from "../bench/clock.js";
import { displayUnits } from "../bench/display_units.js";
import * as store from "../records/store.js";
import { chooseLots, howMany, namesOn, needsOf, pinsOf } from "../shelf/choose.js";
import { isPieces, MATERIALS } from "../shelf/lots.js";
import { readShelf } from "../shelf/stock.js";
import { keyOf } from "../shelf/uses.js";
import { localDate } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { askWhy } from "./ask_in_box.js";
import { h, replaceKeepingFocus, showCautions } from "./dom.js";
import { takeGiven } from "./given.js";
import { ofKinds } from "./screen.js";
import { amountText, lotCautions, lotText } from "./shelf_words.js";

/** @typedef {import("../shelf/choose.js").Choice} Choice */
/** @typedef {import("../shelf/stock.js").Shelf} Shelf */
/** @typedef {{sheet: import("../bench/sheet.js").Sheet | null, recipe: Record<string, any>}} Planned */

export class PlanLots extends HTMLElement {
  /** @type {Planned | null} */
  #planned = null;
  /** @type {Shelf | null} */
  #shelf = null;
  /** What she chose, by material @type {Map<string, string>} */
  #chosen = new Map();
  #units = displayUnits({});
  /** @type {() => void} */
  #leave = () => undefined;
  /** What a pour of this plan pins; undefined where nothing is on the shelf. @type {import("../shelf/uses.js").Pinned[] | undefined} */
  pinned;

  async connectedCallback() {
    takeGiven(this, "planned");
    const read = async () => {
      this.#units = displayUnits((await store.get("workshop", "workshop")) ?? {});
      this.#shelf = await readShelf(localDate(phoneNow()));
      this.#draw();
    };
    const again = store.oneAtATime(read);
    const concerns = ofKinds("lot", "pour", "recipe", ...MATERIALS);
    this.#leave = store.onChange((changes) => {
      if (changes.some(concerns)) again();
    });
    await read();
  }

  disconnectedCallback() {
    this.#leave();
  }

  /** @param {Planned} planned */
  set planned(planned) {
    this.#planned = planned;
    this.#draw();
  }

  get planned() {
    return /** @type {Planned} */ (this.#planned);
  }

  #draw() {
    const { sheet, recipe } = this.#planned ?? {};
    const shelf = this.#shelf;
    if (!shelf || !sheet || !recipe || shelf.lots.size === 0) {
      this.pinned = undefined;
      this.replaceChildren();
      return;
    }
    const needs = needsOf(sheet, recipe, namesOn(shelf));
    const choices = chooseLots(needs, shelf, this.#chosen);
    this.pinned = pinsOf(needs, choices);
    if (choices.length === 0) {
      this.replaceChildren();
      return;
    }
    const reach = howMany(choices, shelf, sheet.count);
    const cautions = choices.flatMap(({ pinned }) =>
      pinned.lots.flatMap(({ id }) =>
        lotCautions(/** @type {import("../shelf/stock.js").Lot} */ (shelf.lots.get(id)), shelf.today),
      ),
    );
    replaceKeepingFocus(
      this,
      h("h2", {}, t("From the shelf")),
      showCautions(h("div"), cautions),
      h("ul", { class: "drawn" }, ...choices.map((choice) => this.#line(choice, shelf))),
      ...(reach ? [h("p", { class: "reach" }, reachText(reach))] : []),
    );
  }

  /** @param {Choice} choice @param {Shelf} shelf */
  #line(choice, shelf) {
    const { need, lots, pinned, missing } = choice;
    const pieces = isPieces(need.kind);
    const text = (/** @type {number} */ amount) => amountText(amount, pieces, this.#units);
    const select = /** @type {HTMLSelectElement} */ (
      h(
        "select",
        { "data-key": keyOf(need), "aria-label": t("{name} comes from", { name: need.name }) },
        ...lots.map((lot) => h("option", { value: lot.id }, lotText(lot, pieces, this.#units, shelf.today))),
      )
    );
    if (pinned.lots.length === 0) select.prepend(h("option", { value: "" }, t("choose")));
    select.value = pinned.lots[0]?.id ?? "";
    select.addEventListener("change", () => void this.#choose(need, select.value));
    const then = pinned.lots
      .slice(1)
      .map(({ name, amount }) => t("then {amount} of {lot}", { amount: text(amount), lot: name }));
    const short = missing > 0 && t("{amount} are missing.", { amount: text(missing) });
    return h(
      "li",
      { class: missing > 0 ? "field short" : "field" },
      h("b", {}, need.name),
      " ",
      h("span", {}, text(need.amount)),
      lots.length > 0 ? select : h("span", { class: "none" }, t("none is here")),
      then.length > 0 && h("span", { class: "then" }, then.join(", ")),
      short && h("strong", {}, short),
    );
  }

  /** One that was withdrawn is not chosen without saying why. @param {import("../shelf/choose.js").Need} need @param {string} id */
  async #choose(need, id) {
    const lot = this.#shelf?.lots.get(id);
    if (lot?.state.withdrawn !== null && lot !== undefined) {
      const why = await askWhy(
        t("{lot} was withdrawn: {why}. Why do you use it all the same?", { lot: lot.name, why: lot.state.withdrawn }),
      );
      if (why === null) {
        this.#draw();
        return;
      }
      await store.append("lot", id, { type: "used_all_the_same", why });
    }
    this.#chosen.set(keyOf(need), id);
    this.#draw();
  }
}

/** Such as 'What is here makes 7. The Dune runs out first.' @param {{count: number, first: {name: string}}} reach */
function reachText({ count, first }) {
  return plural(
    count,
    "What is here makes {n}. {material} runs out first.",
    "What is here makes {n}. {material} runs out first.",
    { material: first.name },
  );
}
