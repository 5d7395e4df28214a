/** When what the shelf adds is worth bringing: as long as nothing is on it, nothing of it is loaded or shown. */
import { hasAny, onChange, unsettled } from "../records/store.js";

export { oneAtATime } from "../records/store.js";

/** So many pours or burn tests that are open make a start slower than tidying up once does, and so many that are to be
 * read anew a search (our choice). */
const MANY = { pour: 40, burn_test: 12, find: 200 };

/** Whether something of one of these kinds is kept. @param {string[]} kinds @returns {Promise<boolean>} */
export async function isKept(kinds) {
  return (await Promise.all(kinds.map(hasAny))).some(Boolean);
}

/** Hear when something of these kinds is kept. @param {string[]} kinds @param {() => void} listener */
export function onKept(kinds, listener) {
  onChange((changes) => {
    if (changes.some(({ kind }) => kinds.includes(kind))) listener();
  });
}

/** Whether tidying up is worth it. @returns {Promise<boolean>} */
export async function isMuchOpen() {
  const open = Object.entries(MANY).map(async ([kind, many]) => (await unsettled(kind)).length >= many);
  return (await Promise.all(open)).some(Boolean);
}
