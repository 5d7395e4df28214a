/** What plays with a phone's store at random are made of. */
import { EARLIEST } from "/records/stamp.js";

/** Numbers from 0 to 1 that follow from a seed. */
export function random(seed) {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

/** A record as it is kept, older than all that is done to it. */
export function wrapped({ kind, id, fields }) {
  const versions = Object.entries(fields).map(([name, value]) => [name, { value, stamp: EARLIEST }]);
  return { kind, id, fields: Object.fromEntries(versions) };
}
