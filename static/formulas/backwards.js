/**
 * What is wanted by a day, worked backwards: what is met by the candles there are, how many must still be poured, and on
 * which days at the latest. Days are ISO 8601 text.
 *
 * Candles that are there go first to what would have to be poured soonest, and as many as possible are put to use: an
 * earlier claim moves to another batch where that helps a later one (augmenting paths; Ford and Fulkerson, Maximal flow
 * through a network, 1956: from memory). Jugs are jobs of one length with a last day each, so they fit if and only if up
 * to no last day there are more of them than can be poured by then, and filling the days from the last one back
 * leaves each as late as it can be (Jackson's rule of the earliest due date, read backwards: from memory).
 */
import { InputError, message } from "../words/door.js";
import { dayPlus, daysBetween, MOST_DAYS } from "./calendar_day.js";
import * as checks from "./checks.js";
import { LONGEST_DAYS } from "./cure.js";
import { MOST_VESSELS } from "./weigh.js";

export const MOST_WANTED = 100_000;
export const MOST_JUGS_A_DAY = 50;

/**
 * @typedef {object} Job what is wanted
 * @property {string} id each its own
 * @property {string} group which candles: only those of the same group will do
 * @property {string} by the day on which they must be ready
 * @property {number} count 1 to `MOST_WANTED`
 * @property {"best" | "least"} cured fully, or only for as long as it takes at least
 * @property {number} best_days @property {number} least_days @property {number} label_days 0 to `LONGEST_DAYS`: they are
 *   ready when they are cured and labelled
 * @property {number} per_jug candles that a jug takes, 1 to `MOST_VESSELS`
 * @property {string | null} [pour_on] the day on which she pours them, if she has said so; one that is past does not count
 */
/** @typedef {{id: string, group: string, n: number, best_on: string, least_on: string}} Batch so many candles, and the
 *   days on which they are fully cured, and cured at the least */
/** @typedef {{day: string, jugs: number, n: number}} Pouring n candles of so many jugs */
/** @typedef {{id: string, n: number}} Share n candles of a batch */
/**
 * @typedef {object} Worked
 * @property {string} id the job's
 * @property {Share[]} from batches that meet some of it
 * @property {number} met how many these are
 * @property {Pouring[]} days when to pour the others, the first day first: as late as it can be, or the day that she said
 * @property {number} pour how many these are
 * @property {string} last_on the last day on which what is poured is still ready in time, whoever else needs the jugs
 * @property {{from: Share[], met: number, days: Pouring[], pour: number}} cured where it is too late for full cure: what
 *   will be cured, though not at its best
 * @property {number} none how many can't be cured by then
 * @property {string} soonest when they are ready, as wanted, if they are poured today
 */
/** @typedef {Job & {by_day: number, last: number, cured_last: number, on: number | null, open: number}} Order a job in
 *   days from today; `open`: how many are still to be seen to */
/** @typedef {Batch & {left: number, best: number, least: number}} Stock */
/** @typedef {Map<Order, Map<Stock, number>>} Shares */
/** @typedef {{order: Order, late: boolean, last: number, jugs: number, n: number}} Task jugs of one order; `late`: too late
 *   to be fully cured */

/**
 * @param {Job[]} jobs in any order @param {Batch[]} batches
 * @param {{today: string, jugs_a_day: number, begun?: number}} given `begun`: jugs that were poured today
 * @returns {Worked[]} in the order of the jobs
 * @throws {InputError} a day that is none or further than a hundred years, a number out of its range
 */
export function backwards(jobs, batches, { today, jugs_a_day, begun = 0 }) {
  const most = checks.whole(jugs_a_day, message("The jugs for a day"), 1, MOST_JUGS_A_DAY, "jugs_a_day");
  const orders = jobs.map((job) => orderOf(job, today));
  const first = [...orders].sort(soonerFirst);
  const stock = batches.map((batch) => stockOf(batch, today));
  const as_wanted = allotted(first, stock, isReady);
  const busy = new Map([
    [0, Math.min(most, checks.whole(begun, message("The jugs of today"), 0, MOST_WANTED, "begun"))],
  ]);
  const hers = first.flatMap((order) => onHerDay(order, most, busy));
  const room = (/** @type {number} */ day) => roomUntil(day, most, busy);
  const tasks = inTime(first, room);
  const to_cure = first.filter(({ cured }) => cured === "best");
  const at_least = allotted(to_cure, stock, isCured);
  const all = [...tasks, ...inTime(to_cure, room, tasks)];
  const pourings = [...hers, ...asLate(all, most, busy)];
  return orders.map((order) => {
    const days = (/** @type {boolean} */ late) => daysOf(pourings, order, late, today);
    const [from, cured_from] = [sharesOf(as_wanted, order), sharesOf(at_least, order)];
    const [on_time, cured_days] = [days(false), days(true)];
    return {
      id: order.id,
      from,
      met: total(from),
      days: on_time,
      pour: total(on_time),
      last_on: dayPlus(today, order.last),
      cured: { from: cured_from, met: total(cured_from), days: cured_days, pour: total(cured_days) },
      none: order.open,
      soonest: dayPlus(today, order.by_day - order.last),
    };
  });
}

