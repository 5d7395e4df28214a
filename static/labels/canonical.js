/** JSON in which the order of names does not matter. @param {unknown} value @returns {string} */
export function canonical(value) {
  return JSON.stringify(value ?? null, (_, each) =>
    each !== null && typeof each === "object" && !Array.isArray(each)
      ? Object.fromEntries(Object.entries(each).sort(([a], [b]) => (a < b ? -1 : 1)))
      : each,
  );
}
