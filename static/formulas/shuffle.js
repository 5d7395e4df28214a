/** An order that nobody chose, and that is the same on every phone. */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";

/** The largest seed: what 32 bits hold. */
export const MOST_SEED = 2 ** 32 - 1;

/** As many things as anybody would put in a row. */
export const MOST_THINGS = 10_000;

/**
 * The numbers from 0 to n − 1, shuffled: each order is about as likely over all seeds (Fisher and Yates; the numbers
 * behind it are the first 32 bits of a Weyl sequence mixed as in MurmurHash3's finish, from memory).
 * @param {number} n how many, 0 to 10 000 @param {number} seed whole, 0 to 2^32 − 1
 * @returns {number[]}
 * @throws {InputError} a number out of range
 */
export function shuffled(n, seed) {
  const count = checks.whole(n, message("How many to shuffle"), 0, MOST_THINGS, "n");
  // `checks` would refuse it for its size: it is larger than anything that is weighed or measured.
  if (!(Number.isInteger(seed) && seed >= 0 && seed <= MOST_SEED)) {
    const name = message("The seed");
    throw new InputError("{name} must be from {low} to {high}.", { name, low: 0, high: MOST_SEED }, "seed");
  }
  let state = seed >>> 0;
  const below = (/** @type {number} */ top) => {
    // What is over a whole multiple of `top` is drawn again, so that no number is likelier.
    const fair = 2 ** 32 - (2 ** 32 % top);
    for (;;) {
      state = (state + 0x9e3779b9) >>> 0;
      const drawn = mixed(state);
      if (drawn < fair) return drawn % top;
    }
  };
  const order = Array.from({ length: count }, (_, i) => i);
  for (let i = count - 1; i > 0; i -= 1) {
    const other = below(i + 1);
    [order[i], order[other]] = [order[other], order[i]];
  }
  return order;
}

/** 32 bits, each of which depends on all bits of `bits`. @param {number} bits */
function mixed(bits) {
  let h = bits;
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (h ^ (h >>> 16)) >>> 0;
}
