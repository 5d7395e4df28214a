/** Pieces of a drawing. */

/** @param {string} name @param {Record<string, string | number>} attributes @param {...Element} children */
export function svg(name, attributes, ...children) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  element.append(...children);
  return element;
}

/** Words in a drawing. @param {string} text @param {number} x @param {number} y @param {string} anchor 'start', 'middle' or
 * 'end' */
export function words(text, x, y, anchor) {
  const element = svg("text", { x: place(x), y: place(y), "text-anchor": anchor });
  element.textContent = text;
  return element;
}

/** A place in a drawing, as fine as is seen. @param {number} n */
export const place = (n) => Math.round(n * 10) / 10;

/** At most so many steps along an axis. */
const STEPS = 5;

/** Round numbers from one end of an axis to the other: 1, 2 or 5 times a power of ten apart.
 * @param {number} least @param {number} most */
export function ticksOf(least, most) {
  const span = most - least;
  if (!(span > 0)) return [least];
  const rough = span / STEPS;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((times) => times * power).find((each) => each >= rough * (1 - 1e-9)) ?? 10 * power;
  const count = Math.floor(span / step + 1e-9);
  return Array.from({ length: count + 1 }, (_, n) => Number((least + n * step).toPrecision(12)));
}
