/** Text as it is compared where something is looked for: without case and accents, in words. Pure. */

/** Letters that no accent can be taken off, and what is typed for them. @type {Record<string, string>} */
const LETTERS = {
  ß: "ss",
  æ: "ae",
  œ: "oe",
  ø: "o",
  ł: "l",
  đ: "d",
  ð: "d",
  þ: "th",
  ħ: "h",
  ŧ: "t",
  ı: "i",
  ŋ: "n",
  ĸ: "k",
  ς: "σ",
};

/** Stands in a number for its decimal sign. No word has it, and with it a text of Latin letters takes a byte a letter. */
const POINT = "·";

const APART = new RegExp(`[${Object.keys(LETTERS).join("")}]`, "g");
const MARKS = /\p{M}+/gu;
const APOSTROPHES = /['’ʼ]/g;
const DECIMAL = /(\p{N})[.,](?=\p{N})/gu;
const WORD = new RegExp(`[\\p{L}\\p{N}${POINT}]+`, "gu");

/** The words of a text: letters and digits, of a number its decimals too. @param {string} text @returns {string[]} */
export function wordsOf(text) {
  const plain = text
    .normalize("NFKD")
    .toLowerCase()
    .replace(MARKS, "")
    .replace(APART, (letter) => LETTERS[letter])
    .replace(APOSTROPHES, "")
    .replace(DECIMAL, `$1${POINT}`);
  return plain.match(WORD) ?? [];
}

/** Texts as one line of words, each with a blank before it, so that the beginnings of words can be told.
 * @param {...string} texts @returns {string} */
export function lineOf(...texts) {
  let line = "";
  for (const text of texts) for (const word of wordsOf(text)) line += ` ${word}`;
  return line;
}
