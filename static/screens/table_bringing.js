/** A table that was read: which column holds what, what would come of it, and taking it. */

import { asItWas } from "../bench/csv.js";
import { oneAtATime } from "../records/changes.js";
import { askToKeep } from "../records/persistence.js";
import { saveAll } from "../records/save_all.js";
import { MATERIALS } from "../shelf/lots.js";
import { dayOrderOf, decimalOf, readDay } from "../shelf/table_cells.js";
import { headingParts, matchColumns } from "../shelf/table_columns.js";
import { planned } from "../shelf/table_plan.js";
import { dayText } from "../words/dates.js";
import { listed, plural, t } from "../words/door.js";
import { h, replaceKeepingFocus, setText, showFacts, showToast, slot } from "./dom.js";
import { fieldInWords } from "./form_words.js";
import { aboutKind } from "./kinds.js";
import { tryToKeep } from "./screen.js";
import { columnsOf, MATERIAL_KIND } from "./table_fields.js";
import { namesMissing } from "./table_references.js";
import { rowWays, takesUnit } from "./table_rows.js";

/** @typedef {import("../records/changes.js").Change} Change */
/** @typedef {import("../records/merge.js").Stored} Stored */
/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("../shelf/table_plan.js").Planned} Planned */
/** @typedef {import("../shelf/table_plan.js").Row} Row */
/** @typedef {import("./form_fields.js").DisplayUnits} DisplayUnits */
/** @typedef {import("./table_fields.js").Column} Column */
/** @typedef {{plain: Map<string, Plain[]>, seen: Map<string, Stored>, currency?: string}} Kept records by kind, deleted
 *   ones too; the same with their versions by kind and id */
/** @typedef {{columns: string[], rows: string[][], first_row: number, encoding: string, separator: string}} Table as the
 *   server has read it */

const SHOWN_ROWS = 5;
const SHOWN_REFUSED = 50;
const SHOWN_NAMES = 8;
/** Rows that are read before a tap may come between. */
const AT_ONCE = 100;

const NUMBERS = ["quantity", "percent", "number", "whole", "money", "minutes"];

/**
 * @param {HTMLElement} place
 * @param {{units: DisplayUnits, readKept: () => Promise<Kept>, kind: () => string}} given `kind`: what the table is of
 */
