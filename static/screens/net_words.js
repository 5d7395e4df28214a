/** What was found of a batch's net content, in words: the verdict and why, the numbers, each step, and what to aim for. */
import { findings } from "../records/findings.js";
import { newest, readable } from "../shelf/net_asked.js";
import { dayText, localDate } from "../words/dates.js";
import { plural, t, worded } from "../words/door.js";
import { fact, h } from "./dom.js";
import { stripChart } from "./net_chart.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../records/merge.js").Plain} Plain */
/** @typedef {import("../words/door.js").Message} Message */
/** @typedef {"seen" | "second-hand" | "memory" | "ours"} Status */
/** @typedef {{name: string, result: "met" | "not met" | "open", said: Message, article: string, status: Status,
 *   decides: Message | null}} Step */
/** @typedef {{g: number, printed: string[], decides: Message[]}} Claim */
/**
 * @typedef {object} Stated what was found of the weight that is to be stated
 * @property {"yes" | "no" | "undecided"} verdict @property {number} g @property {string} stated
 * @property {{first: number | null, second: number | null}} limits_g
 * @property {{first: string | null, second: string | null}} limits
 * @property {number} short @property {number} under_first @property {number} under_second
 * @property {Step[]} steps @property {Message[]} asks @property {string[]} printed
 * @property {{least: Message, article: string, status: Status, details: {said: Message, article: string, status:
 *   Status}[]} | null} figures
 */
/**
 * @typedef {object} Found what the desk answers
 * @property {"eu" | "gb" | "us"} law @property {string} edition
 * @property {number} weighed @property {number} of @property {number} marks
 * @property {string} mean @property {string | null} doubt @property {string | null} spread
 * @property {Stated | null} stated @property {{sure_g: number, usual_g: number, read: number} | null} aim
 * @property {Claim | null} highest @property {Claim | null} open
 */

/** The whole of a finding. @param {Plain} finding @param {DisplayUnits} units @returns {HTMLElement[]} */
export function findingParts({ asked, found: kept, made_at }, units) {
  const found = /** @type {Found} */ (kept);
  const { stated } = found;
  const [verdict, reasons] = verdictOf(found);
  return [
    h("h2", { class: "verdict" }, verdict),
    ...(reasons.length > 0 ? [h("ul", { class: "reasons" }, ...reasons)] : []),
    h("dl", { class: "facts" }, ...factsOf(found, asked, units)),
    h("div", { class: "charts" }, h("figure", {}, chartOf(found, asked, units))),
    ...(stated === null
      ? []
      : [h("h2", {}, t("Step by step")), h("ul", { class: "reasons" }, ...stated.steps.map(stepLine))]),
    ...(stated?.figures ? stated.figures.details.map(detailLine) : []),
    ...(found.marks > 0 ? [h("p", { class: "help" }, marksText(found.marks))] : []),
    ...(stated?.asks ?? []).map((each) => h("p", { class: "help" }, worded(each))),
    h(
      "p",
      { class: "help" },
      `${t("Worked out on {day}, by:", { day: dayText(localDate(made_at)) })} `,
      h("span", { lang: "en" }, found.edition),
    ),
  ];
}

/** @param {number} marks */
const marksText = (marks) =>
  plural(
    marks,
    "At one of them “on target” counts as read; it tells nothing of how fills scatter.",
    "At {n} of them “on target” counts as read; it tells nothing of how fills scatter.",
  );

/** @param {Found} found @returns {[verdict: string, reasons: HTMLElement[]]} */
function verdictOf({ stated, highest, of }) {
  if (stated === null) {
    if (highest === null) return [t("There is no weight that these may surely carry."), []];
    return [
      plural(of, "This one may carry {most}.", "These {n} may carry {most}.", { most: amountsText(highest.printed) }),
      [],
    ];
  }
  const values = { stated: stated.stated };
  const line = (/** @type {string} */ kind, /** @type {Message} */ said) => h("li", { class: kind }, worded(said));
  switch (stated.verdict) {
    case "yes":
      return [plural(of, "This one may carry {stated}.", "These {n} may carry {stated}.", values), []];
    case "no":
      return [
        plural(of, "This one may not carry {stated}, because:", "These {n} may not carry {stated}, because:", values),
        stated.steps.flatMap(({ result, said }) => (result === "not met" ? [line("against", said)] : [])),
      ];
    case "undecided":
      return [
        plural(
          of,
          "Whether this one may carry {stated} is undecided. What would decide it:",
          "Whether these {n} may carry {stated} is undecided. What would decide it:",
          values,
        ),
        stated.steps.flatMap(({ decides }) => (decides === null ? [] : [line("missing", decides)])),
      ];
  }
}

/** The first amount, and the others in brackets. @param {string[]} printed */
const amountsText = ([first, ...others]) => (others.length > 0 ? `${first} (${others.join(", ")})` : first);

/** @param {Found} found @param {import("../shelf/net_asked.js").Asked} asked @param {DisplayUnits} units */
function factsOf(found, asked, units) {
  const { stated, aim, highest, open, of } = found;
  const facts = [
    fact(t("Weighed"), t("**{n}** of {of}", { n: found.weighed, of })),
    fact(
      t("Mean"),
      found.doubt === null
        ? `**${found.mean}**`
        : t("**{mean}**, give or take {doubt}", { mean: found.mean, doubt: found.doubt }),
    ),
  ];
  if (found.spread !== null) facts.push(fact(t("They scatter by"), found.spread));
  if (stated !== null) {
    facts.push(fact(t("Too light"), shortText(stated)));
    if (aim !== null) facts.push(fact(t("Next pour"), aimText(aim, asked, units)));
    facts.push(fact(t("On the label"), `**${amountsText(stated.printed)}**`));
    facts.push(figuresFact(stated));
  }
  if (highest !== null) facts.push(fact(t("May carry at most"), amountsText(highest.printed)));
  if (open !== null) facts.push(fact(t("Undecided up to"), amountsText(open.printed)));
  return facts;
}

