/**
 * What the law is said to want of a product's file, and how well that is known. Where a rule was not read in its own
 * text it asks and cautions: with it alone nothing is complete.
 */
import { message } from "../words/door.js";

/** @typedef {{says: import("../words/door.js").Message, article: string, status: "seen" | "second-hand" | "memory"}} Rule */

/** Regulation (EU) 2023/988 on general product safety. @type {Rule[]} */
export const RULES = [
  {
    says: message(
      "Before it is sold the maker analyses its risks, and writes down what it is, what makes it safer, and where fitting its risks, tests and standards.",
    ),
    article: "GPSR Art. 9(2)",
    status: "seen",
  },
  {
    says: message("The file is kept up to date, and for ten years after the product was placed on the market."),
    article: "GPSR Art. 9(3)",
    status: "seen",
  },
  {
    says: message("Each candle has its type, batch or serial number on it."),
    article: "GPSR Art. 9(5)",
    status: "seen",
  },
  {
    says: message("The maker’s name, postal and electronic address stand on it."),
    article: "GPSR Art. 9",
    status: "second-hand",
  },
  {
    says: message("An accident is reported to the authority without undue delay: look up how, and by when."),
    article: "GPSR Art. 20",
    status: "memory",
  },
  {
    says: message(
      "Of complaints no more personal data is kept than is needed, and for five years at most: look it up.",
    ),
    article: "GPSR Art. 9",
    status: "memory",
  },
];

/** For how long the file is kept, in years. */
export const FILE_YEARS = 10;

/** For how long personal data of a complaint may be kept at most, in years. */
export const PERSONAL_YEARS = 5;