/** @param {Job} job @param {string} today @returns {Order} */
function orderOf(job, today) {
  const { count, best_days, least_days, label_days, per_jug, cured, pour_on = null } = job;
  checks.whole(count, message("How many are wanted"), 1, MOST_WANTED, "count");
  checks.whole(per_jug, message("Vessels for a jug"), 1, MOST_VESSELS, "per_jug");
  checks.whole(best_days, message("The days of cure"), 0, LONGEST_DAYS, "best_days");
  checks.whole(least_days, message("The days of cure"), 0, LONGEST_DAYS, "least_days");
  checks.whole(label_days, message("The days until they are labelled"), 0, LONGEST_DAYS, "label_days");
  const by_day = near(job.by, today, "by");
  const least = Math.max(least_days, label_days);
  const last = by_day - (cured === "best" ? Math.max(best_days, label_days) : least);
  const on = pour_on === null ? null : near(pour_on, today, "pour_on");
  return { ...job, by_day, last, cured_last: by_day - least, on, open: count };
}

/** @param {Batch} batch @param {string} today @returns {Stock} */
function stockOf(batch, today) {
  const left = checks.whole(batch.n, message("The candles of a batch"), 0, MOST_WANTED, "n");
  return {
    ...batch,
    left,
    best: daysBetween(today, batch.best_on),
    least: daysBetween(today, batch.least_on),
  };
}

/** Days from today. @param {string} day @param {string} today @param {string} about */
function near(day, today, about) {
  const days = daysBetween(today, day);
  // Room for the longest cure on either side.
  if (Math.abs(days) <= MOST_DAYS - LONGEST_DAYS) return days;
  throw new InputError("{day} is too far from today to plan for: check the year.", { day }, about);
}

/** What has to be poured first comes first; the order in which they were told never matters.
 * @param {Order} a @param {Order} b */
const soonerFirst = (a, b) => a.last - b.last || a.by_day - b.by_day || byId(a, b);

/** @param {{id: string}} a @param {{id: string}} b */
const byId = (a, b) => (a.id < b.id ? -1 : 1);

// ---- what is there -------------------------------------------------------------------------------

/** @typedef {(order: Order, batch: Stock) => number | null} Fits when it is ready, if that is in time */

/** @type {Fits} */
const isReady = (order, batch) => inTimeFor(order, order.cured === "best" ? batch.best : batch.least);

/** @type {Fits} */
const isCured = (order, batch) => inTimeFor(order, batch.least);

/** @param {Order} order @param {number} day */
const inTimeFor = ({ by_day }, day) => (day <= by_day ? day : null);

/**
 * Share the candles out: as many as can be, nothing twice; `open` and `left` go down by what was shared.
 * @param {Order[]} orders the first to be served first @param {Stock[]} stock @param {Fits} fits @returns {Shares}
 */
function allotted(orders, stock, fits) {
  /** @type {Shares} */
  const shares = new Map(orders.map((order) => [order, new Map()]));
  const choices = new Map(
    orders.map((order) => {
      const usable = stock.flatMap((batch) => {
        const ready = batch.group === order.group ? fits(order, batch) : null;
        return ready === null ? [] : [{ batch, ready }];
      });
      // What is ready last, and still in time, goes first: the rest may do for something sooner.
      usable.sort((a, b) => b.ready - a.ready || byId(a.batch, b.batch));
      return [order, usable.map(({ batch }) => batch)];
    }),
  );
  const move = (/** @type {Order} */ order, /** @type {Stock} */ batch, /** @type {number} */ n) => {
    const own = /** @type {Map<Stock, number>} */ (shares.get(order));
    own.set(batch, (own.get(batch) ?? 0) + n);
  };
  /** So many more for this order, if need be by moving another to another batch.
   * @param {Order} order @param {number} n @param {Set<Stock>} seen @returns {number} */
  const take = (order, n, seen) => {
    const usable = choices.get(order) ?? [];
    for (const batch of usable) {
      const taken = Math.min(n, batch.left);
      if (taken === 0) continue;
      batch.left -= taken;
      move(order, batch, taken);
      return taken;
    }
    for (const batch of usable) {
      if (seen.has(batch)) continue;
      seen.add(batch);
      for (const [other, own] of shares) {
        const has = other === order ? 0 : (own.get(batch) ?? 0);
        const moved = has === 0 ? 0 : take(other, Math.min(n, has), seen);
        if (moved === 0) continue;
        move(other, batch, -moved);
        move(order, batch, moved);
        return moved;
      }
    }
    return 0;
  };
  for (const order of orders) {
    let taken = order.open;
    while (order.open > 0 && taken > 0) {
      taken = take(order, order.open, new Set());
      order.open -= taken;
    }
  }
  return shares;
}

/** @param {Shares} shares @param {Order} order @returns {Share[]} */
function sharesOf(shares, order) {
  return [...(shares.get(order) ?? [])].flatMap(([{ id }, n]) => (n > 0 ? [{ id, n }] : [])).sort(byId);
}

