/** Which pours are shown: as they are chosen, as they stand in the address, and whether one is among them. Pure. */
import { localDate } from "../words/dates.js";
import { stateOf } from "./states.js";

/** @typedef {import("./pour_told.js").PourTold} PourTold */
/**
 * @typedef {object} Asked all that the box and its filters ask for; '' asks for nothing
 * @property {string} words as they were typed
 * @property {string} month '2026-05'
 * @property {string} recipe its id @property {string} lot its id
 * @property {string} state
 */

/** @type {Asked} */
export const NOTHING = { words: "", month: "", recipe: "", lot: "", state: "" };

const NAMES = /** @type {(keyof Asked)[]} */ (Object.keys(NOTHING));

/** Those that only pours answer to. */
export const FILTERS = /** @type {const} */ (["month", "recipe", "lot", "state"]);

/** @param {Asked} asked */
export const isFiltered = (asked) => FILTERS.some((name) => asked[name] !== "");

/** @param {Asked} asked @returns {string} such as 'log/words:plum/state:cured' */
export function addressOf(asked) {
  const parts = NAMES.flatMap((name) => (asked[name] ? [`${name}:${encodeURIComponent(asked[name])}`] : []));
  return ["log", ...parts].join("/");
}

/** @param {string[]} path the address after its name, decoded @returns {Asked} what it does not know is passed over */
export function askedIn(path) {
  const asked = { ...NOTHING };
  for (const part of path) {
    const [name, ...rest] = part.split(":");
    const known = NAMES.find((each) => each === name);
    if (known) asked[known] = rest.join(":");
  }
  return asked;
}

/** @param {PourTold} pour @param {number} at when it was begun, ms @param {Asked} asked @param {string} today ISO 8601 */
export function isAmong(pour, at, { month, recipe, lot, state }, today) {
  return (
    (month === "" || localDate(at).startsWith(month)) &&
    (recipe === "" || pour.recipe === recipe) &&
    (lot === "" || pour.lots.includes(lot)) &&
    (state === "" || stateOf(pour, today) === state)
  );
}
