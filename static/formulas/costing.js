/**
 * What went out cost, and what is left is worth, by the usual ways of telling bought amounts apart.
 *
 * All is exact: no unit cost is rounded, and what came in costs as much as what went out and what is left together.
 * What goes out though it is not there has no cost, and is told apart. The ways are those of IAS 2 (first in first out,
 * weighted average, specific identification; from memory), and what they come to is held to a textbook's worked
 * examples. Only the phone asks this, so this file has no twin.
 */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";
import { add, compare, fractionOf, isZero, least, over, subtract, times, ZERO } from "./fraction.js";

/** @typedef {import("./fraction.js").Fraction} Fraction */
/** @typedef {{in: number, cost: number | Fraction, lot?: string}} In grams or pieces, above nothing, and what all of them
 *   cost in minor units, from nothing */
/** @typedef {{out: number, lot?: string | null}} Out grams or pieces, from nothing */
/** @typedef {In | Out} Movement */
/**
 * @typedef {object} Costed costs in minor units, amounts in grams or pieces
 * @property {Fraction} out cost of all that went out
 * @property {Fraction[]} outs the same of each movement out, in their order
 * @property {Fraction} left cost of what is left
 * @property {Fraction} left_amount
 * @property {Fraction} missing what went out and was not there: it is in no cost
 * @property {Fraction | null} each what one gram or piece of what is there costs, or of what was there last; null:
 *   nothing came in
 */
/** @typedef {{amount: Fraction, cost: Fraction}} Heap an amount and what all of it cost */

/** First in, first out. @param {Movement[]} movements in the order in which they happened @returns {Costed}
 * @throws {InputError} an amount or a cost out of range */
export function firstInFirstOut(movements) {
  /** @type {Heap[]} */
  const heaps = [];
  return moved(movements, {
    take: (heap) => heaps.push(heap),
    give(amount) {
      let given = NOTHING;
      while (heaps.length > 0 && compare(given.amount, amount) < 0) {
        const taken = takenOf(heaps[0], subtract(amount, given.amount));
        given = together(given, taken);
        heaps[0] = without(heaps[0], taken);
        if (isZero(heaps[0].amount)) heaps.shift();
      }
      return given;
    },
    left: () => heaps.reduce(together, NOTHING),
  });
}

/** Each movement out at the average of what is there then. @param {Movement[]} movements in the order in which they
 * happened @returns {Costed} @throws {InputError} an amount or a cost out of range */
export function movingAverage(movements) {
  let heap = NOTHING;
  return moved(movements, {
    take(came) {
      heap = together(heap, came);
    },
    give(amount) {
      const given = takenOf(heap, amount);
      heap = without(heap, given);
      return given;
    },
    left: () => heap,
  });
}

/** Each movement out at the average of all that came in, whenever it came. @param {Movement[]} movements in any order
 * @returns {Costed} @throws {InputError} an amount or a cost out of range */
export function averageOfPeriod(movements) {
  // What came later counts as well, so all of it comes first; the order of the rest does not matter.
  const ordered = [...movements].sort((a, b) => Number("out" in a) - Number("out" in b));
  return movingAverage(ordered);
}

/** Each movement out from the lot that it names; one that names none, or none that is there, is missing.
 * @param {Movement[]} movements in the order in which they happened @returns {Costed}
 * @throws {InputError} an amount or a cost out of range */
export function specificLots(movements) {
  /** @type {Map<string | null, Heap>} */
  const lots = new Map();
  return moved(movements, {
    take(came, lot) {
      lots.set(lot, together(lots.get(lot) ?? NOTHING, came));
    },
    give(amount, lot) {
      const heap = (lot !== null && lots.get(lot)) || NOTHING;
      const given = takenOf(heap, amount);
      lots.set(lot, without(heap, given));
      return given;
    },
    left: () => [...lots.values()].reduce(together, NOTHING),
  });
}

/** @type {Heap} */
const NOTHING = { amount: ZERO, cost: ZERO };

/**
 * Go through movements by a way of keeping heaps.
 * @param {Movement[]} movements
 * @param {{take: (came: Heap, lot: string | null) => void, give: (amount: Fraction, lot: string | null) => Heap,
 *   left: () => Heap}} way
 *   `give` answers no more than there is
 * @returns {Costed}
 */
function moved(movements, { take, give, left }) {
  const outs = [];
  let [out, missing] = [ZERO, ZERO];
  let last = NOTHING;
  for (const movement of movements) {
    const lot = movement.lot ?? null;
    if ("in" in movement) {
      const came = {
        amount: fractionOf(checks.positive(movement.in, message("What came in"), "in")),
        cost: costOf(movement),
      };
      take(came, lot);
    } else {
      const amount = fractionOf(checks.notNegative(movement.out, message("What went out"), "out"));
      const given = give(amount, lot);
      outs.push(given.cost);
      out = add(out, given.cost);
      missing = add(missing, subtract(amount, given.amount));
    }
    const here = left();
    if (!isZero(here.amount)) last = here;
  }
  const { amount: left_amount, cost } = left();
  const each = isZero(last.amount) ? null : over(last.cost, last.amount);
  return { out, outs, left: cost, left_amount, missing, each };
}

/** @param {In} movement */
function costOf({ cost }) {
  const exact = typeof cost === "object" && cost !== null ? cost : fractionOf(cost);
  if (compare(exact, ZERO) < 0) throw new InputError("What was paid can't be less than zero.", {}, "cost");
  return exact;
}

/** So much of a heap, or all of it where there is less. @param {Heap} heap @param {Fraction} amount @returns {Heap} */
function takenOf(heap, amount) {
  const taken = least(heap.amount, amount);
  return isZero(taken) ? NOTHING : { amount: taken, cost: over(times(heap.cost, taken), heap.amount) };
}

/** @param {Heap} a @param {Heap} b @returns {Heap} */
const together = (a, b) => ({ amount: add(a.amount, b.amount), cost: add(a.cost, b.cost) });

/** @param {Heap} heap @param {Heap} part of it @returns {Heap} */
const without = (heap, part) => ({ amount: subtract(heap.amount, part.amount), cost: subtract(heap.cost, part.cost) });
