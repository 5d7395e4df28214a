/** What a maker types, read into base units (g, ml, °C, mm); base units, written as she reads them. */
import { InputError } from "../words/door.js";
import * as checks from "./checks.js";
import * as rounding from "./rounding.js";
import table from "./unit_table.js";

/** @typedef {"mass" | "volume" | "temperature" | "length"} Dimension */
/**
 * @typedef {object} Measures
 * @property {string} base
 * @property {Record<string, {step: number, factor: number, before: number}>} units
 * @property {Record<string, string>} spellings
 * @property {[string, number, number]} range
 * @property {string} example
 * @property {string} article
 */

/** @type {Record<string, Measures>} */
const DIMENSIONS = /** @type {any} */ (table.dimensions);
/** @type {Record<string, string>} */
const WHOSE = table.whose;

const PART =
  /\s*([+\-−]?)\s*(?:(?:(\d{1,6})\s+)?(\d{1,6})\s*\/\s*(\d{1,6})|(\d[\d.,'\s]*\d|\d|[.,]\d+))\s*([^\d+\-−]*)/uy;
const SPACED = /^\d{1,3}([\s']\d{3})+([.,]\d+)?$/;
/** What only one of the two languages takes for a space. */
const ODD_SPACES = /[\x1c-\x1f\x85\ufeff]/g;
/** @type {Record<string, string>} */
const FRACTIONS = { "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3", "⅛": " 1/8" };

/** The units a dimension can be shown in. @param {string} dimension */
export function unitsOf(dimension) {
  return Object.keys(DIMENSIONS[dimension].units);
}

/** A base-unit `value` as a plain number in `unit`.
 * @param {number} value @param {string} dimension @param {string} unit */
export function convert(value, dimension, unit) {
  known(dimension, unit);
  checks.number(value, DIMENSIONS[dimension].range[0]);
  const { factor, before } = DIMENSIONS[dimension].units[unit];
  return value / factor - before;
}

/** Read what a maker typed into g, ml, °C or mm.
 * @param {string} text @param {string} dimension @param {string | null} [unit] what a bare number is in
 * @returns {number} */
export function parseQuantity(text, dimension, unit = null) {
  const preferred = unit ?? DIMENSIONS[dimension]?.base;
  known(dimension, preferred);
  const { units, range, base, example } = DIMENSIONS[dimension];
  const [word, least, most] = range;
  const typed = text.replace(ODD_SPACES, " ");
  let total = 0;
  split(typed, dimension).forEach(([amount, spelt], index) => {
    const meant = unitMeant(spelt, dimension, preferred);
    if (dimension === "temperature" && index > 0) {
      throw new InputError(`Write one temperature, such as ${example}.`);
    }
    if (index > 0 && (spelt === "" || amount < 0)) {
      throw new InputError(`Can't read “${typed.trim()}”: write ${example}.`);
    }
    total += (amount + units[meant].before) * units[meant].factor;
  });
  if (total < 0 && least === 0) {
    throw new InputError(`${word} can't be less than zero: check “${typed.trim()}”.`);
  }
  // A billionth either way, so that −459.67 °F is let through however it was converted.
  if (!(least - 1e-9 <= total && total <= most + 1e-9)) {
    throw new InputError(
      `${word} must be from ${checks.plain(least)} to ${checks.plain(most)} ${base}: check “${typed.trim()}”.`,
    );
  }
  return total;
}

/** A plain number, read as carefully as a quantity: '7,5' and '7.5' alike. @param {string} text */
export function parseNumber(text) {
  const stripped = text.replace(ODD_SPACES, " ").trim();
  PART.lastIndex = 0;
  const match = PART.exec(stripped);
  if (match === null || match[0].length !== stripped.length || match[5] === undefined || match[6] !== "") {
    throw new InputError(`Can't read “${stripped}”: write a number, such as 8 or 7.5.`);
  }
  const amount = numberMeant(match[5], stripped);
  return checks.number(match[1] === "-" || match[1] === "−" ? -amount : amount, "The number");
}

/** Write a base-unit `value` in `unit`, rounded once, half up.
 * @param {number} value @param {string} dimension @param {string} unit @param {number | null} [step] */
export function formatQuantity(value, dimension, unit, step = null) {
  if (dimension === "mass" && unit === "lb oz") return poundsAndOunces(value, step ?? 0.1);
  const amount = convert(value, dimension, unit);
  return `${rounding.write(amount, step ?? DIMENSIONS[dimension].units[unit].step)} ${unit}`;
}

/** @param {number} value @param {number} step */
function poundsAndOunces(value, step) {
  const ounces = rounding.roundTo(convert(value, "mass", "oz"), step);
  const pounds = Math.floor(Math.abs(ounces) / 16);
  const rest = rounding.write(Math.abs(ounces) - 16 * pounds, Number(`1e-${rounding.decimalsOf(step)}`));
  const sign = ounces < 0 ? "-" : "";
  return pounds ? `${sign}${pounds} lb ${rest} oz` : `${sign}${rest} oz`;
}

/** @param {string} dimension @param {string | undefined} unit */
function known(dimension, unit) {
  if (!Object.hasOwn(DIMENSIONS, dimension)) {
    throw new InputError(`“${dimension}” is not mass, volume, temperature or length.`);
  }
  if (unit === undefined || !Object.hasOwn(DIMENSIONS[dimension].units, unit)) {
    throw new InputError(`“${unit}” is not a unit of ${dimension}.`);
  }
}

/** Numbers and the words behind them, in order. @param {string} text @param {string} dimension
 * @returns {[number, string][]} */
function split(text, dimension) {
  const { article, example } = DIMENSIONS[dimension];
  let stripped = text.trim();
  for (const [glyph, speltOut] of Object.entries(FRACTIONS)) {
    stripped = stripped.replaceAll(glyph, speltOut);
  }
  stripped = stripped.trim().replace(/(cm|in)3/g, "$1³");
  if (stripped === "") throw new InputError(`Write ${article}, such as ${example}.`);
  /** @type {[number, string][]} */
  const parts = [];
  let position = 0;
  while (position < stripped.length) {
    PART.lastIndex = position;
    const match = PART.exec(stripped);
    if (match === null) throw new InputError(`Can't read “${stripped}”: write ${example}.`);
    const [all, sign, whole, over, under, digits, spelt] = match;
    let amount;
    if (digits === undefined) {
      if (Number(under) === 0) throw new InputError(`Can't divide by zero in “${stripped}”.`);
      amount = Number(whole ?? 0) + Number(over) / Number(under);
    } else {
      amount = numberMeant(digits, stripped);
    }
    parts.push([sign === "-" || sign === "−" ? -amount : amount, squeeze(spelt)]);
    position += all.length;
  }
  return parts;
}

/** Lower case, no spaces, no full stops or commas: 'Fl. Oz' is 'floz'. @param {string} spelt */
function squeeze(spelt) {
  return spelt.replace(/[\s.,;]/g, "").toLowerCase();
}

/** A decimal point or comma; spaces, apostrophes or the other mark between thousands.
 * @param {string} digits @param {string} text */
function numberMeant(digits, text) {
  const unreadable = `Can't read the number in “${text}”: write 1400 or 1400.5.`;
  if (/[\s']/.test(digits) && !SPACED.test(digits)) throw new InputError(unreadable);
  let bare = digits.replace(/[\s']/g, "");
  const points = bare.split(".").length - 1;
  const commas = bare.split(",").length - 1;
  if (points && commas) {
    const decimal = bare.lastIndexOf(".") > bare.lastIndexOf(",") ? "." : ",";
    const grouping = decimal === "." ? "," : ".";
    if (!new RegExp(`^\\d{1,3}(\\${grouping}\\d{3})+\\${decimal}\\d+$`).test(bare)) {
      throw new InputError(unreadable);
    }
    bare = bare.replaceAll(grouping, "").replace(decimal, ".");
  } else if (commas === 1 && /^[1-9]\d{0,2},\d{3}$/.test(bare)) {
    throw new InputError(
      `“${bare}” could be ${bare.replace(",", ".")} or ${bare.replace(",", "")}: write it without the comma.`,
    );
  } else if (commas > 1 || points > 1) {
    const grouping = commas ? "," : ".";
    if (!new RegExp(`^\\d{1,3}(\\${grouping}\\d{3})+$`).test(bare)) throw new InputError(unreadable);
    bare = bare.replaceAll(grouping, "");
  } else {
    bare = bare.replace(",", ".");
  }
  if (bare.length > 15) throw new InputError(`The number in “${text}” is too long: check it.`);
  return Number(bare);
}

/** The unit meant by what was typed behind the number.
 * @param {string} spelt @param {string} dimension @param {string} preferred */
function unitMeant(spelt, dimension, preferred) {
  if (spelt === "") return preferred;
  if (Object.hasOwn(WHOSE, spelt)) {
    if (dimension !== "volume") throw new InputError(wrongKind(spelt, dimension));
    return `${preferred.startsWith("imp") ? "imp" : "US"} ${WHOSE[spelt]}`;
  }
  const found = spelling(spelt, dimension);
  if (found === "°") return preferred;
  if (found !== null) return found;
  for (const other of Object.keys(DIMENSIONS)) {
    if (spelling(spelt, other) !== null) throw new InputError(wrongKind(spelt, dimension));
  }
  throw new InputError(`“${spelt}” is not a unit that the bench knows: write ${DIMENSIONS[dimension].example}.`);
}

/** @param {string} spelt @param {string} dimension @returns {string | null} */
function spelling(spelt, dimension) {
  const { units, spellings } = DIMENSIONS[dimension];
  const shown = Object.keys(units).find((unit) => squeeze(unit) === spelt);
  return shown ?? (Object.hasOwn(spellings, spelt) ? spellings[spelt] : null);
}

/** @param {string} spelt @param {string} dimension */
function wrongKind(spelt, dimension) {
  const volume = spelling(spelt, "volume");
  const fluid = Object.hasOwn(WHOSE, spelt) || volume === "US fl oz" || volume === "imp fl oz";
  if (dimension === "mass" && fluid) {
    return (
      "A fluid ounce is a volume, and wax and fragrance are weighed: a fluid ounce of wax " +
      "or oil does not weigh an ounce. Weigh it, and write oz or g."
    );
  }
  if (dimension === "volume" && spelling(spelt, "mass") === "oz") {
    return "An ounce (oz) is a weight: for a volume write fl oz or ml.";
  }
  const { article, example } = DIMENSIONS[dimension];
  return `“${spelt}” does not measure ${article}: write ${example}.`;
}
