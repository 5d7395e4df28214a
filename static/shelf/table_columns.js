/** Which column of a spreadsheet holds which field of a form. Pure. */

/** @typedef {{name: string, labels: string[]}} Named a field, and what a column of it may be called */

/** Lower case, no accents, nothing but letters and digits: 'Préfix-Nº' is 'prefix no'. @param {string} text */
export function folded(text) {
  return text
    .normalize("NFKD")
    .replace(/\p{M}/gu, "")
    .toLowerCase()
    .replace(/ß/g, "ss")
    .replace(/[^\p{L}\p{N}]+/gu, " ")
    .trim();
}

/** A heading without the unit behind it, and the unit: 'Weight (kg)', 'Weight [kg]'. @param {string} heading */
export function headingParts(heading) {
  const [, name, round, square] = /^(.*?)\s*(?:\(([^()]*)\)|\[([^[\]]*)\])\s*$/s.exec(heading) ?? [];
  return name ? { name, unit: (round ?? square).trim() } : { name: heading.trim(), unit: "" };
}

/**
 * The field of each column, null where none is named like it. Of two columns of one name the first is taken.
 * @param {string[]} headings @param {Named[]} fields @returns {(string | null)[]}
 */
export function matchColumns(headings, fields) {
  const called = fields.map(({ name, labels }) => ({ name, as: new Set([name, ...labels].map(folded)) }));
  /** @type {(string | null)[]} */
  const found = headings.map(() => null);
  // A whole heading before one without its unit.
  for (const read of [folded, (/** @type {string} */ heading) => folded(headingParts(heading).name)]) {
    headings.forEach((heading, column) => {
      const text = read(heading);
      const match = called.find(({ name, as }) => as.has(text) && !found.includes(name));
      if (text !== "" && found[column] === null && match) found[column] = match.name;
    });
  }
  return found;
}
