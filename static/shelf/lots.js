/**
 * A lot's life: what came in, what went out, and what is there. Pure; the state is a fold of the lot's events and of
 * what pours really took of it, in the order in which they happened.
 *
 * What is counted stands from then on, and the difference to what was expected is kept; so what came to be known later
 * of an earlier time moves the difference and not the stock.
 */
import { dayPlus } from "../formulas/calendar_day.js";
import { effectiveEvents, know } from "../records/events.js";
import { SHELF_EVENT_TYPES } from "../records/shelf_event_types.js";
import { localDate } from "../words/dates.js";

know(SHELF_EVENT_TYPES);

/** @typedef {import("../records/event_types.js").LotEvent} LotEvent */
/** @typedef {import("./uses.js").Use} Use */
/** @typedef {Use & {pour: string, title: string}} PourUse what a pour took, and which one */
/**
 * @typedef {object} Move something that changed how much there is
 * @property {"poured" | "used" | "thrown_away" | "sent_back" | "counted"} what
 * @property {number} at_ms
 * @property {number} amount that went out, or that was counted; grams or pieces
 * @property {number} left what there was then
 * @property {number} [difference] counted less expected
 * @property {string | null} [why]
 * @property {string} [event] its id
 * @property {string} [pour] the pour's id @property {string} [title]
 */
/**
 * @typedef {object} LotState amounts in grams or pieces
 * @property {number} came
 * @property {number} here may be below nothing: then something was counted wrong
 * @property {number} out that was used, thrown away or sent back
 * @property {number} differences of all counts, together: here = came - out + differences
 * @property {Move[]} moves in the order in which they happened
 * @property {string | null} opened_on
 * @property {string | null} expires_on the first of: best before, kept too long, open too long
 * @property {string | null} withdrawn why it is not to be used
 * @property {boolean} counted_wrong it is below nothing, and no count has said so since
 */

/** Grams are told to a millionth, pieces are whole: sums of both are exact. */
const PARTS = 1e6;

/** The kinds of material, in the order in which they are shown. */
export const MATERIALS = ["wax", "fragrance", "additive", "wick", "vessel", "packaging"];

/** Whether a material is counted in pieces. @param {string} kind */
export const isPieces = (kind) => kind === "wick" || kind === "vessel" || kind === "packaging";

/** What material a delivery is of; blanks where its record does not say. @param {Record<string, any> | undefined} lot
 * @returns {[kind: string, id: string]} */
export const materialOf = (lot) => (Array.isArray(lot?.material) ? [lot.material[0], lot.material[1]] : ["", ""]);

/** What came in, in grams or pieces. @param {Record<string, any>} lot its record */
export function amountOf({ by, amount_g, amount_ml, density, pieces }) {
  if (by === "pieces") return pieces ?? 0;
  return by === "volume" ? exact((amount_ml ?? 0) * (density ?? 1)) : (amount_g ?? 0);
}

/**
 * @param {Record<string, any>} lot its record @param {LotEvent[]} events of it @param {PourUse[]} uses of it
 * @param {Record<string, any>} [material] the material's record, which says how long it keeps
 * @returns {LotState}
 */
export function foldLot(lot, events, uses, material = {}) {
  const counted = effectiveEvents("lot", events);
  const came = amountOf(lot);
  /** @type {Move[]} */
  const moves = [];
  let opened_on = /** @type {string | null} */ (null);
  let withdrawn = /** @type {string | null} */ (null);
  for (const event of counted) {
    switch (event.type) {
      case "used":
      case "thrown_away":
      case "sent_back":
      case "counted":
        moves.push({
          what: event.type,
          at_ms: event.at,
          amount: event.amount,
          left: 0,
          why: event.why,
          event: event.id,
        });
        break;
      case "opened":
        opened_on = event.on;
        break;
      case "withdrawn":
        withdrawn = event.why;
        break;
      case "used_all_the_same":
      case "noted":
        break;
    }
  }
  for (const { amount, at_ms, pour, title } of uses)
    moves.push({ what: "poured", at_ms, amount, left: 0, pour, title });
  moves.sort(byTime);
  let [here, out, differences] = [parts(came), 0, 0];
  for (const move of moves) {
    const amount = parts(move.amount);
    if (move.what === "counted") {
      move.difference = (amount - here) / PARTS;
      differences += amount - here;
      here = amount;
    } else {
      here -= amount;
      out += amount;
    }
    move.left = here / PARTS;
  }
  const first = moves.find(({ what }) => what === "poured" || what === "used");
  opened_on ??= first ? localDate(first.at_ms) : null;
  return {
    came,
    here: here / PARTS,
    out: out / PARTS,
    differences: differences / PARTS,
    moves,
    opened_on,
    expires_on: earliest([
      lot.best_before ?? null,
      daysAfter(lot.received_on, material.keep_days),
      daysAfter(opened_on, material.open_days),
    ]),
    withdrawn,
    counted_wrong: here < 0,
  };
}

/** @param {number} amount */
const parts = (amount) => Math.round(amount * PARTS);

/** @param {number} amount */
const exact = (amount) => parts(amount) / PARTS;

/** What happened at the same moment is told in one order on every phone. @param {Move} a @param {Move} b */
function byTime(a, b) {
  const key = (/** @type {Move} */ { what, event, pour, amount }) => `${what} ${event ?? pour} ${amount}`;
  return a.at_ms - b.at_ms || (key(a) < key(b) ? -1 : 1);
}

/** @param {string | null | undefined} day @param {number | null | undefined} days */
function daysAfter(day, days) {
  return day && typeof days === "number" ? dayPlus(day, days) : null;
}

/** @param {(string | null)[]} days */
function earliest(days) {
  return days.reduce((first, day) => (day !== null && (first === null || day < first) ? day : first), null);
}
