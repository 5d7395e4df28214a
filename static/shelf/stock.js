/**
 * The shelf: every material with its lots and what is there of each, read from the store.
 *
 * A shelf is folded anew from what is kept; nothing of it is kept itself.
 */
import { ofEach, openPours } from "../bench/pours.js";
import { settledFrom } from "../records/settling.js";
import * as store from "../records/store.js";
import { backKeys, backTold } from "./back_told.js";
import { candlesOf } from "./candles.js";
import { grouped } from "./lists.js";
import { foldLot, isPieces, MATERIALS, materialOf } from "./lots.js";
import { handedOut } from "./supply.js";
import { keyOf, usesOf } from "./uses.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
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

/**
 * @param {string} today ISO 8601
 * @param {{material?: string, lots?: string[], pours?: Promise<Pour[]>}} [given] with all lots of a material, by its key,
 *   and with these lots, though they are used up and settled; `pours`: those that are open, where they are read already
 * @returns {Promise<Shelf>}
 */
export async function readShelf(today, { material, lots: ids = [], pours: reading = openPours() } = {}) {
  const [open, past, pours, ...materials] = await Promise.all([
    store.unsettled("lot"),
    material ? store.settledOf(material) : [],
    reading,
    ...MATERIALS.map(store.all),
  ]);
  const now = ofEach(pours, pourUses);
  const named = [...open, ...past].map(({ id }) => id);
  const wanted = [...new Set([...named, ...ids, ...now.flatMap(({ lot }) => lot ?? [])])];
  const [lots, settled, ...events] = await Promise.all([
    store.livingOf("lot", wanted),
    settledFrom(material ? [...wanted, unknownOf(material)] : wanted),
    ...wanted.map((id) => store.events("lot", id)),
  ]);
  const uses = [...now, ...settled.flatMap(settledUses)];
  return shelfOf({ lots, events: events.flat(), materials: materials.flat(), uses, today });
}

/** By what settled pours are found of which candles are still here. @param {string} recipe its id */
export const standsOf = (recipe) => `stands ${recipe}`;

/** By what settled pours are found of which candles went out for something. @param {string} wanted its id */
export const wentFor = (wanted) => `wanted ${wanted}`;

/** By what uses of a material are found that came from no lot that is known. @param {string} material its key */
const unknownOf = (material) => `?${material}`;

/** What is kept of a pour that is settled. @param {Pour} pour */
export function settledTold(pour) {
  const uses = usesOf(pour);
  const { sheet, record } = pour;
  const { here } = candlesOf(pour);
  const tools = [sheet.jug.id, sheet.heater?.id].flatMap((id) => (id ? [`tool ${id}`] : []));
  const back = backTold(pour);
  const of = [...tools, ...[...handedOut([pour]).keys()].map(wentFor), ...backKeys(back)];
  return {
    title: sheet.title,
    recipe: sheet.recipe,
    candles: here,
    set_on: pour.state.set_on,
    cure_least_days: sheet.cure_least_days,
    cure_best_days: sheet.cure_best_days,
    back,
    uses: uses.map(({ kind, id, name, lot, amount, at_ms }) => [kind, id, name, lot, amount, at_ms]),
    lots: [...new Set(uses.map((use) => use.lot ?? unknownOf(keyOf(use))))],
    of: [...of, ...(here > 0 ? [standsOf(sheet.recipe)] : [])].map((what) => [what, -record.started_at]),
  };
}

/** @param {import("../records/settled.js").Row} row @returns {PourUse[]} */
function settledUses({ id: pour, title, uses }) {
  return uses.map(
    (/** @type {[string, string, string, string | null, number, number]} */ [kind, id, name, lot, amount, at_ms]) => ({
      ...{ kind, id, name, lot, amount, at_ms },
      ...{ pour, title },
    }),
  );
}

/** @param {Pour} pour @returns {PourUse[]} */
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
    const [kind, id] = materialOf(record);
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
