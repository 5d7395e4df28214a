/** What was said, as a number or a command. What can be read in two ways, or in none, is null: never a guess. */

/**
 * @typedef {{do: "next" | "undo" | "again"} | {number: number, text: string} | {lb: number, oz: number, text: string}} Word
 *   `text` is the quantity as it would be typed, with the unit only if one was said: `read` of displayUnits.js takes it
 */

/** What is said in English, with what a machine takes it for: what another language needs instead. */
const ENGLISH = {
  /** @type {Record<string, "next" | "undo" | "again">} */
  commands: {
    next: "next",
    necks: "next",
    "next one": "next",
    "next step": "next",
    undo: "undo",
    undue: "undo",
    "un do": "undo",
    again: "again",
    "a gain": "again",
    "say again": "again",
    "say that again": "again",
  },
  /** @type {Record<string, string>} */
  units: {
    g: "g",
    gram: "g",
    grams: "g",
    gramme: "g",
    grammes: "g",
    kg: "kg",
    kilo: "kg",
    kilos: "kg",
    kilogram: "kg",
    kilograms: "kg",
    oz: "oz",
    ounce: "oz",
    ounces: "oz",
    lb: "lb",
    lbs: "lb",
    pound: "lb",
    pounds: "lb",
    degree: "°",
    degrees: "°",
    c: "°C",
    celsius: "°C",
    centigrade: "°C",
    f: "°F",
    fahrenheit: "°F",
  },
  /** 0 to 19 */
  small: (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen " +
    "eighteen nineteen"
  ).split(" "),
  /** 20 to 90 */
  tens: "twenty thirty forty fifty sixty seventy eighty ninety".split(" "),
  nought: ["nought", "naught"],
  oh: ["oh", "o"],
  hundred: "hundred",
  thousand: "thousand",
  a: "a",
  and: "and",
  point: "point",
  minus: "minus",
  degrees: "degrees",
};

const { commands: COMMANDS, units: UNITS, small: SMALL, tens: TENS, oh: OH } = ENGLISH;

/** @type {Map<string, number>} */
const VALUES = new Map([
  ...SMALL.map((word, value) => /** @type {[string, number]} */ ([word, value])),
  ...TENS.map((word, index) => /** @type {[string, number]} */ ([word, 20 + 10 * index])),
  ...[...ENGLISH.nought, ...OH].map((word) => /** @type {[string, number]} */ ([word, 0])),
]);

/** @param {string} said @returns {Word | null} */
export function understand(said) {
  const words = wordsOf(said);
  const command = words.join(" ");
  if (Object.hasOwn(COMMANDS, command)) return { do: COMMANDS[command] };
  const pound = words.findIndex((word) => UNITS[word] === "lb");
  if (pound > 0 && pound < words.length - 1) return poundsAndOunces(words.slice(0, pound), words.slice(pound + 1));
  const { amount, unit } = unitOf(words);
  const number = numberOf(amount);
  return number === null ? null : { number, text: unit === "" ? String(number) : `${number} ${unit}` };
}

/** @param {string} said */
function wordsOf(said) {
  return said
    .toLowerCase()
    .replace(/[−–]/g, "-")
    .replace(/(^|\s)-\s?(?=[\d.])/g, `$1${ENGLISH.minus} `)
    .replace(/(\d),(?=\d{3}(\D|$))/g, "$1")
    .replace(/°/g, ` ${ENGLISH.degrees} `)
    .replace(/(\d)(?=[a-z])/g, "$1 ")
    .replace(/([a-z])-(?=[a-z])/g, "$1 ")
    .split(/\s+/)
    .map((word) => word.replace(/[.,;:!?]+$/, ""))
    .filter((word) => word !== "");
}

/** @param {string[]} pounds @param {string[]} rest @returns {Word | null} */
function poundsAndOunces(pounds, rest) {
  const { amount, unit } = unitOf(rest[0] === ENGLISH.and ? rest.slice(1) : rest);
  const [lb, oz] = [numberOf(pounds), numberOf(amount)];
  if (
    lb === null ||
    oz === null ||
    !Number.isInteger(lb) ||
    lb < 0 ||
    oz < 0 ||
    oz >= 16 ||
    (unit !== "oz" && unit !== "")
  )
    return null;
  return { lb, oz, text: `${lb} lb ${oz} oz` };
}

/** The unit at the end, if there is one; 'degrees' are hers. @param {string[]} words */
function unitOf(words) {
  const amount = [...words];
  const last = Object.hasOwn(UNITS, words[words.length - 1] ?? "") ? UNITS[amount.pop() ?? ""] : "";
  if (last.length === 2 && last[0] === "°" && UNITS[amount[amount.length - 1]] === "°") amount.pop();
  return { amount, unit: last === "°" ? "" : last };
}

