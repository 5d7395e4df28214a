/**
 * What a burn test is held against, and where each figure is from.
 *
 * The standards' own texts are sold, and were not read: their figures are second-hand, and keeping them certifies
 * nothing.
 */
import { message } from "../words/door.js";

/** @typedef {import("../words/door.js").Message} Message */

/**
 * @typedef {object} Limit
 * @property {number} value
 * @property {"mm" | "s" | "h" | "h/mm" | "°C" | "candles"} unit
 * @property {"seen" | "second-hand" | "memory" | "common practice" | "hers"} status how well it is known
 * @property {Message} source where it is from, in a sentence
 */

/** The highest flame. @type {Limit} */
export const FLAME = {
  value: 75,
  unit: "mm",
  status: "second-hand",
  source: message("75 mm is said to be the highest flame that EN 15493 allows; its text was not read."),
};

/** How long a second flame may stand: here any that she sees ends the burn. @type {Limit} */
export const SECOND_FLAME = {
  value: 10,
  unit: "s",
  status: "memory",
  source: message("Any second flame ends the burn here; 10 s is a figure from memory."),
};

/** How long a wick may smoke once it is out, on average. @type {Limit} */
export const AFTER_SMOKE = {
  value: 30,
  unit: "s",
  status: "second-hand",
  source: message("30 s on average is said to be the limit of EN 15493:2019; its text was not read."),
};

/** The longest sitting. @type {Limit} */
export const SITTING = {
  value: 4,
  unit: "h",
  status: "second-hand",
  source: message("EN 15426:2018 is said to burn a candle for 4 h at a time; its text was not read."),
};

/** The shortest rest between two sittings. @type {Limit} */
export const REST = {
  value: 1,
  unit: "h",
  status: "second-hand",
  source: message("EN 15426:2018 is said to let a candle rest for at least 1 h; its text was not read."),
};

/** The fewest candles of a wick. @type {Limit} */
export const CANDLES = {
  value: 3,
  unit: "candles",
  status: "second-hand",
  source: message("EN 15426:2018 is said to take the mean of three candles; its text was not read."),
};

/** How much wax is left where a test ends. @type {Limit} */
export const RESIDUE = {
  value: 10,
  unit: "mm",
  status: "second-hand",
  source: message("EN 15426:2018 is said to stop at 10 mm of wax; its text was not read."),
};

/** When the pool should be at the wall, for each mm of width; no sitting is longer than `SITTING`. @type {Limit} */
export const FULL_POOL = {
  value: 1 / 25.4,
  unit: "h/mm",
  status: "common practice",
  source: message("About an hour for an inch of width is common practice, and has no source."),
};

/** How long a wick is before it is lit. @type {Limit} */
export const WICK = {
  value: 6,
  unit: "mm",
  status: "common practice",
  source: message("About 6 mm of wick is common practice, and has no source."),
};

/** A place that may get no hotter than she set. @param {number} temp_c @returns {Limit} */
export const hottest = (temp_c) => ({
  value: temp_c,
  unit: "°C",
  status: "hers",
  source: message("You set this limit."),
});

/** What is to be said beside every verdict. */
export const NO_CERTIFICATE = message(
  "This tells what your own candles did on your own bench. It certifies nothing, and stands in for no test house.",
);
