/** What each kind of thing on the bench shows and says of itself, wherever the bench is told of: the strip, the alarm, the
 * announcer, the bells and Today ask here. */

/** @typedef {import("../bench/session.js").Item} Item */
/** @typedef {import("../bench/session.js").Clock} Clock */
/** @typedef {import("../bench/cues.js").TimedCue} TimedCue */
/**
 * @typedef {object} Chip a part of an item, as the strip shows it
 * @property {number} part
 * @property {[string, string]} name in a line or two
 * @property {string} state what is done there, where no clock runs
 */
/**
 * @template {Item} [I=any]
 * @typedef {object} Station
 * @property {(id: string, part: number) => string} href the address of a part's board
 * @property {(item: I, here: string) => Chip[]} chips of the parts that she can go on with, and the one whose board is here
 * @property {(item: I) => object[]} parts each another object once something was said of it
 * @property {(item: I, part: number, now_ms: number, units: import("../bench/display_units.js").DisplayUnits) => TimedCue[]}
 *   cues the moments on the way of a part
 * @property {(items: Item[], id: string, part: number | null) => string} spokenName empty where it is alone; null: the whole
 * @property {(clock: Clock, elsewhere: boolean) => string} alarm of a clock that is due, on its own board or another
 * @property {(clock: Clock) => {title: string, body: string}} bell that wakes a phone
 * @property {(item: I, clocks: Clock[], now_ms: number) => import("./today_lines.js").Line} line on Today
 */

/** @type {Map<string, Station>} */
const STATIONS = new Map();

/** @param {string} kind of records @param {Station} station */
export function addStation(kind, station) {
  STATIONS.set(kind, station);
}

/** @param {Item} item @returns {Station} */
export function stationOf({ record }) {
  return /** @type {Station} */ (STATIONS.get(record.kind));
}

/** The address of a clock's board. @param {{item: Item, part: number}} clock */
export function hrefOf({ item, part }) {
  return stationOf(item).href(item.id, part);
}

/** The address of the part whose board is shown; without a number it is the first. */
export function partHere() {
  return location.hash.replace(/^(#\/\w+\/[^/]+)\/?$/, "$1/0");
}
