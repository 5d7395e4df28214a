/**
 * What a pour really took, material by material and lot by lot. Pure.
 *
 * A pour pins at its start which lots it is to come from (`lots` of its record); what happened then tells which it
 * really came from. What was weighed counts, not what was planned; a vessel and its wick count where it was filled,
 * packaging where a candle was put away. What is in no lot is known by its material alone.
 */
import { vesselsOfJug } from "../bench/sheet.js";
import { effectiveEvents } from "../records/events.js";
import { candlesOf } from "./candles.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */
/** @typedef {{id: string, name: string, amount: number}} Drawn a lot that is drawn from, and how much is planned of it */
/** @typedef {{kind: string, id: string, name: string, each?: number, lots: Drawn[]}} Pinned a material, and its lots in
 *   the order in which they are used up; `each`: of packaging, so many for one candle */
/** @typedef {{kind: string, id: string, name: string, lot: string | null, amount: number, at_ms: number}} Use grams or
 *   pieces; lot null: not known which */
/** @typedef {{kind: string, id: string | null, name: string}} Material */

/** What a material is known by. @param {{kind: string, id: string | null}} material */
export const keyOf = ({ kind, id }) => `${kind},${id}`;

/** What is pinned of a pour's materials. @param {Record<string, any>} record @returns {Pinned[]} */
export const pinnedOf = (record) => (Array.isArray(record.lots) ? record.lots : []);

/** @param {Pour} pour @returns {Use[]} in no order; nothing of a material that is not kept */
export function usesOf(pour) {
  return [...weighedUses(pour), ...pieceUses(pour)].filter(({ id, amount }) => id && amount > 0);
}

/** What is weighed into jugs, the wax that puts a load right shared out as the blend is.
 * @param {Pour["sheet"]} sheet @param {string} part @param {number} index @returns {(Material & {share: number})[]} */
export function materialsOf(sheet, part, index) {
  const one = (/** @type {string} */ kind, /** @type {{id: string | null, name: string} | undefined} */ material) =>
    material ? [{ kind, id: material.id, name: material.name, share: 1 }] : [];
  if (part === "wax") return one("wax", sheet.waxes[index]);
  if (part === "additive") return one("additive", sheet.extras[index]);
  if (part === "fragrance") return one("fragrance", sheet.oils[index]);
  let whole = 0;
  for (const { share } of sheet.waxes) whole += share;
  return sheet.waxes.map(({ id, name, share }) => ({ kind: "wax", id, name, share: share / whole }));
}

/** The lot that a material comes from where the pour stands now; null: not known. @param {Pour} pour @param {Material} material */
export function currentLot(pour, material) {
  return followed(pour).lots.get(keyOf(material)) ?? null;
}

/** @typedef {Map<string, string | null>} Lots by material */
/** @typedef {{read_g: number, before: Lots, after: Lots}} Mark the bag was empty at this reading */

/** The lots that she said afterwards; what is said so holds from the start. @param {PourEvent[]} counted @returns {Lots} */
function saidAfterwards(counted) {
  /** @type {Lots} */
  const said = new Map();
  for (const event of counted) {
    if (event.type === "came_from") said.set(keyOf({ kind: event.kind, id: event.material }), event.lot || null);
  }
  return said;
}

/** The lots as they follow each other: where it stands now, the marks of each weighing, and what was current when
 * it was read. @param {Pour} pour */
function followed({ sheet, events, record }) {
  const counted = effectiveEvents("pour", events);
  const pinned = pinnedOf(record).map((each) => /** @type {const} */ ([keyOf(each), each.lots[0]?.id ?? null]));
  /** @type {Lots} */
  let lots = new Map([...pinned, ...saidAfterwards(counted)]);
  /** @type {Map<string, Mark[]>} */
  const marks = new Map();
  /** @type {Map<string, Lots>} */
  const then = new Map();
  for (const event of counted) {
    switch (event.type) {
      case "ran_out": {
        const key = [event.jug ?? 0, event.part, event.index].join();
        const before = lots;
        lots = new Map(lots);
        for (const material of materialsOf(sheet, event.part, event.index))
          lots.set(keyOf(material), event.lot || null);
        marks.set(key, [...(marks.get(key) ?? []), { read_g: event.read_g, before, after: lots }]);
        break;
      }
      case "weighed":
        then.set(event.id, lots);
        break;
    }
  }
  return { lots, marks, then };
}

