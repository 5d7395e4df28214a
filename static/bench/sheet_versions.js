/**
 * Pour sheets as they were kept, brought to the shape of today in memory; what is kept is never rewritten.
 *
 * | version | names what is used                                                                              |
 * |---------|-------------------------------------------------------------------------------------------------|
 * | none, 1 | by name alone: waxes, oils and extras are pairs of a name and a number, the wick is a text      |
 * | 2       | by id and name; scale and thermometer too                                                       |
 * | 3       | several sizes of vessel: `sizes`, and of each jug how many of each                              |
 */

/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {Record<string, any>} Raw a sheet of any version, or what another bench took for one */

/** Any sheet in today's shape. What an older one does not say is null, or an empty name.
 * @param {Raw} raw @returns {Sheet} @throws {TypeError} no version wrote it, so nothing can be said of its pour */
export function openSheet(raw) {
  if (!(raw.vessel.name && raw.wax_each_g > 0 && raw.jugs[0].vessels)) throw new TypeError();
  return /** @type {Sheet} */ (raw.version >= 3 ? raw : withSizes(raw.version >= 2 ? raw : withIds(raw)));
}

/** All its vessels are of one size. @param {Raw} raw of version 2 */
function withSizes(raw) {
  const { vessel, count, each_g, wax_each_g } = raw;
  const size = { id: vessel.id ?? null, name: vessel.name, most_g: vessel.most_g ?? null, count, each_g, wax_each_g };
  const jugs = raw.jugs.map((/** @type {Raw} */ jug) => ({ ...jug, sizes: [jug.vessels] }));
  return { ...raw, version: 3, sizes: [size], jugs };
}

/** @param {Raw} raw of version 1 */
function withIds(raw) {
  return {
    ...raw,
    version: 2,
    vessel: withId(raw.vessel),
    wick: raw.wick ? { id: null, name: raw.wick } : null,
    waxes: parts(raw.waxes, "share"),
    oils: parts(raw.oils, "share"),
    extras: parts(raw.extras, "fraction"),
    jug: { ...raw.jug, id: raw.jug.id || null },
    scale: { id: null, name: "" },
    fine: withId(raw.fine),
    thermometer: { id: null, name: "" },
  };
}

/** @param {Raw | undefined} tool */
function withId(tool) {
  return { id: null, ...tool };
}

/** @param {[string, number][] | undefined} pairs @param {"share" | "fraction"} amount */
function parts(pairs, amount) {
  return (pairs ?? []).map(([name, value]) => ({ id: null, name, [amount]: value }));
}
