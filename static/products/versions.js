/** What a recipe was when it was poured: its distinct states, with the batches of each. Pure. */
import { isSame } from "../records/merge.js";

/** @typedef {import("../bench/sheet.js").Sheet} Sheet */
/** @typedef {Pick<import("../bench/pours.js").Pour, "id" | "sheet" | "record">} Pour */
/** @typedef {{sheet: Sheet, pours: Pour[]}} Version `sheet` of the first pour; the oldest first */

/** Shares and loads are the same where they differ by less than can be weighed. */
const DIGITS = 1e6;

/** The states of a recipe that were poured, by the sheets that the pours keep. @template {Pour} P @param {P[]} pours
 * @returns {(Omit<Version, "pours"> & {pours: P[]})[]} the oldest first */
export function versionsOf(pours) {
  /** @type {(Omit<Version, "pours"> & {pours: P[]})[]} */
  const found = [];
  for (const pour of [...pours].sort((a, b) => a.record.started_at - b.record.started_at)) {
    const same = found.find(({ sheet }) => isSame(madeOf(sheet), madeOf(pour.sheet)));
    if (same) same.pours.push(pour);
    else found.push({ sheet: pour.sheet, pours: [pour] });
  }
  return found;
}

/** What of a sheet is the recipe's and not the day's. @param {Sheet} sheet */
function madeOf({ waxes, oils, extras, load, wick, vessel, fragrance, pour }) {
  const parts = (/** @type {any[]} */ list) =>
    (Array.isArray(list) ? list : []).map(({ id, name, share, fraction }) => ({
      ...{ id: id ?? name ?? null, share: rounded(share), fraction: rounded(fraction) },
    }));
  return {
    ...{ waxes: parts(waxes), oils: parts(oils), extras: parts(extras), load: rounded(load) },
    ...{ wick: wick?.id ?? wick?.name ?? null, vessel: vessel?.id ?? vessel?.name ?? null },
    ...{ fragrance_c: rounded(fragrance?.target_c), pour_c: rounded(pour?.target_c) },
  };
}

/** @param {unknown} value */
const rounded = (value) => (typeof value === "number" ? Math.round(value * DIGITS) / DIGITS : null);
