/** How the numbers and days of a spreadsheet are written, found from its cells. Pure. */
import { InputError } from "../words/door.js";

/** @typedef {"." | ","} Decimal what stands before decimals */
/** @typedef {"day" | "month"} DayOrder what comes first in 03/04/2026 */

const NUMBER = /\d[\d.,]*/g;

// ---- numbers -----------------------------------------------------------------------------------

/**
 * What stands before the decimals in these cells. '1,5' and '0,905' tell; '1,234' alone does not.
 * @param {string[]} cells @param {string} separator of the file: where nothing tells, a file with semicolons is taken
 *   to have decimal commas
 * @returns {Decimal}
 */
export function decimalOf(cells, separator) {
  const votes = { ".": 0, ",": 0 };
  for (const cell of cells) {
    for (const [number] of cell.matchAll(NUMBER)) {
      const sign = decimalIn(number);
      if (sign !== null) votes[sign] += 1;
    }
  }
  if (votes[","] === votes["."]) return separator === ";" ? "," : ".";
  return votes[","] > votes["."] ? "," : ".";
}

/** @param {string} number @returns {Decimal | null} */
function decimalIn(number) {
  const signs = /** @type {Decimal[]} */ (number.replace(/\d/g, "").split(""));
  const last = signs.at(-1);
  if (last === undefined) return null;
  const first = signs[0];
  if (first !== last) return last;
  const other = last === "," ? "." : ",";
  // One sign several times parts thousands.
  if (signs.length > 1) return other;
  return /^[1-9]\d{0,2}[.,]\d{3}$/.test(number) ? null : last;
}

/** A cell with its numbers as '1234.5': no sign between thousands, and a point before decimals.
 * @param {string} cell @param {Decimal} decimal what this file has before decimals */
export function plainNumbers(cell, decimal) {
  const thousands = decimal === "," ? /^\d{1,3}(?:\.\d{3})+(?:,\d*)?$/ : /^\d{1,3}(?:,\d{3})+(?:\.\d*)?$/;
  return cell.replace(NUMBER, (number) => {
    const bare = thousands.test(number) ? number.replaceAll(decimal === "," ? "." : ",", "") : number;
    return decimal === "," && /^\d+,\d+$/.test(bare) ? bare.replace(",", ".") : bare;
  });
}

// ---- days --------------------------------------------------------------------------------------

const TIME = /[T ]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?Z?$/;
const YEAR_FIRST = /^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$/;
const YEAR_LAST = /^(\d{1,2})([-/.])(\d{1,2})\2(\d{4})$/;

/**
 * What comes first in days such as 03/04/2026. One that can only be read in one way tells for the whole file.
 * @param {string[]} cells
 * @returns {{order: DayOrder | null, unsure: string | null}} `order` null: nothing tells, or they contradict each
 *   other; `unsure`: the first cell for which it matters
 */
export function dayOrderOf(cells) {
  /** @type {Set<DayOrder>} */
  const told = new Set();
  let unsure = null;
  for (const cell of cells) {
    const [, one, sign, other] = YEAR_LAST.exec(dayIn(cell)) ?? [];
    if (one === undefined || sign === ".") continue;
    if (Number(one) > 12) told.add("day");
    else if (Number(other) > 12) told.add("month");
    else if (one.padStart(2, "0") !== other.padStart(2, "0")) unsure ??= dayIn(cell);
  }
  return { order: told.size === 1 ? [...told][0] : null, unsure };
}

/** A cell without the time of day that some spreadsheets write behind a day. @param {string} cell */
const dayIn = (cell) => cell.trim().replace(TIME, "");

/**
 * The day in a cell: 2026-12-31, 31.12.2026, 31/12/2026 or 12/31/2026. With full stops the day comes first.
 * @param {string} cell @param {DayOrder | null} order of days with slashes or dashes
 * @returns {string} ISO 8601
 * @throws {InputError} no day, or it could be two
 */
export function readDay(cell, order) {
  const typed = dayIn(cell);
  const [, year, month, day] = YEAR_FIRST.exec(typed) ?? [];
  if (year !== undefined) return isoDay(year, month, day, typed);
  const [, one, sign, other, last] = YEAR_LAST.exec(typed) ?? [];
  if (one === undefined) {
    throw new InputError(
      "Can't read “{typed}” as a day: write it as 2026-12-31 or 31.12.2026, with all four figures of the year.",
      { typed },
      "cell",
    );
  }
  if (sign === "." || order === "day" || Number(one) > 12 || one.padStart(2, "0") === other.padStart(2, "0"))
    return isoDay(last, other, one, typed);
  if (order === "month" || Number(other) > 12) return isoDay(last, one, other, typed);
  throw new InputError("“{typed}” could be two days: say above which comes first.", { typed }, "cell");
}

/** @param {string} year @param {string} month @param {string} day @param {string} typed */
function isoDay(year, month, day, typed) {
  const iso = `${year}-${month.padStart(2, "0")}-${day.padStart(2, "0")}`;
  const at = new Date(`${iso}T12:00:00Z`);
  // Some engines make 3 March of 31 February.
  if (Number.isNaN(at.getTime()) || at.toISOString().slice(0, 10) !== iso)
    throw new InputError("There is no day “{typed}”: check it.", { typed }, "cell");
  return iso;
}
