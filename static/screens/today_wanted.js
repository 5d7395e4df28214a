/**
 * What is wanted, and what the shelf asks for, on Today: `<bench-wanted>` is empty until this has come, with the desk, and
 * where there is neither.
 */
import { phoneNow } from "../bench/clock.js";
import { session } from "../bench/session.js";
import { daysBetween } from "../formulas/calendar_day.js";
import * as store from "../records/store.js";
import { standing } from "../shelf/supply.js";
import { readKept, workOut } from "../shelf/wanted.js";
import { localDate } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { card, h, replaceKeepingFocus } from "./dom.js";
import { context, ofKinds } from "./screen.js";
import { materialCard, materialChip } from "./shelf_lines.js";
import { stateOf } from "./wanted_lines.js";
import { nameOf, tasksOf, wantedText } from "./wanted_words.js";

/** @typedef {import("../shelf/wanted.js").Order} Order */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** What changes it while she looks at Today, beside pours: of materials only what is on the shelf, for all that is kept is
 * read for it. */
const CONCERNS = ofKinds("wanted", "recipe", "lot", "workshop", "jug");

export class TodayWanted extends HTMLElement {
  /** @type {(() => void)[]} */
  #ends = [];
  #day = "";
  /** What counts of each pour, as it was drawn. @type {Map<string, string>} */
  #pours = new Map();

  connectedCallback() {
    const draw = store.oneAtATime(() => this.#draw());
    this.#ends = [
      store.onChange((changes) => {
        if (changes.some(CONCERNS)) draw();
      }),
      // The bench reads each pour that changes; most of what happens to it moves nothing here.
      session.onChange((changed) => {
        const pours = /** @type {{id: string, item: import("../bench/pours.js").Pour | null}[]} */ (
          changed.filter(({ kind }) => kind === "pour")
        );
        if (pours.some(({ id, item }) => told(item) !== (this.#pours.get(id) ?? ""))) draw();
      }),
      session.onTick(() => {
        if (localDate(phoneNow()) !== this.#day) draw();
      }),
    ];
    draw();
  }

  disconnectedCallback() {
    for (const end of this.#ends) end();
  }

  async #draw() {
    const today = localDate(phoneNow());
    this.#day = today;
    const { workshop, units } = await context();
    const kept = await readKept(today, { workshop, units });
    this.#pours = new Map(kept.pours.map((pour) => [pour.id, told(pour)]));
    const orders = workOut(kept);
    const heading = h("h2", { class: "group" }, h("a", { href: "#/wanted" }, t("Wanted")));
    const cards = orders.map((order) => lineOf(order, units, today));
    const shelf = h("h2", { class: "group" }, h("a", { href: "#/shelf" }, t("The shelf")));
    const asking = [...kept.shelf.materials.values()].filter((material) => materialChip(material, today));
    const materials = asking.map((material) => materialCard(material, today, units));
    replaceKeepingFocus(
      this,
      ...(cards.length > 0 ? [h("section", { class: "wanted" }, heading, ...cards)] : []),
      ...(materials.length > 0 ? [h("section", { class: "shelf" }, shelf, ...materials)] : []),
    );
  }
}

/** What of a pour counts here; "" where none of it is there. @param {import("../bench/pours.js").Pour | null} pour */
function told(pour) {
  return pour ? [standing(pour), pour.state.set_on, pour.stage === "curing"].join(" ") : "";
}

/** @param {Order} order @param {DisplayUnits} units @param {string} today */
function lineOf(order, units, today) {
  const { record } = order;
  const tasks = tasksOf(order, units, today).slice(0, 2);
  const days = record.by >= today ? daysBetween(today, record.by) : null;
  return card({
    href: `#/wanted/${record.id}`,
    name: nameOf(record),
    line: [`${wantedText(order, today)}.`, ...tasks.map(({ text }) => text)].join(" "),
    chip: stateOf(order, units, today),
    right: days === null || days === 0 ? "" : plural(days, "{n} day", "{n} days"),
  });
}
