/** How a pour stands, by which pours are chosen. Pure. */
import { ready } from "../formulas/cure.js";
import { InputError, message } from "../words/door.js";

/** @typedef {import("./pour_told.js").PourTold} PourTold */
/** @typedef {"bench" | "setting" | "curing" | "cured" | "none_left" | "given_up" | "withdrawn"} State */

/** One of them holds of each pour; in the order in which they are offered.
 * @type {Record<State, import("../words/door.js").Message>} */
export const STATES = {
  bench: message("on the bench"),
  setting: message("setting"),
  curing: message("curing"),
  cured: message("cured"),
  none_left: message("none left"),
  given_up: message("given up"),
  withdrawn: message("withdrawn"),
};

/** Days of cure that a pour has whose sheet says nothing of it. */
const USUAL_DAYS = 7;

/** @param {PourTold} pour @param {string} today ISO 8601 @returns {State} */
export function stateOf({ stage, made, here, withdrawn, set_on, cure_least_days }, today) {
  if (withdrawn) return "withdrawn";
  if (stage !== "put_away") return stage;
  if (made > 0 && here === 0) return "none_left";
  return isCured(set_on, cure_least_days ?? USUAL_DAYS, today) ? "cured" : "curing";
}

/** @param {string | null} set_on @param {number} days @param {string} today */
function isCured(set_on, days, today) {
  try {
    return set_on === null || ready(set_on, days) <= today;
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return true;
  }
}