/** How many hold less than is stated, and less than may be missing. @param {Stated} stated */
function shortText({ short, under_first, under_second, limits }) {
  if (short === 0) return t("None holds less than is stated.");
  const texts = [plural(short, "**{n}** holds less than is stated.", "**{n}** hold less than is stated.")];
  if (limits.first !== null) texts.push(t("{n} under {limit}.", { n: under_first, limit: limits.first }));
  if (limits.second !== null) texts.push(t("{n} under {limit}.", { n: under_second, limit: limits.second }));
  return texts.join(" ");
}

/** @param {NonNullable<Found["aim"]>} aim @param {{step_g: string, most_g: number | null}} asked @param {DisplayUnits} units */
function aimText({ sure_g, usual_g }, { step_g, most_g }, units) {
  const text = (/** @type {number} */ grams) => upText(grams, Number(step_g), units);
  const texts = [t("Aim at **{aim}** in each: of 100 such batches 95 may then carry it.", { aim: text(sure_g) })];
  if (text(usual_g) !== text(sure_g))
    texts.push(t("As the rules are usually read, {aim} would do.", { aim: text(usual_g) }));
  if (most_g !== null && sure_g > most_g)
    texts.push(
      t("But this vessel holds {most} to the brim: state less.", { most: units.text(most_g, "mass", Number(step_g)) }),
    );
  return texts.join(" ");
}

/** A weight by the scale's steps in her unit, and never less of it. @param {number} grams @param {number} step_g
 * @param {DisplayUnits} units */
function upText(grams, step_g, units) {
  const near = units.stepped(grams, "mass", step_g, 0);
  return units.text(near < grams - 1e-6 ? units.stepped(grams, "mass", step_g, 1) : near, "mass", step_g);
}

/** How high the figures are at least. @param {Stated} stated @returns {HTMLElement} */
function figuresFact({ figures }) {
  if (figures === null)
    return fact(t("Its figures"), t("They go by the size of the panel: say below what the label is on."));
  const { least, article, status } = figures;
  const told = fact(t("Its figures"), t("at least **{least}** high", { least: worded(least) }));
  told.querySelector("dd")?.append(" ", sourceOf(article, status));
  return told;
}

/** Where a rule was read. @param {Status} status */
function statusText(status) {
  switch (status) {
    case "seen":
      return t("read in its text");
    case "second-hand":
      return t("read second-hand");
    case "memory":
      return t("from memory: look it up");
    case "ours":
      return t("our choice");
  }
}

const SIGNS = { met: "for", "not met": "against", open: "missing" };

/** @param {Step} step */
function stepLine({ result, said, article, status }) {
  return h(
    "li",
    { class: SIGNS[result] },
    h("span", { class: "sr" }, `${resultText(result)} `),
    worded(said),
    sourceOf(article, status),
  );
}

/** @param {{said: Message, article: string, status: Status}} detail */
const detailLine = ({ said, article, status }) => h("p", { class: "help" }, worded(said), sourceOf(article, status));

/** Where it stands, and where it was read. @param {string} article @param {Status} status */
const sourceOf = (article, status) =>
  h("small", { class: "under" }, " ", h("span", { lang: "en" }, article), `; ${statusText(status)}`);

/** What a step's sign says aloud. @param {Step["result"]} result */
function resultText(result) {
  switch (result) {
    case "met":
      return t("Kept:");
    case "not met":
      return t("Not kept:");
    case "open":
      return t("Undecided:");
  }
}

/** @param {Found} found @param {{weights_g: string[], step_g: string}} asked @param {DisplayUnits} units */
function chartOf({ stated }, { weights_g, step_g }, units) {
  const text = (/** @type {number} */ grams) => units.text(grams, "mass", Number(step_g));
  /** @type {import("./net_chart.js").Line[]} */
  const lines = [];
  if (stated !== null) {
    const { limits, limits_g } = stated;
    lines.push({ g: stated.g, text: stated.stated, name: t("stated"), kind: "stated" });
    if (limits_g.first !== null)
      lines.push({ g: limits_g.first, text: limits.first ?? "", name: t("tolerance"), kind: "limit" });
    if (limits_g.second !== null)
      lines.push({ g: limits_g.second, text: limits.second ?? "", name: t("twice that"), kind: "limit" });
  }
  return stripChart(weights_g.map(Number), lines, text);
}

/** What a recipe's last batch told to aim for, in one line; null: nothing did. @param {Plain} recipe
 * @param {DisplayUnits} units @returns {Promise<string | null>} */
export async function readAim({ id, vessel }, units) {
  const kept = readable(await findings("net_finding"));
  const last = newest(
    kept,
    ({ asked, found }) =>
      asked.recipe === id && asked.vessel === vessel && found.aim?.sure_g > 0 && Array.isArray(found.stated?.printed),
  );
  if (last === undefined) return null;
  const { asked, found } = last;
  const values = {
    stated: amountsText(found.stated.printed),
    aim: upText(found.aim.sure_g, Number(asked.step_g), units),
  };
  return t("For **{stated}** on the label aim at **{aim}** in each.", values);
}
