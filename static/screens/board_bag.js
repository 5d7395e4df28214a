/**
 * At the board, while she weighs: which lot it comes from, what is left of it, and one touch when the bag is empty:
 * the reading is asked for, and the weighing goes on with the next lot. The board keeps a place for it, `<bench-bag>`.
 */
import { now, phoneNow } from "../bench/clock.js";
import { addEvent } from "../bench/pours.js";
import { nextFragrance } from "../bench/temperature_prompt.js";
import * as store from "../records/store.js";
import { chooseLots, namesOn, needsOf, pinsOf } from "../shelf/choose.js";
import { readShelf } from "../shelf/stock.js";
import { currentLot, keyOf, materialsOf, pinnedOf, usesOf } from "../shelf/uses.js";
import { localDate } from "../words/dates.js";
import { t } from "../words/door.js";
import { h, replaceKeepingFocus, showToast } from "./dom.js";
import { takeGiven } from "./given.js";
import { askReading } from "./pad.js";
import { tryToKeep } from "./screen.js";
import { amountText, lotCautions } from "./shelf_words.js";

/** @typedef {import("../bench/board_state.js").BoardState} BoardState */
/** @typedef {import("../bench/fold.js").Weighing} Weighing */
/** @typedef {import("../shelf/stock.js").Lot} Lot */
/** @typedef {import("../shelf/stock.js").Shelf} Shelf */

export class BoardBag extends HTMLElement {
  /** @type {BoardState | null} */
  #at = null;
  /** @type {Shelf | null} */
  #shelf = null;
  /** What was drawn, and of what. */
  #shown = "";
  #of = "";
  #leave = () => {};
  #again = store.oneAtATime(async () => {
    this.#shelf = await readShelf(localDate(phoneNow()));
    await this.#pinLate(this.#shelf);
    this.#of = "";
    this.#draw();
  });

  connectedCallback() {
    takeGiven(this, "at");
    this.#leave = store.onChange((changes) => {
      if (changes.some(({ kind }) => kind === "lot")) this.#again();
    });
    this.#again();
  }

  disconnectedCallback() {
    this.#leave();
  }

  /** The board says so at each tick. @param {BoardState} at */
  set at(at) {
    this.#at = at;
    this.#draw();
  }

  get at() {
    return /** @type {BoardState} */ (this.#at);
  }

  /** A pour that was started before the shelf was read takes what the plan would have shown first. @param {Shelf} shelf */
  async #pinLate(shelf) {
    const pour = this.#at?.pour;
    const isBegun = pour?.state.jugs.some(({ reads }) => reads.size > 0);
    if (pour === undefined || isBegun || shelf.lots.size === 0 || "lots" in pour.record) return;
    const recipe = (await store.get("recipe", pour.sheet.recipe)) ?? {};
    const needs = needsOf(pour.sheet, recipe, namesOn(shelf));
    await store.save("pour", pour.id, { lots: pinsOf(needs, chooseLots(needs, shelf)) });
  }

  #draw() {
    const at = this.#at;
    const of = at ? [at.pour.state.last, at.pour.record.lots !== undefined, at.jugIndex, at.ahead].join() : "";
    if (of === this.#of) return;
    this.#of = of;
    const [key, ...children] = this.#drawn() ?? [""];
    if (key === this.#shown) return;
    this.#shown = key;
    replaceKeepingFocus(this, .../** @type {Node[]} */ (children));
  }

  /** What it shows, after what tells whether that is new; null: nothing.
   * @returns {[string, ...(Node | string)[]] | null} */
  #drawn() {
    const shelf = this.#shelf;
    if (this.#at === null || shelf === null || pinnedOf(this.#at.pour.record).length === 0) return null;
    if (this.#at.pour.stage !== "jugs") return null;
    const { pour, jug, ahead, units } = this.#at;
    const weighing = jug.current ?? (ahead ? nextFragrance(jug) : null);
    const [material] = weighing ? materialsOf(pour.sheet, weighing.part, weighing.index) : [];
    if (weighing === null || material === undefined) return null;
    const lot = shelf.lots.get(currentLot(pour, material) ?? "");
    if (lot === undefined) return null;
    const left = amountText(Math.max(0, leftOf(lot, pour)), false, units);
    const text = t("{lot}: {left} left", { lot: lot.name, left });
    const cautions = lotCautions(lot, shelf.today).map(({ text: caution }) => caution);
    const button = h(
      "button",
      { type: "button", class: "quiet", "data-key": "ran out", onclick: () => void this.#ranOut(weighing) },
      t("It is empty"),
    );
    return [
      JSON.stringify([text, cautions, weighing.part, weighing.index]),
      h("p", {}, h("span", {}, text), button),
      ...cautions.map((caution) => h("p", { class: "beware caution" }, h("b", {}, t("Caution.")), " ", caution)),
    ];
  }

  /** @param {Weighing} weighing */
  async #ranOut(weighing) {
    const { pour, jugIndex, units } = this.at;
    const { part, index, target_g } = weighing;
    const step = part === "wax" || part === "restore" ? pour.sheet.step_g : pour.sheet.fine_step_g;
    const read_g = await askReading(
      {
        asks: t("The bag is empty. What does the scale show now?"),
        dimension: "mass",
        step,
        doubt: (value) => {
          if (value <= target_g * 2) return null;
          const reading = units.text(value, "mass", step);
          return {
            question: t("{reading} is far more than is wanted here. Is that what it shows?", { reading }),
            answers: [{ label: t("Yes, {reading}", { reading }), value }],
          };
        },
      },
      units,
    );
    if (read_g === null) return;
    const next = this.#nextLot(weighing);
    const event = { type: /** @type {const} */ ("ran_out"), jug: jugIndex, part, index, read_g, lot: next?.id ?? null };
    if (!(await tryToKeep(() => addEvent(pour, event, now()), t("This pour has moved on elsewhere: look again."))))
      return;
    showToast(
      next
        ? t("Go on with {lot}.", { lot: next.name })
        : t("No other lot of it is on the shelf. Go on: the pour says so."),
    );
  }

  /** As the plan has it, else as the shelf has it. @param {Weighing} weighing @returns {Lot | undefined} */
  #nextLot({ part, index }) {
    const { pour } = this.at;
    const shelf = /** @type {Shelf} */ (this.#shelf);
    const [material] = materialsOf(pour.sheet, part, index);
    const empty = currentLot(pour, material);
    const planned = pinnedOf(pour.record).find((each) => keyOf(each) === keyOf(material))?.lots ?? [];
    const at = planned.findIndex(({ id }) => id === empty);
    const after = planned.slice(at + 1).flatMap(({ id }) => shelf.lots.get(id) ?? []);
    const others = shelf.materials.get(keyOf(material))?.lots ?? [];
    return [...after, ...others].find((lot) => lot.id !== empty && lot.state.here > 0 && lot.state.withdrawn === null);
  }
}

/** What is left of a lot with all that this pour took by now. The shelf is not read again at each touch: what it knew
 * of this pour is put back first. @param {Lot} lot @param {import("../bench/pours.js").Pour} pour */
function leftOf({ id, state }, pour) {
  let left = state.here;
  for (const move of state.moves) if (move.pour === pour.id) left += move.amount;
  for (const use of usesOf(pour)) if (use.lot === id) left -= use.amount;
  return left;
}
