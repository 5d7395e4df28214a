/** What a maker types, read into base units (g, ml, °C, mm); base units, written as she reads them. */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";
import * as rounding from "./rounding.js";
import table from "./unit_table.js";

/** @typedef {"mass" | "volume" | "temperature" | "length"} Dimension */
/**
 * @typedef {object} Measures
 * @property {string} base
 * @property {Record<string, {step: number, factor: number, before: number}>} units
 * @property {Record<string, string>} spellings
 * @property {[number, number]} range least and most in the base unit; what lies outside was not meant
 */
/** @typedef {import("../words/door.js").Message} Message */

/** @type {Record<string, Measures>} */
const DIMENSIONS = /** @type {any} */ (table.dimensions);
/** @type {Record<string, string>} */
const WHOSE = table.whose;

/** How each dimension is spoken of: `name` begins a sentence; `nothing` is said where nothing was typed.
 * @type {Record<string, {name: Message, example: Message, nothing: Message, other: Message}>} */
const WORDS = {
  mass: {
    name: message("A weight"),
    example: message("285 g or 1 lb 4 oz"),
    nothing: message("Write a weight, such as {example}."),
    other: message("“{typed}” is not a weight: write {example}."),
  },
  volume: {
    name: message("A volume"),
    example: message("250 ml or 10 fl oz"),
    nothing: message("Write a volume, such as {example}."),
    other: message("“{typed}” is not a volume: write {example}."),
  },
  temperature: {
    name: message("A temperature"),
    example: message("70 °C or 158 °F"),
    nothing: message("Write a temperature, such as {example}."),
    other: message("“{typed}” is not a temperature: write {example}."),
  },
  length: {
    name: message("A length"),
    example: message("75 mm or 3 in"),
    nothing: message("Write a length, such as {example}."),
    other: message("“{typed}” is not a length: write {example}."),
  },
};

