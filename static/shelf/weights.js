/**
 * What a pour's vessels really weigh, size by size. Pure.
 *
 * It is the net content: a vessel stands on the zeroed scale with its wick, so neither of them counts, nor a lid.
 */
import { isOnBench } from "../bench/pours.js";
import { vesselsOfJug } from "../bench/sheet.js";
import { correctionsOf, effectiveEvents } from "../records/events.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {{grams: number, isMark: boolean}} Weight what one vessel took; `isMark`: she touched the scale's mark and read
 *   no number, so it tells the mark and no more */
/**
 * @typedef {object} Batch the filled vessels of one size
 * @property {string} key tells this size from the pour's others, today and later
 * @property {string} name of the vessel
 * @property {number | null} most_g what one holds, where that is known
 * @property {number} each_g what one was to take
 * @property {Weight[]} weights of those that were weighed, in the order of jugs and vessels
 * @property {number} of how many there are: those that are filled, and those that still will be
 * @property {number} unclear of how many two phones say different things; they count as not weighed
 */

/** @param {Pick<Pour, "sheet" | "state" | "events" | "stage">} pour
 * @returns {{batches: Batch[], others: number}} the sizes in the sheet's order, those alone that were filled; `others`: how
 *   many were filled beside the plan, of which nobody said what they are */
export function weightsOf(pour) {
  const { sheet, state, events } = pour;
  const touched = touchedOf(events);
  const batches = sheet.sizes.map(({ id, name, most_g, each_g }) => {
    const key = id ?? name;
    return { key, name, most_g, each_g, weights: /** @type {Weight[]} */ ([]), of: 0, unclear: 0 };
  });
  /** Two sizes of one vessel are one. @param {{id: string | null, name: string}} size */
  const batchOf = ({ id, name }) => batches.find(({ key }) => key === (id ?? name));
  let others = 0;
  for (const [jugIndex, jug] of state.jugs.entries()) {
    const vessels = vesselsOfJug(sheet, jugIndex);
    const asked = new Set(jug.clashes.map(({ question }) => question));
    others += jug.others.length;
    if (isOnBench(pour)) for (const vessel of jug.open) countIn(batchOf(vessels[vessel]));
    for (const { vessel, read_g, skipped, unread, event } of jug.poured) {
      const batch = vessels[vessel] && batchOf(vessels[vessel]);
      if (skipped) continue;
      if (batch === undefined) {
        others += 1;
        continue;
      }
      countIn(batch);
      if (asked.has(`vessel ${vessel}`)) batch.unclear += 1;
      else if (!unread) batch.weights.push({ grams: read_g, isMark: touched.has(event) });
    }
  }
  return { batches: batches.filter(({ of }) => of > 0), others };
}

/** @param {Batch | undefined} batch */
function countIn(batch) {
  if (batch) batch.of += 1;
}

/** The events by which she touched the scale's mark and read no number, by their ids. What was set right was read.
 * @param {Pour["events"]} events @returns {Set<string>} */
export function touchedOf(events) {
  const corrections = correctionsOf("pour", events);
  const touched = effectiveEvents("pour", events).filter((event) => "how" in event && event.how === "mark");
  return new Set(touched.map(({ id }) => id).filter((id) => !corrections.has(id)));
}
