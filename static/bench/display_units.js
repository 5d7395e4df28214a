/** Her units: base units written as she reads them, and what she types read back. */
import { decimalsOf, write } from "../formulas/rounding.js";
import { convert, formatQuantity, parseQuantity } from "../formulas/units.js";
import { decimalSign, numberText } from "../words/numbers.js";

/** @typedef {import("../formulas/units.js").Dimension} Dimension */

/** The smallest difference worth showing where no scale or thermometer sets it, in each unit.
 * @type {Record<string, number>} */
const USUAL = {
  g: 1,
  oz: 0.1,
  "lb oz": 0.1,
  ml: 1,
  "US fl oz": 0.1,
  "imp fl oz": 0.1,
  "°C": 1,
  "°F": 1,
  mm: 1,
  cm: 0.1,
  in: 0.1,
};

/** What a workshop starts with. */
export const DEFAULTS = {
  mass_unit: "g",
  volume_unit: "ml",
  temperature_unit: "°C",
  length_unit: "mm",
  room_c: 20,
  allowance_g: 5,
};

/** @typedef {ReturnType<typeof displayUnits>} DisplayUnits */

/** @param {Record<string, any>} workshop the workshop's record, or nothing yet */
export function displayUnits(workshop) {
  /** @type {Record<string, string>} */
  const units = {
    mass: workshop.mass_unit ?? DEFAULTS.mass_unit,
    volume: workshop.volume_unit ?? DEFAULTS.volume_unit,
    temperature: workshop.temperature_unit ?? DEFAULTS.temperature_unit,
    length: workshop.length_unit ?? DEFAULTS.length_unit,
  };

  /** The step of a scale (g) or thermometer (°C) as a step of her unit; the usual one without.
   * @param {string} dimension @param {number | null | "fine"} step */
  function stepIn(dimension, step) {
    const unit = units[dimension];
    if (step === null) return USUAL[unit];
    if (step === "fine") return USUAL[unit] / 10;
    if (dimension === "temperature") return step;
    return neat(convert(step, dimension, unit === "lb oz" ? "oz" : unit));
  }

  /** Number and unit apart. @param {number} value base unit @param {string} dimension
   * @param {number | null | "fine"} [step] base unit */
  function amount(value, dimension, step = null) {
    if (dimension === "temperature difference") {
      return { number: numberText(write(value, typeof step === "number" ? step : 1)), unit: units.temperature };
    }
    const unit = units[dimension];
    if (unit === "lb oz") {
      return { number: numberText(formatQuantity(value, "mass", unit, stepIn(dimension, step))), unit: "" };
    }
    return { number: grouped(write(convert(value, dimension, unit), stepIn(dimension, step))), unit };
  }

  return {
    units,
    amount,
    stepIn,

    /** @param {number} value @param {string} dimension @param {number | null | "fine"} [step] */
    text(value, dimension, step = null) {
      const { number, unit } = amount(value, dimension, step);
      return unit === "" ? number.replaceAll(" ", "\u00a0") : `${number}\u00a0${unit}`;
    },

    /** A reading `steps` steps of the scale or thermometer further, as its display in her unit would have it.
     * @param {number} value base unit @param {Dimension} dimension @param {number} step base unit @param {number} steps */
    stepped(value, dimension, step, steps) {
      const unit = units[dimension] === "lb oz" ? "oz" : units[dimension];
      const by = stepIn(dimension, step);
      // Below nothing there is nothing to weigh.
      const least = dimension === "mass" ? 0 : -Infinity;
      const moved = Math.max(least, convert(value, dimension, unit) + steps * by);
      return parseQuantity(`${write(moved, by)} ${unit}`, dimension, unit);
    },

    /** So many steps of the scale or thermometer, written without a unit.
     * @param {Dimension} dimension @param {number} step base unit @param {number} steps */
    step(dimension, step, steps) {
      const by = stepIn(dimension, step);
      return numberText(write(steps * by, by));
    },

    /** For a text box: no grouping, enough digits to lose nothing, and the decimal sign that no reader mistakes.
     * @param {number} value @param {string} dimension */
    editable(value, dimension) {
      const unit = units[dimension] === "lb oz" ? "oz" : units[dimension];
      const converted = convert(value, dimension, unit);
      return `${Number(converted.toPrecision(10))} ${unit}`;
    },

    /** @param {string} text @param {string} dimension @returns {number} base unit */
    read(text, dimension) {
      const unit = units[dimension];
      if (unit !== "lb oz") return parseQuantity(text, dimension, unit);
      // '1 lb 4' on a scale that shows pounds and ounces means four ounces.
      return parseQuantity(/lb\s*[\d.,]+\s*$/.test(text) ? `${text} oz` : text, dimension, "oz");
    },
  };
}

/** A scale that steps by 1 g does not step by 0.035274 oz when it shows ounces: the decimal below.
 * One that steps by an eighth of an ounce does so. @param {number} step */
function neat(step) {
  return decimalsOf(step) <= 3 ? step : 10 ** Math.floor(Math.log10(step) + 1e-9);
}

/** As the language has it, with the house's narrow space between thousands.
 * @param {string} number digits, and a full stop before the decimals */
export function grouped(number) {
  const [whole, part] = number.split(".");
  const spaced = whole.replace(/\B(?=(\d{3})+$)/g, "\u202f");
  return part === undefined ? spaced : `${spaced}${decimalSign()}${part}`;
}

/** A fraction as a percentage: 0.08 is '8.0 %'. @param {number} fraction @param {number} [step] in per cent */
export function percent(fraction, step = 0.1) {
  return `${numberText(write(fraction * 100, step))}\u00a0%`;
}
