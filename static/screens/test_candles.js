/** The candles of a burn test, sitting by sitting: what was weighed, what was seen at each mark, and what was missed. */
import { capital } from "../bench/cues.js";
import { GRADED } from "../burns/burn_fold.js";
import { seenWords, whyText } from "../burns/burn_words.js";
import { write } from "../formulas/rounding.js";
import { dayText, localDate } from "../words/dates.js";
import { listed, t } from "../words/door.js";
import { numberText } from "../words/numbers.js";
import { card, chip, h } from "./dom.js";
import { batchName } from "./test_batches.js";
import { burnedText, candleWithWick, standOf } from "./test_words.js";

/** @typedef {import("../burns/tests.js").BurnTest} BurnTest */
/** @typedef {import("../burns/burn_fold.js").Sitting} Sitting */
/** @typedef {import("../burns/burn_fold.js").Seen} Seen */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {Map<string, {pour: import("../bench/pours.js").Pour, lots: string}>} Batches those that candles are of, by id */

/**
 * One candle: what is to be done with it, and all that was read and seen of it.
 * @param {BurnTest} test @param {number} index @param {Batches} batches @param {DisplayUnits} units @param {number} now_ms
 * @param {() => void} setAside
 */
export function candleSection(test, index, batches, units, now_ms, setAside) {
  const { id, sheet, state } = test;
  const candle = state.candles[index];
  const stand = standOf(candle);
  const isOpen = state.closed === null && !test.record.deleted && candle.step !== "over";
  const line = [burnedText(candle), candle.set_aside].filter(Boolean).join(", ");
  const name = capital(candleWithWick(sheet, index));
  const about = {
    name,
    line,
    chip: stand.text !== "" && chip(stand.text, stand.tone),
    right: isOpen ? (candle.step === "trim" ? t("Burn") : t("go on")) : "",
  };
  const lit = candle.sittings.filter(({ lit_at, before_g }) => lit_at !== null || before_g !== null);
  const isBad = candle.set_aside === null && state.closed === null && !test.record.deleted;
  const aside = { type: "button", class: "quiet small", "data-key": `aside ${index}`, onclick: setAside };
  return h(
    "section",
    { class: "candle" },
    isOpen
      ? card({ href: `#/burn/${id}/${index}`, ...about })
      : h(
          "div",
          { class: "card" },
          h(
            "span",
            { class: "what" },
            h("span", { class: "name" }, name),
            h("span", { class: "line" }, line),
            about.chip,
          ),
        ),
    originLine(sheet.candles[index], batches),
    lit.length > 0 &&
      h(
        "details",
        { "data-key": `seen ${index}` },
        h("summary", {}, t("What was read and seen")),
        weights(lit, sheet, units),
        ...lit.map((sitting) => marksOf(sitting, candle.sittings.indexOf(sitting), sheet, units, now_ms)),
      ),
    isBad && h("p", { class: "links" }, h("button", aside, t("Set aside"))),
  );
}

/** Which batch it is of, and from which lots that was made. @param {BurnTest["sheet"]["candles"][number]} candle
 * @param {Batches} batches */
function originLine({ pour, vessel }, batches) {
  if (pour === null) return false;
  const batch = batches.get(pour);
  if (batch === undefined) return h("p", { class: "help" }, t("Its batch is not kept here any more."));
  const { record, sheet } = batch.pour;
  const name = `${sheet.title}, ${batchName(batch.pour)}`;
  const which = vessel === null ? name : t("{batch}, vessel {n}", { batch: name, n: vessel + 1 });
  return h(
    "p",
    { class: "help" },
    h("a", { href: `#/entry/${pour}` }, which),
    batch.lots !== "" && `. ${t("From {lots}.", { lots: batch.lots })}`,
    record.deleted && h("b", {}, ` ${t("This batch was deleted.")}`),
  );
}

/** @param {Sitting[]} sittings @param {BurnTest["sheet"]} sheet @param {DisplayUnits} units */
function weights(sittings, { step_g }, units) {
  const mass = (/** @type {number | null} */ grams) =>
    grams === null ? "–" : units.amount(grams, "mass", step_g).number;
  const heads = [
    t("Sitting"),
    t("Before, {unit}", { unit: units.units.mass }),
    t("After"),
    t("Burned"),
    t("Hours"),
    t("{unit} an hour", { unit: units.units.mass }),
  ];
  const row = (/** @type {Sitting} */ { before_g, after_g, hours, lit_at }, /** @type {number} */ index) => {
    const burned = before_g === null || after_g === null ? null : before_g - after_g;
    const rate = burned === null || !hours || burned < 0 ? "–" : units.amount(burned / hours, "mass", "fine").number;
    const day = lit_at === null ? "" : dayText(localDate(lit_at));
    const cells = [
      mass(before_g),
      mass(after_g),
      mass(burned),
      hours === null ? "–" : numberText(write(hours, 0.1)),
      rate,
    ];
    return h(
      "tr",
      {},
      h("th", { scope: "row" }, String(index + 1), day && h("span", { class: "under" }, day)),
      ...cells.map((text) => h("td", {}, text)),
    );
  };
  return h(
    "table",
    {},
    h("thead", {}, h("tr", {}, ...heads.map((text) => h("th", { scope: "col" }, text)))),
    h("tbody", {}, ...sittings.map(row)),
  );
}

/** @param {Sitting} sitting @param {number} number from 0 @param {BurnTest["sheet"]} sheet @param {DisplayUnits} units
 * @param {number} now_ms */
function marksOf({ marks, stopped_at, why, text, smoke_s, lit_at }, number, { marks_h }, units, now_ms) {
  if (lit_at === null) return false;
  const lines = marks.flatMap(({ due_ms, at_ms, seen }, index) => {
    const hours = numberText(String(marks_h[index]));
    if (at_ms !== null) return [t("After {hours} h: {seen}.", { hours, seen: seenText(seen, units) })];
    // What came after it was out was never due.
    const isOver = stopped_at === null ? due_ms < now_ms && index < marks.length - 1 : due_ms <= stopped_at;
    return isOver ? [t("After {hours} h: not looked at.", { hours })] : [];
  });
  if (why !== null) {
    lines.push(text ? t("Out: {why}. {text}", { why: whyText(why), text }) : t("Out: {why}.", { why: whyText(why) }));
    lines.push(smoke_s === null ? t("Its smoke was not looked at.") : t("It smoked for {n} s.", { n: smoke_s }));
  }
  if (lines.length === 0) return false;
  return h(
    "div",
    { class: "sitting" },
    h("h3", {}, t("Sitting {n}", { n: number + 1 })),
    h("ul", {}, ...lines.map((line) => h("li", {}, line))),
  );
}

/** What was seen at a mark, in words. @param {Seen} seen @param {DisplayUnits} units */
function seenText(seen, units) {
  const isClean = GRADED.every((what) => seen[what] === 0);
  return listed([...seenWords(seen, units), ...(isClean ? [t("nothing else to see")] : [])]);
}
