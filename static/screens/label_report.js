/** How a label is laid out, as the desk found it: its picture, what stands on it, whether it fits, and what is missing. */

import { pictogramText } from "../hazards/pictograms.js";
import { isFinished, keyOf } from "../labels/answers.js";
import { dayText, localDate } from "../words/dates.js";
import { listed, message, t, worded } from "../words/door.js";
import { h } from "./dom.js";
import { languageName } from "./languages.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {import("../words/door.js").Message} Message */
/** @typedef {import("../labels/answers.js").Answers} Answers */
/** @typedef {{report: Fields, answers?: Answers}} Kept what the desk answered, and what she did */
/** @typedef {Kept & {pictures: Fields[]}} Found with its pictures */
/** @typedef {{way: string, second: {width_mm: number, height_mm: number} | null}} Way */
/** @typedef {{width_mm: number, height_mm: number}} Size */

/** @type {Record<string, Message>} */
const PARTS = {
  product: message("Name"),
  maker: message("Maker"),
  net: message("Net content"),
  batch: message("Batch code"),
  burning: message("Burning time"),
  fire: message("How to burn it safely"),
  hazard: message("Hazards"),
  own: message("Your words"),
  logo: message("Logo"),
};

/** What the symbols on a label mean. @type {Record<string, Message>} */
const SYMBOLS = {
  warning: message("warning sign"),
  stay: message("stay with it"),
  away: message("keep it away from what can burn"),
  children: message("keep it away from children and pets"),
  trim: message("trim the wick"),
  draught: message("keep it out of draughts"),
  surface: message("stand it on what bears heat"),
  pool: message("keep the wax clean"),
  move: message("do not move it while it burns"),
  apart: message("leave room between candles"),
};

/** @type {Record<string, Message>} */
const PIECES = { label: message("The label"), second: message("The second piece") };

/** @type {Record<string, Message>} */
const MEASURES = {
  label: message("The label"),
  x_height: message("Height of a small x"),
  pictogram: message("Side of a pictogram"),
  figures: message("Figures of the net content"),
  symbol: message("Safety symbols"),
  contrast: message("Contrast of ink and paper"),
};

/** @type {Record<string, Message>} */
const STATUS = {
  "second-hand": message("read second-hand"),
  memory: message("from memory, to be verified"),
  ours: message("our choice"),
};

/** @type {Record<string, Message>} */
const WAYS = {
  label: message("Leave all on the label"),
  fold_out: message("A second leaf under it"),
  tag: message("A tag tied to the vessel"),
  box: message("The box"),
};

/** A sentence of the desk's, with its language by name. @param {Message} said */
export function saidText({ template, values }) {
  const { language } = values;
  return worded({
    template,
    values: typeof language === "string" ? { ...values, language: languageName(language) } : values,
  });
}

/** @param {string} part */
export const partName = (part) => (PARTS[part] ? worded(PARTS[part]) : part);

/** @param {Size} size */
export const sizeText = ({ width_mm, height_mm }) => `${width_mm} × ${height_mm} mm`;

/**
 * @typedef {object} Can what she may do about it, where the label is not made yet
 * @property {(way: Way) => void} [choose]
 * @property {(size: Size) => void} [enlarge]
 * @property {(asked: Message) => void} [answer]
 */

/** How it looks, and whether that will do. @param {Found} found @returns {HTMLElement[]} */
export function headOf({ report, pictures, answers = {} }) {
  return [
    h("div", { class: "pieces" }, ...pictures.map((each) => pictureOf(each, report))),
    ...verdictOf(report, answers),
  ];
}

/** All else that was found. @param {Kept} found @param {Can} [can] @returns {HTMLElement[]} */
export function restOf({ report, answers = {} }, { choose, enlarge, answer } = {}) {
  return [
    ...(report.fits ? [] : inTheWay(report)),
    ...(report.fits ? [] : waysOf(report, choose, enlarge)),
    ...section(t("What is missing"), report.missing, "missing"),
    ...answered(t("Look this up"), report.look_up, answers, answer),
    ...answered(t("Answer this"), report.questions, answers, answer),
    ...section(t("Look at this"), report.cautions, "against"),
    ...section(t("Good to know"), report.hints, "for"),
    h("details", {}, h("summary", {}, t("What stands on it")), ...report.pieces.map(textsOf)),
    h("details", {}, h("summary", {}, t("Sizes that are owed")), leastTable(report.least)),
    h(
      "p",
      { class: "hint" },
      t("The last word is the law in force where you sell, the supplier's sheet, and a qualified person."),
    ),
  ];
}

/** @param {Fields} picture @param {Fields} report */
function pictureOf({ piece, png, width_mm, height_mm }, report) {
  const { shape = "rect", parts = [] } = report.pieces.find((/** @type {Fields} */ each) => each.piece === piece) ?? {};
  const name = PIECES[piece] ? worded(PIECES[piece]) : piece;
  const text = parts.map(partText).filter(Boolean).join(" ");
  return h(
    "figure",
    { class: `piece ${shape}` },
    h("img", { src: `data:image/png;base64,${png}`, alt: `${name}: ${text}` }),
    h("figcaption", {}, name, ", ", sizeText({ width_mm, height_mm })),
  );
}

