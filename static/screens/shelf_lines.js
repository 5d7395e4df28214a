/** A material on the shelf in a line, and what she must see of it. */
import { phoneNow } from "../bench/clock.js";
import { localDate } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { card, chip } from "./dom.js";
import { amountText, keepsText } from "./shelf_words.js";

/** @typedef {import("../shelf/stock.js").Material} Material */

/** It is told so many days before that something expires (our choice). */
const SOON_DAYS = 30;

/** @param {Material} material @param {string} today @param {import("../bench/display_units.js").DisplayUnits} units */
export function materialCard(material, today, units) {
  const open = openOf(material);
  const [first] = open;
  const line =
    open.length === 0 ? t("none is left") : plural(open.length, "{lot}", "{n} lots, {lot} first", { lot: first.name });
  return card({
    href: `#/material/${material.kind}/${material.id}`,
    name: material.name,
    line,
    chip: materialChip(material, today),
    right: amountText(material.here, material.pieces, units),
  });
}

/** The worst of it in a few words; false: nothing. @param {Material} material @param {string} today */
export function materialChip(material, today) {
  const open = openOf(material);
  const { here, record } = material;
  const soon = localDate(phoneNow() + SOON_DAYS * 86_400_000);
  if (open.some(({ state }) => state.counted_wrong)) return chip(t("counted wrong?"), "past");
  const withdrawn = open.find(({ state }) => state.withdrawn !== null);
  if (withdrawn) return chip(t("{lot} is withdrawn", { lot: withdrawn.name }), "past");
  const first = open.find(({ state }) => state.expires_on !== null && state.expires_on <= soon);
  if (first) {
    const isPast = String(first.state.expires_on) < today;
    return chip(t("{lot}: {keeps}", { lot: first.name, keeps: keepsText(first, today) }), isPast ? "past" : "now");
  }
  return typeof record.reorder_at === "number" && here < record.reorder_at && chip(t("time to order"), "now");
}

/** @param {Material} material */
const openOf = ({ lots }) => lots.filter(({ is_open }) => is_open);
