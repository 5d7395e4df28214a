/** How a batch stands in a list, and who has candles of it: shared by what traces and what recalls. */
import { vesselsOf } from "../bench/due.js";
import * as store from "../records/store.js";
import { dayText, localDate } from "../words/dates.js";
import { literal, plural, t } from "../words/door.js";
import { card, chip, h } from "./dom.js";

/** @typedef {import("../shelf/trace.js").Batch} Batch */
/** @typedef {import("../shelf/candles.js").Out} Out */
/** @typedef {Map<string, string>} Names of buyers and of what was wanted, by id */

/** @returns {Promise<Names>} */
export async function readNames() {
  const [buyers, wanted] = await Promise.all([store.living("buyer"), store.apart("wanted")]);
  return new Map([...buyers, ...wanted.gone, ...wanted.living].map(({ id, name }) => [id, String(name ?? "")]));
}

/** Who has them, in words. @param {Pick<Out, "buyer" | "wanted" | "where" | "why">} out @param {Names} names */
export function whoText({ buyer, wanted, where, why }, names) {
  if (buyer) return names.get(buyer) || t("somebody who asked to be forgotten");
  return (wanted && names.get(wanted)) || where || why || t("nobody said where");
}

/** Its name, with its code. @param {Pick<Batch, "pour" | "code">} batch */
export const batchTitle = ({ pour, code }) => [pour.sheet.title, code].filter(Boolean).join(", ");

/** @param {number} n candles */
export const untoldText = (n) =>
  plural(n, "Of {n} candle nobody said where it went.", "Of {n} candles nobody said where they went.");

/** A batch, and where its candles went. @param {Batch} batch @param {Names} names @param {string} [line] what else is to be said */
export function batchCard({ pour, code, candles }, names, line = "") {
  const { made, here, withdrawn, out, untold } = candles;
  const where = out.map((each) => {
    const values = { n: each.n, day: dayText(localDate(each.at_ms)), what: literal(whoText(each, names)) };
    return h(
      "li",
      {},
      each.how === "sold" ? t("{n} sold on {day}: {what}", values) : t("{n} on {day}: {what}", values),
    );
  });
  return h(
    "div",
    { class: "traced" },
    card({
      href: code ? `#/candle/${code}` : `#/entry/${pour.id}`,
      of: pour.sheet,
      name: batchTitle({ pour, code }),
      line: [vesselsOf(pour.sheet), line].filter(Boolean).join("; "),
      chip: withdrawn !== null ? chip(t("withdrawn"), "due") : Boolean(pour.record.deleted) && chip(t("deleted")),
      right: t("{here} of {made} here", { here, made }),
      under: dayText(localDate(pour.record.started_at)),
    }),
    where.length > 0 && h("ul", { class: "gone" }, ...where),
    untold > 0 && h("p", { class: "hint" }, untoldText(untold)),
  );
}
