/** Which lots and temperatures came with which tops, as counts. */

import { percent } from "../bench/display_units.js";
import { topsInWords } from "../bench/tops.js";
import { convert } from "../formulas/units.js";
import { bandOf, groupsOf, isPoor, LEAST, looked, topsOf } from "../shelf/back_tops.js";
import { t } from "../words/door.js";
import { folded, table } from "./back_parts.js";
import { h } from "./dom.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../shelf/back_told.js").Told} Told */
/** @typedef {import("../shelf/back_tops.js").Group} Group */

/** How wide a band of temperatures is, in her degrees (our choice). @type {Record<string, number>} */
const WIDE = { "°C": 2, "°F": 4 };

/** What may be asked of the tops: anything that is not smooth, and each fault that there was.
 * @param {Told[]} pours @returns {[value: string, name: string][]} */
export function faultsOf(pours) {
  const found = topsOf(pours).filter(([tops]) => isPoor(tops));
  return [
    ["", t("anything but smooth")],
    ...found.map(([tops]) => /** @type {[string, string]} */ ([tops, topsInWords(tops)])),
  ];
}

/** How the tops looked. @param {Told[]} pours @returns {[name: string, value: string][]} */
export function topsFacts(pours) {
  const of = looked(pours).length;
  return topsOf(pours).map(([tops, n]) => [topsInWords(tops), t("**{n}** of {of}", { n, of })]);
}

/**
 * What came with a fault: by lot, by temperature, by room.
 * @param {Told[]} pours @param {string} fault its name; "": anything but smooth
 * @param {Map<string, {name: string, of: string}>} lots their names, and of what they are, by 'kind id'
 * @param {DisplayUnits} units @returns {Node[]}
 */
export function topsParts(pours, fault, lots, units) {
  const isSo = fault === "" ? isPoor : (/** @type {string} */ tops) => tops === fault;
  const band = (/** @type {(pour: Told) => (number | null)[]} */ readingsOf) => {
    const found = groupsOf(pours, isSo, (pour) => {
      const at = bandOf(inUnit(readingsOf(pour), units), WIDE[units.units.temperature]);
      return at === null ? [] : [String(at)];
    });
    return { ...found, groups: found.groups.sort((a, b) => Number(a.key) - Number(b.key)) };
  };
  const byLot = groupsOf(pours, isSo, (pour) => pour.lots.map(([kind, lot]) => `${kind} ${lot}`));
  const lotName = (/** @type {Group} */ { key }) => {
    const lot = lots.get(key);
    return lot ? t("{material}, {lot}", { material: lot.of, lot: lot.name }) : t("a lot that is not kept");
  };
  const degrees = (/** @type {Group} */ { key }) => bandText(Number(key), units);
  const what = faultsOf(pours).find(([value]) => value === fault)?.[1] ?? fault;
  const titled = (/** @type {string} */ by) => t("{by}: {fault}", { by, fault: what });
  const parts = [
    part(
      titled(t("By lot")),
      t("Lot"),
      { ...byLot, groups: byLot.groups.sort((a, b) => (lotName(a) < lotName(b) ? -1 : 1)) },
      lotName,
    ),
    part(
      titled(t("By the last reading before the fragrance")),
      t("Temperature"),
      band(({ added }) => added.map(([c]) => c)),
      degrees,
    ),
    part(
      titled(t("By the last reading before the pour")),
      t("Temperature"),
      band(({ poured_c }) => poured_c),
      degrees,
    ),
    part(
      titled(t("By the room, as it stood in the plan")),
      t("Room"),
      band(({ room_c }) => [room_c]),
      degrees,
    ),
  ].flat();
  const note = t(
    "This counts what came together, and claims nothing. The range is where the share of all such pours lies, 90 times of 100 (Wilson); where two ranges overlap, they tell no difference, and of ten lots one looks different by chance. Of fewer than {n} pours nothing is said (our choice).",
    { n: LEAST },
  );
  return [...parts, h("p", { class: "help" }, note)];
}

/** @param {string} title @param {string} head @param {{groups: Group[], unknown: Group}} found
 * @param {(group: Group) => string} nameOf @returns {Node[]} nothing where there is nothing to hold beside each other */
function part(title, head, { groups, unknown }, nameOf) {
  if (groups.length < 2) return [];
  const rowOf = (/** @type {string} */ name, /** @type {Group} */ { count, of, range }) => [
    name,
    t("{n} of {of}", { n: count, of }),
    range === null ? t("too few to say") : rangeText(range),
  ];
  const rowsOf = (/** @type {Group[]} */ some) => some.map((group) => rowOf(nameOf(group), group));
  const heads = [head, t("Pours"), t("Share of all such")];
  const told = rowsOf(groups.filter(({ range }) => range !== null));
  if (unknown.of > 0) told.push(rowOf(t("not known"), unknown));
  const few = groups.filter(({ range }) => range === null);
  // Of years most lots are of few pours.
  const name = t("{n} with too few pours to say", { n: few.length });
  return [
    h("h3", {}, title),
    told.length > 0 && table(title, heads, told),
    few.length > 0 && folded(name, () => table(name, heads, rowsOf(few))),
  ].filter((each) => each !== false);
}

/** @param {{low: number, high: number}} range */
function rangeText(range) {
  return t("{low} to {high}", { low: percent(range.low, 1), high: percent(range.high, 1) });
}

/** @param {number} from @param {DisplayUnits} units */
function bandText(from, { units: { temperature } }) {
  return t("{from}\u00a0up to {to}\u00a0{unit}", { from, to: from + WIDE[temperature], unit: temperature });
}

/** @param {(number | null)[]} readings °C @param {DisplayUnits} units */
const inUnit = (readings, { units: { temperature } }) =>
  readings.map((each) => (each === null ? null : convert(each, "temperature", temperature)));
