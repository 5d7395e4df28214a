/** A language that nobody speaks: English in accents, 40 % longer. Its twin is `benchapp/words/pseudo.py`, where it
 * is told what it is for. Only served when the server speaks it. */

const PLAIN = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";
const ACCENTED = "ÅƁÇÐÉƑĜĤÎĴĶĻṀÑÖÞǪŔŠŢÛṼŴẊÝŽåƀçðéƒĝĥîĵķļṁñöþǫŕšţûṽŵẋýž";
const LONGER = 0.4;

/** @param {string} text */
const accented = (text) => text.replace(/[A-Za-z]/g, (letter) => ACCENTED[PLAIN.indexOf(letter)]);

/** A template in accents; one that is a place and nothing else stays as it is. @param {string} template */
export function translate(template) {
  const parts = template.split(/(\{\w+\})/);
  const plain = parts.filter((part) => !part.startsWith("{"));
  const letters = plain.reduce((sum, { length }) => sum + length, 0);
  if (plain.join("").trim() === "") return template;
  const whole = parts.map((part) => (part.startsWith("{") ? part : accented(part))).join("");
  const more = "~".repeat(Math.floor(letters * LONGER + 0.5));
  return `[${whole}${more.replace(/~{6}(?=~)/g, "~~~~~~ ")}]`;
}
