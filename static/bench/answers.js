/**
 * Two hands at one bench: which question an event answers, so that two answers to one question are one.
 *
 * What is done at a jug answers something that the board asked: this weighing, this wait, vessel 7. Two phones that
 * do not hear of each other may answer it twice. An event names what it answers as its screen showed it, and the
 * readings that it replaces; so a reading that was made beside another is told from one that was made after it.
 * An event that names nothing was kept before events did, and answers what is asked when its turn comes.
 */
import { EARLIEST } from "../records/stamp.js";

/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */
/** @typedef {import("../records/event_types.js").NewPourEvent} NewPourEvent */
/** @typedef {import("./fold.js").PourState} PourState */
/**
 * @template {{id: string, at: number}} [E=PourEvent]
 * @typedef {object} Answer
 * @property {E} event that gave it first
 * @property {string[]} ids of all events that gave the same
 * @property {number | null} value a reading, g; up to which vessel a jug is filled; null: it says no number
 * @property {boolean} kept a reading off its mark that is kept as it is
 */

/**
 * @typedef {object} Said what an event says in answer
 * @property {number | null} value
 * @property {number} [near] values that are less apart are the same
 * @property {string | null} [over] the event that it replaces; null: all before it @property {boolean} [kept]
 */

/** The event with what it answers. @param {PourState} state as it was shown @param {NewPourEvent} event @returns {NewPourEvent} */
export function answering(state, event) {
  const jug = state.jugs["jug" in event ? (event.jug ?? 0) : 0];
  if (jug === undefined) return event;
  switch (event.type) {
    case "weighed":
    case "accepted":
      return { ...event, over: jug.reads.get(`${event.part}:${event.index}`)?.event ?? EARLIEST };
    case "went_on":
      return { ...event, wait: jug.went_on };
    case "poured":
    case "skipped":
    case "emptied":
    case "stopped":
      return { ...event, vessel: jug.open[0] ?? jug.vessels };
    case "spilled":
      return { ...event, over: jug.spills.at(-1)?.event ?? EARLIEST };
    case "filled_other":
      return { ...event, vessel: jug.others.length };
    case "ready":
    case "melted":
    case "added":
    case "stirred":
      return { ...event, over: EARLIEST };
    default:
      return event;
  }
}

/** What an event answers; null: nothing that can be answered once only. @param {PourEvent} event */
export function questionOf(event) {
  const isNamed = (/** @type {unknown} */ name) => name !== undefined && name !== null;
  switch (event.type) {
    case "weighed":
    case "accepted":
      return `${event.part}:${event.index}`;
    case "went_on":
      return isNamed(event.wait) ? `wait ${event.wait}` : null;
    case "poured":
    case "skipped":
      return isNamed(event.vessel) ? `vessel ${event.vessel}` : null;
    case "emptied":
    case "stopped":
      return isNamed(event.vessel) ? "end" : null;
    case "spilled":
      return isNamed(event.over) ? `spill ${event.over}` : null;
    case "filled_other":
      return isNamed(event.vessel) ? `other ${event.vessel}` : null;
    case "ready":
    case "melted":
    case "added":
    case "stirred":
      return isNamed(event.over) ? event.type : null;
    default:
      return null;
  }
}

/** The answers to one question. @template {{id: string, at: number}} [E=PourEvent] */
export class Answers {
  /** those that nothing has replaced, the first given first; those that agree are one @type {Answer<E>[]} */
  standing = [];
  /** what each event replaced @type {Map<string, string | null>} */
  #over = new Map();

  /** Take one more. @param {E} event @param {Said} said
   * @returns {string | null} the id of the event that said the same before; null: it is news */
  take(event, { value, near = 0, over = EARLIEST, kept = false }) {
    this.#over.set(event.id, over);
    if (over === null) this.standing = [];
    const same = this.standing.find((each) => !each.ids.includes(over ?? "") && agree(each.value, value, near));
    const replaced = this.standing.findIndex(({ ids }) => ids.includes(over ?? ""));
    const news = same ? [] : [{ event, ids: [event.id], value, kept }];
    // In the place of what it replaces, so that what held goes on to hold.
    this.standing.splice(replaced < 0 ? this.standing.length : replaced, replaced < 0 ? 0 : 1, ...news);
    if (same === undefined) return null;
    same.ids.push(event.id);
    same.kept ||= kept;
    return same.event.id;
  }

  /** The events that must not count for one answer to stand alone. @param {Answer<E>} chosen @returns {string[]} */
  against({ ids }) {
    const right = new Set(ids);
    for (const id of right) {
      const over = this.#over.get(id);
      if (over && this.#over.has(over)) right.add(over);
    }
    return [...this.#over.keys()].filter((id) => !right.has(id));
  }
}

/** @param {number | null} a @param {number | null} b @param {number} near */
function agree(a, b, near) {
  return a === b || (a !== null && b !== null && Math.abs(a - b) < near - 1e-9);
}