const PART =
  /\s*([+\-−]?)\s*(?:(?:(\d{1,6})\s+)?(\d{1,6})\s*\/\s*(\d{1,6})|(\d[\d.,'\s]*\d|\d|[.,]\d+))\s*([^\d+\-−]*)/uy;
const SPACED = /^\d{1,3}([\s']\d{3})+([.,]\d+)?$/;
/** What only one of the two languages takes for a space. */
const ODD_SPACES = /[\x1c-\x1f\x85\ufeff]/g;
/** @type {Record<string, string>} */
const FRACTIONS = { "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3", "⅛": " 1/8" };

/** A base-unit `value` as a plain number in `unit`.
 * @param {number} value @param {string} dimension @param {string} unit */
export function convert(value, dimension, unit) {
  known(dimension, unit);
  checks.number(value, WORDS[dimension].name, "value");
  const { factor, before } = DIMENSIONS[dimension].units[unit];
  return value / factor - before;
}

/** Read what a maker typed into g, ml, °C or mm.
 * @param {string} text @param {string} dimension @param {string | null} [unit] what a bare number is in
 * @returns {number} */
export function parseQuantity(text, dimension, unit = null) {
  const preferred = unit ?? DIMENSIONS[dimension]?.base;
  known(dimension, preferred);
  const { units, range, base } = DIMENSIONS[dimension];
  const { name, example } = WORDS[dimension];
  const [least, most] = range;
  const typed = text.replace(ODD_SPACES, " ");
  let total = 0;
  split(typed, dimension).forEach(([amount, spelt], index) => {
    const meant = unitMeant(spelt, dimension, preferred);
    if (dimension === "temperature" && index > 0) {
      throw new InputError("Write one temperature, such as {example}.", { example }, "text");
    }
    if (index > 0 && (spelt === "" || amount < 0)) {
      throw unreadable(typed.trim(), dimension);
    }
    total += (amount + units[meant].before) * units[meant].factor;
  });
  if (total < 0 && least === 0) {
    throw new InputError("{name} can't be less than zero: check “{typed}”.", { name, typed: typed.trim() }, "text");
  }
  // A billionth either way, so that −459.67 °F is let through however it was converted.
  if (!(least - 1e-9 <= total && total <= most + 1e-9)) {
    throw new InputError(
      "{name} must be from {low} to {high} {unit}: check “{typed}”.",
      { name, low: checks.plain(least), high: checks.plain(most), unit: base, typed: typed.trim() },
      "text",
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
    throw new InputError("Can't read “{typed}”: write a number, such as 8 or 7.5.", { typed: stripped }, "text");
  }
  const amount = numberMeant(match[5], stripped);
  const signed = match[1] === "-" || match[1] === "−" ? -amount : amount;
  return checks.number(signed, message("The number"), "text");
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
    throw new InputError("“{dimension}” is not mass, volume, temperature or length.", { dimension }, "dimension");
  }
  if (unit === undefined || !Object.hasOwn(DIMENSIONS[dimension].units, unit)) {
    throw new InputError("“{unit}” is not a unit of {dimension}.", { unit: String(unit), dimension }, "unit");
  }
}

/** Numbers and the words behind them, in order. @param {string} text @param {string} dimension
 * @returns {[number, string][]} */
function split(text, dimension) {
  const { nothing, example } = WORDS[dimension];
  let stripped = text.trim();
  for (const [glyph, speltOut] of Object.entries(FRACTIONS)) {
    stripped = stripped.replaceAll(glyph, speltOut);
  }
  stripped = stripped.trim().replace(/(cm|in)3/g, "$1³");
  if (stripped === "") throw new InputError({ ...nothing, values: { example } }, {}, "text");
  /** @type {[number, string][]} */
  const parts = [];
  let position = 0;
  while (position < stripped.length) {
    PART.lastIndex = position;
    const match = PART.exec(stripped);
    if (match === null) throw unreadable(stripped, dimension);
    const [all, sign, whole, over, under, digits, spelt] = match;
    let amount;
    if (digits === undefined) {
      if (Number(under) === 0) throw new InputError("Can't divide by zero in “{typed}”.", { typed: stripped }, "text");
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
  if (/[\s']/.test(digits) && !SPACED.test(digits)) throw unreadableNumber(text);
  let bare = digits.replace(/[\s']/g, "");
  const points = bare.split(".").length - 1;
  const commas = bare.split(",").length - 1;
  if (points && commas) {
    const decimal = bare.lastIndexOf(".") > bare.lastIndexOf(",") ? "." : ",";
    const grouping = decimal === "." ? "," : ".";
    if (!new RegExp(`^\\d{1,3}(\\${grouping}\\d{3})+\\${decimal}\\d+$`).test(bare)) {
      throw unreadableNumber(text);
    }
    bare = bare.replaceAll(grouping, "").replace(decimal, ".");
  } else if (commas === 1 && /^[1-9]\d{0,2},\d{3}$/.test(bare)) {
    throw new InputError(
      "“{typed}” could be {one} or {other}: write it without the comma.",
      { typed: bare, one: bare.replace(",", "."), other: bare.replace(",", "") },
      "text",
    );
  } else if (commas > 1 || points > 1) {
    const grouping = commas ? "," : ".";
    if (!new RegExp(`^\\d{1,3}(\\${grouping}\\d{3})+$`).test(bare)) throw unreadableNumber(text);
    bare = bare.replaceAll(grouping, "");
  } else {
    bare = bare.replace(",", ".");
  }
  if (bare.length > 15) throw new InputError("The number in “{typed}” is too long: check it.", { typed: text }, "text");
  return Number(bare);
}

/** The unit meant by what was typed behind the number.
 * @param {string} spelt @param {string} dimension @param {string} preferred */
function unitMeant(spelt, dimension, preferred) {
  if (spelt === "") return preferred;
  if (Object.hasOwn(WHOSE, spelt)) {
    if (dimension !== "volume") throw wrongKind(spelt, dimension);
    return `${preferred.startsWith("imp") ? "imp" : "US"} ${WHOSE[spelt]}`;
  }
  const found = spelling(spelt, dimension);
  if (found === "°") return preferred;
  if (found !== null) return found;
  for (const other of Object.keys(DIMENSIONS)) {
    if (spelling(spelt, other) !== null) throw wrongKind(spelt, dimension);
  }
  throw new InputError(
    "“{typed}” is not a unit that the bench knows: write {example}.",
    { typed: spelt, example: WORDS[dimension].example },
    "text",
  );
}

/** @param {string} spelt @param {string} dimension @returns {string | null} */
function spelling(spelt, dimension) {
  const { units, spellings } = DIMENSIONS[dimension];
  const shown = Object.keys(units).find((unit) => squeeze(unit) === spelt);
  return shown ?? (Object.hasOwn(spellings, spelt) ? spellings[spelt] : null);
}

/** @param {string} typed @param {string} dimension */
function unreadable(typed, dimension) {
  return new InputError("Can't read “{typed}”: write {example}.", { typed, example: WORDS[dimension].example }, "text");
}

/** @param {string} typed */
function unreadableNumber(typed) {
  return new InputError("Can't read the number in “{typed}”: write 1400 or 1400.5.", { typed }, "text");
}

/** @param {string} spelt @param {string} dimension */
function wrongKind(spelt, dimension) {
  const volume = spelling(spelt, "volume");
  const fluid = Object.hasOwn(WHOSE, spelt) || volume === "US fl oz" || volume === "imp fl oz";
  if (dimension === "mass" && fluid) {
    return new InputError(
      "A fluid ounce is a volume, and wax and fragrance are weighed: a fluid ounce of wax " +
        "or oil does not weigh an ounce. Weigh it, and write oz or g.",
      {},
      "text",
    );
  }
  if (dimension === "volume" && spelling(spelt, "mass") === "oz") {
    return new InputError("An ounce (oz) is a weight: for a volume write fl oz or ml.", {}, "text");
  }
  const { other, example } = WORDS[dimension];
  return new InputError({ ...other, values: { typed: spelt, example } }, {}, "text");
}