/** @param {Fields} report @param {Answers} answers */
function verdictOf(report, answers) {
  if (!report.fits) return [h("p", { class: "beware notice" }, h("b", {}, t("It does not fit.")))];
  const finished = isFinished(report, answers);
  const text = finished
    ? t("All of it fits, and you have answered what the bench can't know.")
    : t("All of it fits. It is not finished: see what is missing, to be looked up, or not answered.");
  return [h("p", { class: finished ? "" : "beware notice" }, text)];
}

/** @param {Fields} report */
function inTheWay({ in_the_way }) {
  if (in_the_way.length === 0) return [];
  return [
    h("h2", {}, t("What is in the way")),
    h(
      "ul",
      { class: "reasons" },
      ...in_the_way.map((/** @type {Fields} */ { said }) => h("li", { class: "against" }, saidText(said))),
    ),
  ];
}

/** @param {Fields} report @param {((way: Way) => void) | undefined} choose @param {((size: Size) => void) | undefined} enlarge */
function waysOf({ ways, least_size }, choose, enlarge) {
  const cards = ways.map((/** @type {Fields} */ { way, fits, said, article, status, second }) =>
    h(
      "li",
      { class: "way" },
      h("b", {}, worded(WAYS[way] ?? message("{way}", { way }))),
      h("p", {}, saidText(said)),
      h("p", { class: "source" }, sourceText(article, status)),
      fits &&
        choose &&
        h(
          "button",
          { type: "button", class: "quiet", onclick: () => choose({ way, second }), "data-key": way },
          t("Choose this"),
        ),
    ),
  );
  const larger =
    least_size &&
    h(
      "li",
      { class: "way" },
      h("b", {}, t("A larger label")),
      h("p", {}, t("All of it fits on one of {size}.", { size: sizeText(least_size) })),
      enlarge &&
        h(
          "button",
          { type: "button", class: "quiet", onclick: () => enlarge(least_size), "data-key": "larger" },
          t("Make it that large"),
        ),
    );
  return [h("h2", {}, t("What would do")), h("ul", { class: "ways" }, ...cards, larger)];
}

/** @param {string} title @param {Message[]} lines @param {string} tone */
function section(title, lines, tone) {
  if (lines.length === 0) return [];
  return [
    h("h2", {}, title),
    h("ul", { class: "reasons" }, ...lines.map((each) => h("li", { class: tone }, saidText(each)))),
  ];
}

/** What only she can know, with what she said. @param {string} title @param {Message[]} lines @param {Answers} answers
 * @param {((asked: Message) => void) | undefined} answer */
function answered(title, lines, answers, answer) {
  if (lines.length === 0) return [];
  const rows = lines.map((each) => {
    const key = keyOf(each);
    const said = Object.hasOwn(answers, key) ? answers[key] : null;
    const told = said && t("You, on {day}: {text}", { day: dayText(localDate(said.at)), text: said.text });
    return h(
      "li",
      { class: said ? "for" : "missing" },
      saidText(each),
      told && h("p", { class: "said" }, told),
      answer &&
        h(
          "p",
          { class: "links" },
          h(
            "button",
            { type: "button", class: "quiet small", "data-key": key, onclick: () => answer(each) },
            said ? t("Answer it anew") : t("Answer"),
          ),
        ),
    );
  });
  return [h("h2", {}, title), h("ul", { class: "reasons" }, ...rows)];
}

/** What stands in a part, its symbols in words. @param {Fields} part */
function partText({ text, pictures = [] }) {
  const shown = pictures.flatMap((/** @type {string} */ name) => {
    if (SYMBOLS[name]) return [worded(SYMBOLS[name])];
    return name.startsWith("GHS") ? [pictogramText(name)] : [];
  });
  return [text, shown.length > 0 && listed(shown)].filter(Boolean).join(" ");
}

/** @param {Fields} piece */
function textsOf({ piece, parts }) {
  const rows = parts.map((/** @type {Fields} */ part) => {
    const { part: name, language } = part;
    return h(
      "div",
      {},
      h("dt", {}, language ? `${partName(name)}, ${languageName(language)}` : partName(name)),
      h("dd", language ? { lang: language } : {}, partText(part)),
    );
  });
  return h(
    "div",
    {},
    h("h3", {}, worded(PIECES[piece] ?? message("{piece}", { piece }))),
    h("dl", { class: "stands" }, ...rows),
  );
}

/** @param {Fields[]} least */
function leastTable(least) {
  const rows = least.map(({ what, least: owed, has, unit, met, article, status, note }) =>
    h(
      "li",
      { class: met ? "for" : "against" },
      h("b", {}, worded(MEASURES[what] ?? message("{what}", { what }))),
      " ",
      unit === "ratio"
        ? t("has {has} : 1, and {least} : 1 is the least.", { has, least: owed })
        : t("has {has} {unit}, and {least} {unit} is the least.", {
            has,
            least: owed,
            unit: unit === "mm × mm" ? "mm" : unit,
          }),
      note && h("span", {}, " ", saidText(note)),
      h("span", { class: "source" }, " ", sourceText(article, status)),
    ),
  );
  return h("ul", { class: "reasons" }, ...rows);
}

/** @param {string} article @param {string} status */
function sourceText(article, status) {
  const read = STATUS[status] && worded(STATUS[status]);
  if (!article) return read ? `(${read})` : "";
  return read ? `(${article}; ${read})` : `(${article})`;
}
