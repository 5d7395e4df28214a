/** What past months come to, as charts and tables. */
import { percent } from "../bench/display_units.js";
import { digitsOf } from "../formulas/money.js";
import { dayText, localDate } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { barChart, dotChart } from "./back_charts.js";
import { degreesOf, earnedText, loadText, partLetter, partText, perDegree } from "./back_words.js";
import { h } from "./dom.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../shelf/back_sums.js").Sums} Sums */
/** @typedef {import("../shelf/back_told.js").Told} Told */
/** @typedef {[part: string, sums: Sums][]} Parts */
/** @typedef {{day: string, at_ms: number, name: string, value: number}} Reading what was read of one jug, from what was aimed at */

/** A table with a name. @param {string} name read aloud @param {string[]} heads
 * @param {(Node | string)[][]} rows the first cell of each is its name */
export function table(name, heads, rows) {
  const [first, ...others] = heads;
  const head = [h("th", { scope: "col" }, first), ...others.map((text) => h("th", { scope: "col" }, text))];
  const body = rows.map(([of, ...cells]) =>
    h("tr", {}, h("th", { scope: "row" }, of), ...cells.map((cell) => h("td", {}, cell))),
  );
  return h("table", { "aria-label": name }, h("thead", {}, h("tr", {}, ...head)), h("tbody", {}, ...body));
}

/** Candles and money by month: charts, and a table of both. @param {Parts} parts
 * @param {DisplayUnits} units @returns {Node[]} */
export function monthParts(parts, units) {
  const columns = parts.map(([part]) => partLetter(part));
  const span = { from: partText(parts[0][0]), to: partText(parts[parts.length - 1][0]) };
  const series = [
    { key: "first", name: t("made"), values: parts.map(([, { made }]) => made) },
    { key: "second", name: t("sold"), values: parts.map(([, { gone }]) => gone.sold) },
    { key: "third", name: t("broken"), values: parts.map(([, { gone }]) => gone.broken) },
  ];
  const totals = series.map(({ values }) => values.reduce((sum, n) => sum + n, 0));
  const label = t("Candles from {from} to {to}: {made} made, {sold} sold, {broken} broken. The table has each month.", {
    ...{ ...span, made: totals[0], sold: totals[1], broken: totals[2] },
  });
  const rows = parts.map(([part, sums]) => /** @type {[string, Sums]} */ ([partText(part), sums]));
  const currencies = [...new Set(parts.flatMap(([, { earned }]) => [...earned.keys()]))].sort();
  const money = currencies.map((currency) => {
    const minor = parts.map(([, { earned }]) => earned.get(currency) ?? 0);
    const sum = earnedText(new Map([[currency, minor.reduce((all, each) => all + each, 0)]]));
    const values = minor.map((each) => each / 10 ** digitsOf(currency));
    return figure(
      t("Earned"),
      [],
      barChart(columns, [{ key: "first", values }], {
        label: t("Earned from {from} to {to}: {sum}. The table has each month.", { ...span, sum }),
        unit: currency,
        whole: false,
      }),
    );
  });
  return [
    h(
      "div",
      { class: "charts" },
      figure(t("Candles"), series, barChart(columns, series, { label, unit: t("candles"), whole: true })),
      ...money,
    ),
    sumsTable(t("Candles and money by month"), t("Month"), rows),
    folded(t("Yield and load by month"), () => yieldTable(t("Yield and load by month"), t("Month"), rows, units)),
  ];
}

/** How many were made, sold and broke, and what was earned, a row each; what else became of them stands under its name.
 * @param {string} name @param {string} first @param {[name: Node | string, sums: Sums][]} rows */
export function sumsTable(name, first, rows) {
  return table(
    name,
    [first, t("Made"), t("Sold"), t("Broken"), t("Earned")],
    rows.map(([of, sums]) => {
      const { made, gone, earned } = sums;
      const cell = h("span", {}, of, h("span", { class: "under" }, otherwise(sums)));
      return [cell, String(made), String(gone.sold), String(gone.broken), earnedText(earned)];
    }),
  );
}

/** Where else candles went. @param {Sums} sums */
function otherwise({ gone }) {
  /** @type {[n: number, text: string][]} */
  const ways = [
    [gone.given, t("{n} given away", { n: gone.given })],
    [gone.handed_out, t("{n} went out otherwise", { n: gone.handed_out })],
    [gone.returned, t("{n} came back", { n: gone.returned })],
    [gone.destroyed, t("{n} destroyed", { n: gone.destroyed })],
    [gone.test_burned, t("{n} burned in a test", { n: gone.test_burned })],
  ];
  return ways.flatMap(([n, text]) => (n > 0 ? [text] : [])).join(", ");
}

/** What came of what was planned and weighed, a row each. @param {string} name @param {string} first
 * @param {[name: string, sums: Sums][]} rows @param {DisplayUnits} units */