/** @param {Pour} pour @returns {Use[]} */
function weighedUses(pour) {
  const { sheet, state, events } = pour;
  const { lots, marks, then } = followed(pour);
  const times = new Map(events.map(({ id, at }) => [id, at]));
  return state.jugs.flatMap((jug, jugIndex) =>
    jug.weighings.flatMap(({ part, index, read_g, event }) => {
      const given = marks.get([jugIndex, part, index].join()) ?? [];
      const last = given.at(-1)?.after ?? then.get(event ?? "") ?? lots;
      const at_ms = times.get(event ?? "") ?? pour.record.started_at;
      return sharedOut(given, read_g, last).flatMap(({ grams, from }) =>
        materialsOf(sheet, part, index).map(({ kind, id, name, share }) =>
          useOf({ kind, id, name }, from.get(keyOf({ kind, id })) ?? null, grams * share, at_ms),
        ),
      );
    }),
  );
}

/** What of a reading came before each mark, and after the last. @param {Mark[]} marks @param {number | null} read_g
 * null: not read yet, though some is in @param {Lots} last @returns {{grams: number, from: Lots}[]} */
function sharedOut(marks, read_g, last) {
  const parts = [];
  let done_g = 0;
  for (const { read_g: mark_g, before } of marks) {
    const up_to_g = Math.max(done_g, Math.min(mark_g, read_g ?? mark_g));
    parts.push({ grams: up_to_g - done_g, from: before });
    done_g = up_to_g;
  }
  if (read_g !== null) parts.push({ grams: read_g - done_g, from: last });
  return parts;
}

/** Vessels, wicks and packaging. @param {Pour} pour @returns {Use[]} */
function pieceUses(pour) {
  const { sheet, state, events, record } = pour;
  const said = saidAfterwards(effectiveEvents("pour", events));
  const pinned = new Map(pinnedOf(record).map((each) => [keyOf(each), each]));
  /** What was used of each so far @type {Map<string, number>} */
  const done = new Map();
  /** @param {Material} material @param {number} pieces @param {number} at_ms @returns {Use[]} */
  const take = (material, pieces, at_ms) => {
    const key = keyOf(material);
    const before = done.get(key) ?? 0;
    done.set(key, before + pieces);
    const lots = said.has(key) ? [{ id: said.get(key) ?? null, amount: 0 }] : (pinned.get(key)?.lots ?? []);
    return fromLots(lots, before, pieces).map(({ lot, amount }) => useOf(material, lot, amount, at_ms));
  };
  const filled = state.jugs.flatMap((jug, jugIndex) => {
    const vessels = vesselsOfJug(sheet, jugIndex);
    return jug.poured.flatMap(({ vessel, skipped, at }) =>
      skipped || !vessels[vessel] ? [] : [{ ...vessels[vessel], at }],
    );
  });
  const uses = filled.flatMap(({ id, name, at }) => [
    ...take({ kind: "vessel", id, name }, 1, at),
    ...(sheet.wick ? take({ kind: "wick", ...sheet.wick }, 1, at) : []),
  ]);
  const { finished_at } = state;
  if (finished_at !== null) {
    const candles = candlesOf(pour).made;
    for (const { kind, id, name, each = 0 } of pinned.values()) {
      if (kind === "packaging") uses.push(...take({ kind, id, name }, candles * each, finished_at));
    }
  }
  return together(uses);
}

/** Pieces from lots in their turn: as many from each as was planned of it, the rest from the last.
 * @param {{id: string | null, amount: number}[]} lots @param {number} before how many were taken already
 * @param {number} pieces @returns {{lot: string | null, amount: number}[]} */
function fromLots(lots, before, pieces) {
  if (lots.length === 0) return [{ lot: null, amount: pieces }];
  const after = before + pieces;
  let from = 0;
  return lots.flatMap(({ id, amount }, index) => {
    // The last one gives all that is still asked for.
    const to = index === lots.length - 1 ? Infinity : from + amount;
    const here = Math.min(to, after) - Math.max(from, before);
    from = to;
    return here > 0 ? [{ lot: id, amount: here }] : [];
  });
}

/** Pieces of one material and lot as one, at the time of the last. @param {Use[]} uses @returns {Use[]} */
function together(uses) {
  /** @type {Map<string, Use>} */
  const found = new Map();
  for (const use of uses) {
    const key = [keyOf(use), use.lot].join();
    const known = found.get(key);
    if (known === undefined) found.set(key, { ...use });
    else Object.assign(known, { amount: known.amount + use.amount, at_ms: Math.max(known.at_ms, use.at_ms) });
  }
  return [...found.values()];
}

/** @param {Material} material @param {string | null} lot @param {number} amount @param {number} at_ms @returns {Use} */
function useOf({ kind, id, name }, lot, amount, at_ms) {
  return { kind, id: id ?? "", name, lot, amount, at_ms };
}
