/** What must be poured, held against the shelf: which materials will be missing, and by when they must be ordered. Pure. */
import { filledOf } from "../bench/fold.js";
import { ofEach } from "../bench/pours.js";
import { dayPlus } from "../formulas/calendar_day.js";
import { needsOf } from "./choose.js";
import { before } from "./lists.js";
import { isPieces } from "./lots.js";
import { isExpired } from "./stock.js";
import { keyOf, usesOf } from "./uses.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/sheet.js").Sheet} Sheet */
/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("./choose.js").Need} Need */
/** @typedef {import("./stock.js").Shelf} Shelf */
/** @typedef {{day: string, wanted: string, needs: Pick<Need, "kind" | "id" | "name" | "amount">[]}} Planned what is needed
 *   on a day for what is wanted (its id) */
/**
 * @typedef {object} Missing
 * @property {string} wanted the id of what it is for
 * @property {string} kind @property {string} id @property {string} name
 * @property {boolean} pieces
 * @property {number} amount grams or pieces that are not there
 * @property {boolean} counted it is counted on the shelf; else all that is needed is taken to be missing, but may be there
 * @property {string} on the first day on which it is missing
 * @property {string} order_by the last day to order it
 * @property {number | null} lead_days until it is there; null: nobody has said, so none are reckoned
 * @property {Plain | null} supplier
 */

/** Whom a material comes from: as its record has it, else its latest lot. @param {import("./stock.js").Material | undefined} material
 * @returns {string} their id, or empty */
function supplierOf(material) {
  const latest = (material?.lots ?? []).reduce(
    (last, { record }) => (record.supplier && record.received_on > (last?.received_on ?? "") ? record : last),
    /** @type {Plain | null} */ (null),
  );
  return material?.record.supplier ?? latest?.supplier ?? "";
}

/** A material's own days, else its supplier's. @param {Plain | undefined} material @param {Plain | null} supplier */
function leadDays(material, supplier) {
  const days = material?.lead_days ?? supplier?.lead_days;
  return typeof days === "number" ? days : null;
}

/**
 * @param {Planned[]} planned @param {Shelf} shelf @param {{kind: string, id: string, amount: number}[]} promised what
 *   pours on the bench still take @param {Map<string, Plain>} suppliers by id @param {Set<string>} used_up materials, by
 *   key, whose lots have all come to rest: they are counted, and nothing is left
 * @returns {Missing[]} each material once for each thing that is wanted
 */
export function missingOf(planned, shelf, promised, suppliers, used_up) {
  const left = new Map([...shelf.lots.values()].map(({ id, state }) => [id, Math.max(0, state.here)]));
  /** What is not there of it, when so much is taken on a day. @param {{kind: string, id: string, amount: number}} need
   * @param {string} day */
  const take = (need, day) => {
    let amount = need.amount;
    for (const lot of shelf.materials.get(keyOf(need))?.lots ?? []) {
      if (lot.state.withdrawn !== null || isExpired(lot, day)) continue;
      const there = left.get(lot.id) ?? 0;
      const taken = Math.min(there, amount);
      left.set(lot.id, there - taken);
      amount -= taken;
    }
    return amount;
  };
  for (const need of promised) take(need, shelf.today);
  /** @type {Map<string, Missing>} */
  const found = new Map();
  for (const { day, wanted, needs } of [...planned].sort((a, b) => before(a.day, b.day))) {
    for (const need of needs) {
      const amount = take(need, day);
      // A thousandth of a gram is what sums of tenths leave over.
      if (amount < 1e-3) continue;
      const key = `${wanted} ${keyOf(need)}`;
      const known = found.get(key);
      if (known) {
        known.amount += amount;
        continue;
      }
      const material = shelf.materials.get(keyOf(need));
      const supplier = suppliers.get(supplierOf(material)) ?? null;
      const lead_days = leadDays(material?.record, supplier);
      found.set(key, {
        wanted,
        kind: need.kind,
        id: need.id,
        name: material?.name ?? need.name,
        pieces: isPieces(need.kind),
        amount,
        counted: used_up.has(keyOf(need)) || (material?.lots.length ?? 0) > 0,
        on: day,
        order_by: dayPlus(day, -(lead_days ?? 0)),
        lead_days,
        supplier,
      });
    }
  }
  return [...found.values()];
}

/**
 * What pours that are begun still take: what their sheet plans, without what they took. @param {Pour[]} pours
 * @param {Map<string, Plain>} recipes @param {(kind: string, id: string) => string | undefined} nameOf of packaging
 */
export function promisedTo(pours, recipes, nameOf) {
  return ofEach(pours, (pour) => {
    const { sheet, state, stage } = pour;
    if (stage === "abandoned" || stage === "curing") return [];
    const recipe = /** @type {Record<string, any>} */ (recipes.get(sheet.recipe) ?? {});
    const needs = needsOf(sheet, recipe, nameOf);
    // Once set aside, a pour takes nothing but the packaging of what was filled.
    if (stage === "setting") {
      const { filled, others } = filledOf(state);
      return needs.flatMap(({ kind, id, each = 0 }) =>
        kind === "packaging" ? [{ kind, id, amount: each * (filled + others) }] : [],
      );
    }
    /** @type {Map<string, number>} */
    const took = new Map();
    for (const use of usesOf(pour)) took.set(keyOf(use), (took.get(keyOf(use)) ?? 0) + use.amount);
    return needs.map(({ kind, id, amount }) => ({
      kind,
      id,
      amount: Math.max(0, amount - (took.get(keyOf({ kind, id })) ?? 0)),
    }));
  });
}
