/**
 * The shelf: every material with its lots and what is there of each, read from the store.
 *
 * A shelf is folded anew from what is kept; nothing of it is kept itself.
 */
import { allPours } from "../bench/pours.js";
import * as store from "../records/store.js";
import { foldLot, isPieces } from "./lots.js";
import { keyOf, usesOf } from "./uses.js";

/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("../records/event_types.js").LotEvent} LotEvent */
/** @typedef {import("./lots.js").LotState} LotState */
/** @typedef {import("./lots.js").PourUse} PourUse */
/**
 * @typedef {object} Lot
 * @property {string} id
 * @property {string} name its number
 * @property {Plain} record
 * @property {LotEvent[]} events
 * @property {LotState} state
 * @property {string} material what it is of, as `keyOf` has it
 * @property {boolean} is_open there is some of it, or it says that there is less than none
 */
/**
 * @typedef {object} Material
 * @property {string} kind @property {string} id @property {string} name
 * @property {Plain} record
 * @property {boolean} pieces it is counted in pieces, else in grams
 * @property {Lot[]} lots in the order in which they should be used up; empty ones last
 * @property {number} here grams or pieces, of lots that may be used
 * @property {PourUse[]} unknown what pours took of it, not said from which lot
 */
/** @typedef {{materials: Map<string, Material>, lots: Map<string, Lot>, today: string}} Shelf by key and by id */

/** The kinds of material, in the order in which the shelf shows them. */
export const MATERIALS = ["wax", "fragrance", "additive", "wick", "vessel", "packaging"];

/** @param {string} today ISO 8601 @returns {Promise<Shelf>} */
export async function readShelf(today) {
  const [lots, events, pours, ...materials] = await Promise.all([
    store.living("lot"),
    store.eventsOfKind("lot"),
    allPours(),
    ...MATERIALS.map(store.all),
  ]);
  return shelfOf({ lots, events, materials: materials.flat(), uses: pours.flatMap(pourUses), today });
}

/** @param {import("../bench/pours.js").Pour} pour @returns {PourUse[]} */
export function pourUses(pour) {
  return usesOf(pour).map((use) => ({ ...use, pour: pour.id, title: pour.sheet.title }));
}

/**
 * @param {{lots: Plain[], events: LotEvent[], materials: Plain[], uses: PourUse[], today: string}} kept `events`: of
 *   all lots
 * @returns {Shelf}
 */
export function shelfOf({ lots: records, events, materials: kept, uses, today }) {
  const eventsOf = grouped(events, ({ of }) => of[1]);
  const usesOfLot = grouped(uses, ({ lot }) => lot ?? "");
  /** @type {Map<string, Material>} */
  const materials = new Map(
    kept.map((record) => {
      const { kind, id, name } = record;
      const material = { kind, id, name, record, pieces: isPieces(kind), lots: [], here: 0, unknown: [] };
      return [keyOf(record), material];
    }),
  );
  /** @type {Map<string, Lot>} */
  const lots = new Map();
  for (const record of records) {
    const [kind, id] = Array.isArray(record.material) ? record.material : ["", ""];
    const material = materials.get(keyOf({ kind, id }));
    const own = eventsOf.get(record.id) ?? [];
    const state = foldLot(record, own, usesOfLot.get(record.id) ?? [], material?.record);
    const is_open = state.here !== 0;
    const lot = {
      id: record.id,
      name: record.name,
      record,
      events: own,
      state,
      material: keyOf({ kind, id }),
      is_open,
    };
    lots.set(lot.id, lot);
    material?.lots.push(lot);
  }
  for (const material of materials.values()) {
    material.lots.sort((a, b) => byUse(a, b, today));
    for (const lot of material.lots) if (mayBeUsed(lot, today)) material.here += lot.state.here;
  }
  for (const use of uses) if (use.lot === null || !lots.has(use.lot)) materials.get(keyOf(use))?.unknown.push(use);
  return { materials, lots, today };
}

/** @param {Lot} lot @param {string} today */
export const isExpired = ({ state }, today) => state.expires_on !== null && state.expires_on < today;

/** Neither withdrawn nor expired. @param {Lot} lot @param {string} today */
export const mayBeUsed = (lot, today) => lot.state.withdrawn === null && !isExpired(lot, today);

/** Those with something left: first what may be used, and of these what expires first, then what came first.
 * @param {Lot} a @param {Lot} b @param {string} today */
function byUse(a, b, today) {
  const key = (/** @type {Lot} */ lot) =>
    [
      lot.state.here > 0 ? 0 : 1,
      lot.state.withdrawn === null ? 0 : 1,
      isExpired(lot, today) ? 1 : 0,
      lot.state.expires_on ?? "9999",
      lot.record.received_on ?? "",
      lot.id,
    ].join(" ");
  return key(a) < key(b) ? -1 : 1;
}

/** @template T @param {T[]} items @param {(item: T) => string} by @returns {Map<string, T[]>} */
function grouped(items, by) {
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
