/** A language that nobody speaks: English in accents, 40 % longer. Its twin is `benchapp/words/pseudo.py`, where it
 * is told what it is for. Only served when the server speaks it. */

const PLAIN = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";
const ACCENTED = "ÅƁÇÐÉƑĜĤÎĴĶĻṀÑÖÞǪŔŠŢÛṼŴẊÝŽåƀçðéƒĝĥîĵķļṁñöþǫŕšţûṽŵẋýž";
const LONGER = 0.4;

/** @param {string} text */
const accented = (text) => text.replace(/[A-Za-z]/g, (letter) => ACCENTED[PLAIN.indexOf(letter)]);

/** @param {string} template */
export function translate(template) {
  if (template.trim() === "") return template;
  const parts = template.split(/(\{\w+\})/);
  const plain = parts.filter((part) => !part.startsWith("{"));
  const letters = plain.reduce((sum, { length }) => sum + length, 0);
  const whole = parts.map((part) => (part.startsWith("{") ? part : accented(part))).join("");
  return `[${whole}${"~".repeat(Math.floor(letters * LONGER + 0.5))}]`;
}
