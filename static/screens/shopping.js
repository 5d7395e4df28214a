/** What to buy for all that is wanted, by supplier: to share, to mail or to print. */
import { phoneNow } from "../bench/clock.js";
import { shoppingOf } from "../shelf/shopping.js";
import { KINDS_OF_WANTED, readKept, workOut } from "../shelf/wanted.js";
import { dayText, localDate } from "../words/dates.js";
import { t } from "../words/door.js";
import { card, chip, cloneTemplate, h, replaceKeepingFocus, showCautions, slot } from "./dom.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { shareText } from "./share.js";
import { amountText, farDay } from "./shelf_words.js";
import { missingText, nameOf } from "./wanted_words.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../shelf/shopping.js").Item} Item */
/** @typedef {import("../shelf/shopping.js").Purchase} Purchase */

/** @param {HTMLElement} place @param {string[]} _path @param {import("./screen.js").Context} context */
export async function show(place, _path, context) {
  const { units } = context;
  place.append(cloneTemplate("screen-shopping"));
  let text = "";
  slot(place, "print").addEventListener("click", () => print());
  slot(place, "share").addEventListener("click", () => void shareText(t("Shopping list"), text));
  return drawOnChange(ofKinds(...KINDS_OF_WANTED), async () => {
    const today = localDate(phoneNow());
    const kept = await readKept(today, context);
    const orders = workOut(kept);
    const missing = orders.flatMap(({ missing: counted, uncounted }) => [...counted, ...uncounted]);
    const list = shoppingOf(missing, kept.shelf);
    slot(place, "empty").hidden = list.length > 0;
    slot(place, "share").disabled = list.length === 0;
    slot(place, "print").disabled = list.length === 0;
    const odd = orders.flatMap(({ record, problem }) => (problem ? [`${nameOf(record)}: ${problem}`] : []));
    showCautions(
      slot(place, "problems"),
      odd.map((said) => ({ level: "warning", text: said })),
    );
    replaceKeepingFocus(slot(place, "lists"), ...list.map((each) => sectionOf(each, units, today)));
    const head = t("Shopping list of {day}", { day: dayText(today) });
    text = [head, ...list.map((each) => textOf(each, units, today))].join("\n\n");
  });
}

/** @param {Purchase} purchase @param {DisplayUnits} units @param {string} today */
function sectionOf({ supplier, items }, units, today) {
  const { mail = null, telephone = null } = /** @type {Record<string, any>} */ (supplier ?? {});
  const lines = items.map((item) => itemText(item, units, today)).join("\n");
  const address = `mailto:${encodeURIComponent(mail)}?body=${encodeURIComponent(lines)}`;
  return h(
    "section",
    {},
    h("h2", {}, supplier?.name ?? t("No supplier is said")),
    (mail || telephone) &&
      h(
        "p",
        { class: "reach-out" },
        mail && h("a", { href: address }, mail),
        mail && telephone && " ",
        telephone && h("a", { href: `tel:${String(telephone).replace(/[^+\d]/g, "")}` }, telephone),
      ),
    ...items.map((item) =>
      card({
        href: `#/material/${item.kind}/${item.id}`,
        name: item.name,
        line: whyText(item, units, today),
        chip: item.order_by <= today && chip(t("order at once"), "past"),
        right: howMuch(item, units),
      }),
    ),
  );
}

/** In packs, where they are known. @param {Item} item @param {DisplayUnits} units */
function howMuch(item, units) {
  const { pack, packs, pieces } = item;
  if (pack === null || packs === null) return missingText(item, units);
  return t("{packs} × {pack}", { packs, pack: amountText(pack, pieces, units) });
}

/** @param {Item} item @param {DisplayUnits} units @param {string} today */
function whyText(item, units, today) {
  const { counted, order_by, packs, lead_days } = item;
  const said = [];
  const amount = missingText(item, units);
  if (!counted) said.push(t("{amount} are needed, and the shelf does not count it: look what you have", { amount }));
  else if (packs !== null) said.push(t("{amount} are missing", { amount }));
  said.push(t("order by {day}", { day: farDay(order_by, today) }));
  if (lead_days === null) said.push(t("how soon it arrives is not known"));
  return said.join("; ");
}

/** One line of the list, as it is shared. @param {Item} item @param {DisplayUnits} units @param {string} today */
function itemText(item, units, today) {
  const values = { name: item.name, amount: howMuch(item, units), day: farDay(item.order_by, today) };
  return item.counted
    ? t("{name}: {amount}, order by {day}", values)
    : t("{name}: {amount}, order by {day} (look what is there)", values);
}

/** @param {Purchase} purchase @param {DisplayUnits} units @param {string} today */
function textOf({ supplier, items }, units, today) {
  const { name = null, mail = null, telephone = null } = /** @type {Record<string, any>} */ (supplier ?? {});
  const head = [name ?? t("No supplier is said"), mail, telephone].filter(Boolean).join(", ");
  return [head, ...items.map((item) => `– ${itemText(item, units, today)}`)].join("\n");
}
