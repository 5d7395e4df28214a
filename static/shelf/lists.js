/** Lists put in order and in groups. Pure. */

/** For `sort`: by text, as its characters are numbered, on every phone alike. @param {string} a @param {string} b */
export const before = (a, b) => (a < b ? -1 : a > b ? 1 : 0);

/** Items by some text. @template T @param {Iterable<T>} items @param {(item: T) => string} by @returns {Map<string, T[]>} */
export function grouped(items, by) {
  /** @type {Map<string, T[]>} */
  const found = new Map();
  for (const item of items) {
    const key = by(item);
    const group = found.get(key);
    if (group === undefined) found.set(key, [item]);
    else group.push(item);
  }
  return found;
}