/** @param {string[]} words @returns {number | null} */
function numberOf(words) {
  if (words[0] === ENGLISH.minus) {
    const size = words[1] === ENGLISH.minus ? null : numberOf(words.slice(1));
    return size === null || size === 0 ? size : -size;
  }
  if (words.length === 1 && /^\d{0,5}\.\d{1,3}$/.test(words[0])) return Number(words[0]);
  const point = words.indexOf(ENGLISH.point);
  if (point < 0) return wholeOf(words);
  const whole = point === 0 ? 0 : wholeOf(words.slice(0, point));
  const digits = digitsOf(words.slice(point + 1), /^\d{1,3}$/);
  return whole === null || digits === null || digits.length > 3 ? null : Number(`${whole}.${digits}`);
}

/** Digits one by one. @param {string[]} words @param {RegExp} numeral @returns {string | null} */
function digitsOf(words, numeral) {
  const digits = words.map((word) =>
    numeral.test(word) ? word : SMALL[VALUES.get(word) ?? 99] ? VALUES.get(word) : NaN,
  );
  const text = digits.join("");
  return digits.every((each) => typeof each === "string" || Number(each) < 10) && text !== "" ? text : null;
}

/** From 0 to 99 999, if it can be read in one way only. @param {string[]} words @returns {number | null} */
function wholeOf(words) {
  if (words.length === 1) {
    if (/^(0|[1-9]\d{0,4})$/.test(words[0])) return Number(words[0]);
    if (VALUES.get(words[0]) === 0 && !OH.includes(words[0])) return 0;
  }
  const digits = words.length > 1 && words.length < 6 ? digitsOf(words, /^\d$/) : null;
  const found = new Set([
    cardinalOf(words),
    ...pairsOf(words),
    digits === null || digits[0] === "0" ? null : Number(digits),
  ]);
  found.delete(null);
  return found.size === 1 ? [...found][0] : null;
}

/** 'One thousand one hundred and eighty-six', 'a hundred and six', 'eleven hundred'. @param {string[]} words @returns {number | null} */
function cardinalOf(words) {
  const [thousands, rest] = around(words, ENGLISH.thousand);
  if (thousands === null) return hundredsOf(rest, 99);
  const many = thousands.length === 0 || (thousands.length === 1 && thousands[0] === ENGLISH.a) ? 1 : tensOf(thousands);
  const more =
    rest.length === 0
      ? 0
      : rest[0] === ENGLISH.and
        ? tensOf(rest.slice(1))
        : rest[0] === ENGLISH.hundred
          ? null
          : hundredsOf(rest, 9);
  return many === null || more === null ? null : 1000 * many + more;
}

/** @param {string[]} words @param {number} most hundreds @returns {number | null} */
function hundredsOf(words, most) {
  const [hundreds, rest] = around(words, ENGLISH.hundred);
  if (hundreds === null) return tensOf(rest);
  const many = hundreds.length === 0 || (hundreds.length === 1 && hundreds[0] === ENGLISH.a) ? 1 : tensOf(hundreds);
  const more = rest.length === 0 ? 0 : tensOf(rest[0] === ENGLISH.and ? rest.slice(1) : rest);
  return many === null || more === null || many > most || many % 10 === 0 ? null : 100 * many + more;
}

/** What stands before a word and behind it; null before it where it is not there.
 * @param {string[]} words @param {string} word @returns {[string[] | null, string[]]} */
function around(words, word) {
  const at = words.indexOf(word);
  return at < 0 ? [null, words] : [words.slice(0, at), words.slice(at + 1)];
}

/** From 1 to 99. @param {string[]} words @returns {number | null} */
function tensOf(words) {
  const [tens, one] = words;
  if (words.length === 1) return /^[1-9]\d?$/.test(tens) ? Number(tens) : VALUES.get(tens) || null;
  const digit = SMALL.indexOf(one);
  return words.length === 2 && TENS.includes(tens) && digit > 0 && digit < 10
    ? /** @type {number} */ (VALUES.get(tens)) + digit
    : null;
}

/** 'Eleven eighty-six', 'one oh six': two digits are said as one. @param {string[]} words @returns {(number | null)[]} */
function pairsOf(words) {
  return words.map((_, at) => {
    const first = tensOf(words.slice(0, at));
    const rest = words.slice(at);
    const oh = OH.includes(rest[0]);
    const second = tensOf(oh ? rest.slice(1) : rest);
    return first === null || second === null || oh !== second < 10 ? null : 100 * first + second;
  });
}
