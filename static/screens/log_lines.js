/** What is found, line by line. */

import { percent } from "../bench/display_units.js";
import { vesselsOf } from "../bench/due.js";
import { topsInWords } from "../bench/tops.js";
import { noteOf } from "../find/asking.js";
import { wordsOf } from "../find/folding.js";
import { INDEXED } from "../find/kinds.js";
import { STATES, stateOf } from "../find/states.js";
import { dayText, localDate, monthText } from "../words/dates.js";
import { listed, t, worded } from "../words/door.js";
import { wholeDayText } from "../words/whole_days.js";
import { card, chip, h } from "./dom.js";

/** @typedef {import("../find/found.js").Found} Found */
/** @typedef {import("../find/searching.js").Hit} Hit */

/** Names of other records that a line says at most. */
const MOST_NAMES = 3;

/** States that every pour comes to: they need no chip. */
const ORDINARY = ["curing", "cured", "none_left"];

/** Words of a long note on both sides of what was looked for. */
const AROUND = 8;

/** Pours by months, the newest first. @param {Hit[]} hits @param {Hit | undefined} before the one above them
 * @param {string} today ISO 8601 @returns {HTMLElement[]} */
export function byMonths(hits, before, today) {
  let month = before && monthOf(before.entry);
  return hits.flatMap(({ entry }) => {
    const own = monthOf(entry);
    const heading = own === month ? [] : [h("h2", { class: "group" }, monthText(`${own}-01`))];
    month = own;
    return [...heading, pourLine(entry, today)];
  });
}

/** @param {Found} entry of a pour */
export const monthOf = ({ at }) => localDate(at).slice(0, 7);

/** A pour as the log shows it. @param {Found} entry @param {string} today ISO 8601 @param {string} [kind] its chip */
function pourLine({ name, page, at, pour }, today, kind = "") {
  if (pour === undefined) throw new TypeError("no pour");
  const { sizes, vessel, scents, load, planned, filled, stage, tops } = pour;
  const state = stateOf(pour, today);
  const isOrdinary = ORDINARY.includes(state);
  const isShort = stage !== "bench" && filled < planned;
  const line = [
    vesselsOf({ sizes, vessel: { name: "" }, count: planned }),
    isShort && t("{filled} of {planned}", { filled, planned }),
    stage === "put_away" && (tops !== null ? topsInWords(tops) : isOrdinary && worded(STATES[state])),
  ];
  const says = isOrdinary ? kind : worded(STATES[state]);
  return card({
    href: `#/${page}`,
    of: { vessel, oils: scents.map((id) => ({ id })) },
    name,
    line: line.filter(Boolean).join(", "),
    chip: says !== "" && chip(says),
    right: load > 0 ? percent(load) : "",
    under: dayOf(at, today),
  });
}

/** What was found by words. @param {Hit} hit @param {import("../find/asking.js").Term[]} terms
 * @param {Map<string, Found>} entries all of them @param {string} today ISO 8601 */
export function hitLine({ entry, byNote = false, byCode = false }, terms, entries, today) {
  const { kind, name, page, at, others, days } = entry;
  const called = worded(INDEXED[kind].called);
  if (byNote) {
    const note = around(noteOf(entry, entry.notes, terms), terms);
    return card({
      href: `#/${page}`,
      name,
      line: `“${note}”`,
      chip: chip(t("note")),
      under: kind === "pour" ? dayOf(at, today) : called,
    });
  }
  if (kind === "pour") return pourLine(byCode ? { ...entry, page: candleOf(entry) } : entry, today, called);
  const names = others.flatMap((other) => entries.get(other)?.name ?? []);
  const isDated = days.length > 0 || INDEXED[kind].moment !== undefined;
  return card({
    href: `#/${page}`,
    of: lookOf(entry),
    name,
    line: listed(names.slice(0, MOST_NAMES)),
    chip: chip(called),
    under: isDated ? dayOf(at, today) : "",
  });
}

/** Where a candle is looked at whose code was read. @param {Found} entry of a pour */
export const candleOf = ({ pour, page }) => (pour?.code ? `candle/${pour.code}` : page);

/** The picture of what has one. @param {Found} entry */
function lookOf({ kind, id, others }) {
  const own = id.slice(kind.length + 1);
  if (kind === "vessel") return { vessel: own };
  if (kind === "fragrance") return { oils: [{ id: own }] };
  if (kind !== "recipe") return undefined;
  const named = (/** @type {string} */ of) =>
    others.filter((each) => each.startsWith(`${of} `)).map((each) => ({ id: each.slice(of.length + 1) }));
  return { vessel: named("vessel")[0], oils: named("fragrance") };
}

/** With its year, where it is another. @param {number} at ms @param {string} today ISO 8601 */
function dayOf(at, today) {
  const day = localDate(at);
  return day.slice(0, 4) === today.slice(0, 4) ? dayText(day) : wholeDayText(day);
}

/** A note, or of a long one what is around the first of the words. @param {string} note
 * @param {import("../find/asking.js").Term[]} terms */
function around(note, terms) {
  const words = note.split(/\s+/);
  const sought = terms.flatMap((term) => term.words);
  const at = Math.max(
    0,
    words.findIndex((each) => wordsOf(each).some((word) => sought.some((one) => word.startsWith(one)))),
  );
  const [from, to] = [Math.max(0, at - AROUND), at + AROUND + 1];
  return `${from > 0 ? "… " : ""}${words.slice(from, to).join(" ")}${to < words.length ? " …" : ""}`;
}