/** @param {{n: number}[]} parts */
const total = (parts) => parts.reduce((sum, { n }) => sum + n, 0);

// ---- what must be poured -------------------------------------------------------------------------

/** @typedef {{order: Order, late: boolean, day: number, jugs: number, n: number}} Placed */

/** All that is open of an order on the day that she said: the jugs of that day are then busy.
 * @param {Order} order @param {number} most @param {Map<number, number>} busy jugs by day @returns {Placed[]} */
function onHerDay(order, most, busy) {
  const { on, open, per_jug, last, cured_last } = order;
  if (on === null || on < 0 || open === 0) return [];
  // Too late even to be cured, her day is no help: the last days that are stand in for it.
  if (on > cured_last) return [];
  const jugs = Math.ceil(open / per_jug);
  busy.set(on, Math.min(most, (busy.get(on) ?? 0) + jugs));
  order.open = 0;
  return [{ order, late: on > last, day: on, jugs, n: open }];
}

/** How many jugs can be poured from today until a day. @param {number} day @param {number} most
 * @param {Map<number, number>} busy */
function roomUntil(day, most, busy) {
  if (day < 0) return 0;
  let room = most * (day + 1);
  for (const [on, jugs] of busy) if (on <= day) room -= jugs;
  return room;
}

/**
 * The jugs that can still be poured in time: of all ways those that make most candles. `open` goes down by them.
 * @param {Order[]} orders @param {(day: number) => number} room
 * @param {Task[]} [before] those that are in time for full cure: then these are in time to be cured at the least
 * @returns {Task[]}
 */
function inTime(orders, room, before) {
  const late = before !== undefined;
  const jugs = orders.flatMap((order) => {
    const { open, per_jug } = order;
    const [whole, rest] = [Math.floor(open / per_jug), open % per_jug];
    const last = late ? order.cured_last : order.last;
    return [
      { order, late, last, jugs: whole, each: per_jug },
      { order, late, last, jugs: rest > 0 ? 1 : 0, each: rest },
    ];
  });
  jugs.sort((a, b) => b.each - a.each || a.last - b.last || byId(a.order, b.order));
  const fitted = [...(before ?? [])];
  /** @type {Map<Order, Task>} */
  const found = new Map();
  for (const { each, ...part } of jugs) {
    const taken = Math.min(part.jugs, slack(part.last, fitted, room));
    if (taken === 0) continue;
    const task = { ...part, jugs: taken, n: taken * each };
    fitted.push(task);
    part.order.open -= task.n;
    const known = found.get(part.order);
    if (known) Object.assign(known, { jugs: known.jugs + taken, n: known.n + task.n });
    else found.set(part.order, { ...task });
  }
  return [...found.values()];
}

/** How many more jugs fit until a day, and let all the others stay in time. @param {number} last @param {Task[]} tasks
 * @param {(day: number) => number} room */
function slack(last, tasks, room) {
  let least = Infinity;
  for (const day of [last, ...tasks.map((task) => task.last).filter((each) => each > last)]) {
    let free = room(day);
    for (const task of tasks) if (task.last <= day) free -= task.jugs;
    least = Math.min(least, free);
  }
  return Math.max(0, least);
}

/** Each jug as late as it can be: the days are filled from the last one back.
 * @param {Task[]} tasks which fit @param {number} most @param {Map<number, number>} busy @returns {Placed[]} */
function asLate(tasks, most, busy) {
  const waiting = [...tasks].sort(
    (a, b) => b.last - a.last || Number(a.late) - Number(b.late) || byId(a.order, b.order),
  );
  const left = new Map(waiting.map((task) => [task, task.jugs]));
  /** @type {Placed[]} */
  const placed = [];
  let day = waiting[0]?.last ?? -1;
  while (left.size > 0) {
    const ready = [...left.keys()].filter(({ last }) => last >= day);
    if (ready.length === 0) {
      day = [...left.keys()][0].last;
      continue;
    }
    let free = most - (busy.get(day) ?? 0);
    for (const task of ready) {
      const before = left.get(task) ?? 0;
      const jugs = Math.min(free, before);
      if (jugs === 0) continue;
      free -= jugs;
      const { order, late, n } = task;
      // Candles are shared out evenly over the jugs.
      const until = (/** @type {number} */ number) => Math.floor((n * number) / task.jugs);
      placed.push({ order, late, day, jugs, n: until(before) - until(before - jugs) });
      if (before === jugs) left.delete(task);
      else left.set(task, before - jugs);
    }
    day -= 1;
  }
  return placed;
}

/** @param {Placed[]} placed @param {Order} order @param {boolean} late @param {string} today @returns {Pouring[]} */
function daysOf(placed, order, late, today) {
  return placed
    .filter((each) => each.order === order && each.late === late)
    .sort((a, b) => a.day - b.day)
    .map(({ day, jugs, n }) => ({ day: dayPlus(today, day), jugs, n }));
}