export function yieldTable(name, first, rows, units) {
  const none = "–";
  return table(
    name,
    [first, t("Made of planned"), t("Into vessels"), t("Load, from plan"), t("Fragrance in, from target")],
    rows.map(([of, { put_away, made, planned, grams, off_load, off_c }]) => [
      of,
      put_away > 0 ? t("{made} of {planned}", { made, planned }) : none,
      grams.pours > 0 ? percent(grams.filled_g / grams.weighed_g) : none,
      off_load ? loadText(off_load.mean * 100) : none,
      off_c ? degreesOf(units)(off_c.mean) : none,
    ]),
  );
}

/** Both by recipe, each leading to its own page. @param {{recipe: string, title: string, sums: Sums}[]} recipes
 * @param {DisplayUnits} units @returns {Node[]} */
export function recipeParts(recipes, units) {
  const link = (/** @type {string} */ id, /** @type {string} */ title) => h("a", { href: `#/back/${id}` }, title);
  const linked = recipes.map(({ recipe, title, sums }) => /** @type {[Node, Sums]} */ ([link(recipe, title), sums]));
  const named = recipes.map(({ title, sums }) => /** @type {[string, Sums]} */ ([title, sums]));
  return [
    sumsTable(t("Candles and money by recipe"), t("Recipe"), linked),
    folded(t("Yield and load by recipe"), () => yieldTable(t("Yield and load by recipe"), t("Recipe"), named, units)),
  ];
}

/** How near it was, jug by jug: dots for temperature and load. @param {Told[]} pours @param {DisplayUnits} units
 * @returns {HTMLElement[]} nothing where nothing was read */
export function nearParts(pours, units) {
  const kept = pours.filter(({ given_up }) => !given_up);
  const temps = readingsOf(kept, ({ added }) =>
    added.map(([read_c, target_c]) => read_c !== null && read_c - target_c),
  );
  const loads = readingsOf(kept, (pour) =>
    pour.loads.map(([planned, reached]) => reached !== null && (reached - planned) * 100),
  );
  return [
    ...near(temps, t("The last reading before the fragrance, from its target"), {
      ...{ unit: units.units.temperature, times: perDegree(units), text: degreesOf(units) },
    }),
    ...near(loads, t("The load that was reached, from what was planned"), {
      ...{ unit: t("% of the wax"), times: 1, text: loadText },
    }),
  ];
}

/** @param {Told[]} pours @param {(pour: Told) => (number | false)[]} of @returns {Reading[]} oldest first */
function readingsOf(pours, of) {
  const found = pours.flatMap((pour) => {
    const day = localDate(pour.at);
    return of(pour).flatMap((value) =>
      value === false || !Number.isFinite(value) ? [] : [{ day, at_ms: pour.at, name: pour.title, value }],
    );
  });
  return found.sort((a, b) => a.at_ms - b.at_ms);
}

/** @param {Reading[]} readings @param {string} title
 * @param {{unit: string, times: number, text: (value: number) => string}} how @returns {HTMLElement[]} */
function near(readings, title, { unit, times, text }) {
  if (readings.length === 0) return [];
  let [low, high] = [Infinity, -Infinity];
  for (const { value } of readings) [low, high] = [Math.min(low, value), Math.max(high, value)];
  const ends = [readings[0], readings[readings.length - 1]].map(({ day }) => t("{day} {year}", yearOf(day)));
  const label = plural(
    readings.length,
    "{title}: {n} jug, {low}. The table has it.",
    "{title}: {n} jugs, from {low} to {high}. The table has each.",
    { title, low: text(low), high: text(high) },
  );
  const dots = readings.map(({ at_ms, value }) => ({ x: at_ms, y: value * times }));
  const rows = () => readings.map(({ day, name, value }) => [t("{day} {year}", yearOf(day)), name, text(value)]);
  return [
    h(
      "div",
      {},
      figure(title, [], dotChart(dots, { label, unit, ends: [ends[0], ends[1]], aim: t("target") })),
      folded(t("Each jug"), () => table(title, [t("Begun"), t("Recipe"), t("Reading")], rows())),
    ),
  ];
}

/** @param {string} day */
const yearOf = (day) => ({ day: dayText(day), year: day.slice(0, 4) });

/** What is drawn only when she opens it: there may be thousands of rows. @param {string} name @param {() => Node} content */
export function folded(name, content) {
  const details = h("details", {}, h("summary", {}, name));
  details.addEventListener("toggle", () => details.append(content()), { once: true });
  return details;
}

/** @param {string} title @param {{key: string, name: string}[]} keys @param {Element} chart */
function figure(title, keys, chart) {
  const caption = [h("b", {}, title), ...keys.map(({ key, name }) => h("span", { class: `key ${key}` }, name))];
  return h("figure", {}, h("figcaption", {}, ...caption), chart);
}