export function bringing(place, { units: given, readKept, kind }) {
  const part = (/** @type {string} */ name) => slot(place, name);
  /** @type {Table | null} */
  let table = null;
  let fileName = "";
  /** @type {Column[]} */
  let columns = [];
  /** The field of each column of the table. @type {(string | null)[]} */
  let holds = [];
  let byHand = { decimal: false, order: false };
  /** @type {Planned[]} */
  let plan = [];
  /** What was here when it was planned. @type {Kept["seen"]} */
  let seen = new Map();
  let turn = 0;

  for (const name of ["decimal", "order"])
    part(name).addEventListener("change", () => {
      byHand = { ...byHand, [name]: true };
      again();
    });
  for (const name of ["make", "material"]) part(name).addEventListener("change", () => again());
  part("material").replaceChildren(...MATERIALS.map((each) => h("option", { value: each }, aboutKind(each).many)));
  part("take").addEventListener("click", () => void take());

  const replan = oneAtATime(async () => {
    const mine = turn;
    if (table === null) return;
    const kept = await readKept();
    const units = { ...given, currency: kept.currency };
    const how = drawHow(table);
    const rows = rowsOf(table, holds);
    const ways = rowWays(kind(), columns, how, units, kept.plain);
    plan = [];
    seen = kept.seen;
    part("take").hidden = true;
    for (const each of planned(rows, ways)) {
      plan.push(each);
      if (plan.length % AT_ONCE !== 0) continue;
      part("counts").replaceChildren(h("li", {}, t("Reading row {n} of {all}…", { n: plan.length, all: rows.length })));
      await new Promise((resolve) => setTimeout(resolve));
      // What she has changed meanwhile is read instead.
      if (mine !== turn) return;
    }
    drawFirst(kept, units);
    drawMissing();
    drawCounts();
  });

  /** Read it anew: what is being read is out of date. */
  function again() {
    turn += 1;
    replan();
  }

  /** How cells are to be read, as far as it can be told from them and is not said by hand.
   * @param {Table} read @returns {import("./table_rows.js").How} */
  function drawHow(read) {
    const asOf = new Map(columns.map((column) => [column.name, column]));
    const cellsAs = (/** @type {string[]} */ kinds) =>
      holds.flatMap((name, at) =>
        kinds.includes(asOf.get(name ?? "")?.as ?? "") ? read.rows.map((row) => row[at]) : [],
      );
    const numbers = cellsAs(NUMBERS);
    if (!byHand.decimal) part("decimal").value = decimalOf(numbers, read.separator);
    part("numbers").hidden = !numbers.some((cell) => /\d[.,]\d/.test(cell));
    const { order, unsure } = dayOrderOf(cellsAs(["day"]));
    part("days").hidden = unsure === null;
    if (unsure !== null) {
      const chosen = byHand.order ? part("order").value : (order ?? "");
      setText(part("day"), t("In this file {day} is", { day: unsure }));
      part("order").replaceChildren(
        h("option", { value: "" }, t("choose")),
        h("option", { value: "day" }, dayText(readDay(unsure, "day"))),
        h("option", { value: "month" }, dayText(readDay(unsure, "month"))),
      );
      part("order").value = chosen;
    }
    /** @type {Map<string, string>} */
    const unitOf = new Map();
    holds.forEach((name, at) => {
      const { unit } = headingParts(read.columns[at]);
      const column = asOf.get(name ?? "");
      if (column && takesUnit(column, unit)) unitOf.set(column.name, unit);
    });
    return {
      decimal: part("decimal").value,
      order: (unsure === null ? order : part("order").value) || null,
      unitOf,
      make: part("make").checked,
      materialKind: part("material").value,
    };
  }

  function drawColumns() {
    if (table === null) return;
    const { rows } = table;
    part("columns").replaceChildren(
      ...table.columns.map((heading, at) => {
        const sample = rows.map((row) => row[at].trim()).find((cell) => cell !== "");
        const select = /** @type {HTMLSelectElement} */ (
          h(
            "select",
            { onchange: () => hold(at, select.value || null) },
            h("option", { value: "" }, t("leave it out")),
            ...columns.map(({ name, label }) => h("option", { value: name }, label)),
          )
        );
        select.value = holds[at] ?? "";
        const name = heading.trim() === "" ? t("Column {n}", { n: at + 1 }) : heading;
        const such = sample === undefined ? "" : t("such as “{sample}”", { sample: sample.slice(0, 60) });
        return h(
          "div",
          { class: "field" },
          h("label", {}, h("span", { class: "name" }, name, " ", h("small", {}, such)), select),
        );
      }),
    );
  }

  /** Let a column hold a field, and no other hold the same. @param {number} at @param {string | null} name */
  function hold(at, name) {
    holds = holds.map((each, other) => (other === at ? name : each === name ? null : each));
    const selects = /** @type {HTMLSelectElement[]} */ ([...part("columns").querySelectorAll("select")]);
    selects.forEach((select, other) => (select.value = holds[other] ?? ""));
    again();
  }

  /** @param {Kept} kept @param {DisplayUnits} units */
  function drawFirst(kept, units) {
    const names = new Map([...kept.plain.values()].flat().map((each) => [`${each.kind} ${each.id}`, each.name]));
    const states = { new: t("new"), changed: t("changes what is here"), same: t("here already") };
    replaceKeepingFocus(
      part("rows"),
      ...plan.slice(0, SHOWN_ROWS).map((row) => {
        const { number, state } = row;
        if (state === "refused") return h("p", {}, t("Row {n}: {why}", { n: number, why: row.why.message }));
        for (const made of row.needs) names.set(`${made.kind} ${made.id}`, made.values.name);
        const facts = columns.flatMap(({ name, label }) => {
          if (!Object.hasOwn(row.given, name)) return [];
          const { text } = fieldInWords(kind(), name, row.given[name], units, (of, id) => names.get(`${of} ${id}`));
          return [/** @type {[string, string]} */ ([label, text])];
        });
        return h(
          "section",
          {},
          h("h4", {}, t("Row {n}: {state}", { n: number, state: states[state] })),
          showFacts(h("dl", { class: "facts" }), facts),
          row.unfit.length > 0 &&
            h(
              "p",
              { class: "help" },
              t("Left out, as it does not go with the rest: {columns}", { columns: listed(row.unfit) }),
            ),
        );
      }),
    );
  }

  function drawMissing() {
    /** @type {Set<string>} */
    const names = new Set();
    for (const row of plan) {
      const all = row.state === "refused" ? namesMissing(row.why) : row.needs.map(({ values }) => values.name);
      for (const name of all) names.add(name);
    }
    part("making").hidden = names.size === 0;
    part("kinds").hidden = kind() !== "lot" || holds.includes(MATERIAL_KIND);
    const more = names.size - SHOWN_NAMES;
    const some = [...names].slice(0, SHOWN_NAMES);
    const all = more > 0 ? [...some, plural(more, "{n} more", "{n} more")] : some;
    setText(part("missing"), t("Make what is not here yet: {names}", { names: listed(all) }));
  }

  function drawCounts() {
    const count = (/** @type {Planned["state"]} */ state) => plan.filter((row) => row.state === state).length;
    const unfit = plan.filter((row) => row.state !== "refused" && row.unfit.length > 0).length;
    const lines = [
      count("new") > 0 && plural(count("new"), "{n} row is new.", "{n} rows are new."),
      count("changed") > 0 &&
        plural(count("changed"), "{n} row changes what is here.", "{n} rows change what is here."),
      count("same") > 0 && plural(count("same"), "{n} row is here already.", "{n} rows are here already."),
      unfit > 0 &&
        plural(
          unfit,
          "In {n} row a cell does not go with the rest, and is left out.",
          "In {n} rows a cell does not go with the rest, and is left out.",
        ),
      count("refused") > 0 && plural(count("refused"), "{n} row is refused:", "{n} rows are refused:"),
      plan.length === 0 && t("The table has no rows."),
    ];
    part("counts").replaceChildren(...lines.flatMap((line) => (line ? [h("li", {}, line)] : [])));
    const refused = plan.flatMap((row) => (row.state === "refused" ? [row] : []));
    const more = refused.length - SHOWN_REFUSED;
    part("refused").replaceChildren(
      ...refused
        .slice(0, SHOWN_REFUSED)
        .map(({ number, why }) => h("li", {}, t("Row {n}: {why}", { n: number, why: why.message }))),
      ...(more > 0 ? [h("li", {}, plural(more, "And {n} more.", "And {n} more."))] : []),
    );
    const taken = count("new") + count("changed");
    part("take").hidden = taken === 0;
    setText(part("take"), plural(taken, "Take {n} row", "Take {n} rows"));
  }

  async function take() {
    const rows = plan.flatMap((row) => (row.state === "new" || row.state === "changed" ? [row] : []));
    const made = new Map(rows.flatMap(({ needs }) => needs).map((each) => [`${each.kind} ${each.id}`, each]));
    const own = rows.map(({ id, values }) => ({ kind: kind(), id, values }));
    const all = [...made.values(), ...own].map((each) => ({ ...each, seen: seen.get(`${each.kind} ${each.id}`) }));
    part("take").disabled = true;
    const isKept = await tryToKeep(() => saveAll(all));
    part("take").disabled = false;
    if (!isKept) return;
    void askToKeep();
    showToast(plural(rows.length, "{n} row is in.", "{n} rows are in."));
  }

  return {
    /** @param {string} name of the file @param {Table} read */
    open(name, read) {
      fileName = name;
      const cells = (/** @type {string[]} */ row) => row.map(asItWas);
      table = { ...read, columns: cells(read.columns), rows: read.rows.map(cells) };
      part("make").checked = false;
      this.match();
      place.hidden = false;
      place.scrollIntoView();
    },

    /** Match the columns anew, as for another kind of record. */
    match() {
      if (table === null) return;
      byHand = { decimal: false, order: false };
      const { encoding, separator } = table;
      const count = table.rows.filter((row) => row.some((cell) => cell.trim() !== "")).length;
      const parted = { ",": t("commas"), ";": t("semicolons"), "\t": t("tabs") }[separator] ?? separator;
      const about = { file: fileName, rows: plural(count, "{n} row", "{n} rows"), parted, encoding };
      setText(
        part("told"),
        t("“{file}” has {rows}. Its cells are parted by {parted}, its letters are {encoding}.", about),
      );
      void readKept().then(({ currency }) => {
        if (table === null) return;
        columns = columnsOf(kind(), currency);
        holds = matchColumns(table.columns, columns);
        drawColumns();
        again();
      });
    },

    close() {
      table = null;
      plan = [];
      turn += 1;
      place.hidden = true;
      for (const name of ["counts", "refused", "rows", "columns"]) part(name).replaceChildren();
    },

    /** @param {Change[]} changes what it may be about has changed */
    follow(changes) {
      const kinds = ["supplier", "prices", kind(), ...MATERIALS];
      if (table !== null && changes.some((change) => !change.event && kinds.includes(change.kind))) again();
    },
  };
}

/** The rows that are not empty, by field. @param {Table} table @param {(string | null)[]} holds @returns {Row[]} */
function rowsOf({ rows, first_row }, holds) {
  return rows.flatMap((row, index) => {
    if (row.every((cell) => cell.trim() === "")) return [];
    /** @type {Record<string, string>} */
    const cells = {};
    row.forEach((cell, at) => {
      const name = holds[at];
      if (name !== null) cells[name] = cell.trim();
    });
    return [{ number: first_row + index, cells }];
  });
}
