/** What is wanted, drawn: its card, what there is to do for it, and what to beware of. */

import { t } from "../words/door.js";
import { card, chip, h, showCautions } from "./dom.js";
import { assumedOf, metText, nameOf, tasksOf, wantedText, warningsOf } from "./wanted_words.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../shelf/wanted.js").Order} Order */

/** @param {Order} order @param {DisplayUnits} units @param {string} today */
export function orderCard(order, units, today) {
  return card({
    href: `#/wanted/${order.record.id}`,
    of: order.recipe ?? undefined,
    name: nameOf(order.record),
    line: wantedText(order, today),
    chip: stateOf(order, units, today),
  });
}

/** The worst of it in a word or two. @param {Order} order @param {DisplayUnits} units @param {string} today */
export function stateOf(order, units, today) {
  const { worked, record } = order;
  if (worked === null) return chip(t("look at it"), "past");
  if (record.by < today) return chip(t("overdue"), "past");
  const late = worked.none + worked.cured.met + worked.cured.pour > 0;
  if (late) return chip(t("too late for some"), "past");
  const tasks = tasksOf(order, units, today);
  if (tasks.some(({ past }) => past)) return chip(t("order at once"), "past");
  if (tasks.length === 0) return chip(t("all there or curing"));
  return tasks[0].day <= today && chip(t("today"), "now");
}

/** What there is to do, each with its way there; and what will not come out as she wants it.
 * @param {Order} order @param {DisplayUnits} units @param {string} today */
export function toDo(order, units, today) {
  const met = metText(order, today);
  const tasks = tasksOf(order, units, today);
  const said = [met, ...assumedOf(order)].filter(Boolean);
  return [
    showCautions(h("div", {}), warningsOf(order, today)),
    tasks.length > 0 &&
      h("ul", { class: "todo" }, ...tasks.map(({ text, href }) => h("li", {}, h("a", { href }, text)))),
    ...said.map((text) => h("p", { class: "help" }, text)),
  ];
}
