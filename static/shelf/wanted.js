/**
 * What is wanted by a day, worked out from what is kept: the candles that meet it, the days on which the others must be
 * poured, and what is missing for that.
 */
import { materials, roomOf } from "../bench/materials.js";
import { mixOf } from "../bench/mixing.js";
import { openPours, poursOf } from "../bench/pours.js";
import { makeSheet } from "../bench/sheet.js";
import { sizeVessel, USUAL_JUG_ML } from "../bench/sizing.js";
import { chosenTools, toolbox } from "../bench/tools.js";
import { backwards, MOST_JUGS_A_DAY } from "../formulas/backwards.js";
import { MOST_VESSELS, vesselsPerJug } from "../formulas/weigh.js";
import * as store from "../records/store.js";
import { localDate } from "../words/dates.js";
import { InputError, t } from "../words/door.js";
import { namesOn, needsOf } from "./choose.js";
import { before } from "./lists.js";
import { MATERIALS } from "./lots.js";
import { missingOf, promisedTo } from "./missing.js";
import { withCandles } from "./read_candles.js";
import { readShelf, standsOf, wentFor } from "./stock.js";
import { batchesOf, handedOut } from "./supply.js";

/** @typedef {import("../bench/mixing.js").Fields} Fields */
/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/sheet.js").Sheet} Sheet */
/** @typedef {import("../formulas/backwards.js").Job} Job */
/** @typedef {import("../formulas/backwards.js").Pouring} Pouring */
/** @typedef {import("../formulas/backwards.js").Worked} Worked */
/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("./missing.js").Missing} Missing */
/** @typedef {Pouring & {late: boolean}} PouringDay `late`: too late to be fully cured */
/**
 * @typedef {object} Order what is wanted, worked out
 * @property {Plain} record
 * @property {Plain | null} recipe
 * @property {number} given how many have been handed out for it already
 * @property {string | null} problem why it can't be worked out, in words
 * @property {Worked | null} worked
 * @property {PouringDay[]} days on which some must be poured, the first day first
 * @property {Missing[]} missing what is counted on the shelf, and not there, what must be ordered first at the top
 * @property {Missing[]} uncounted what the shelf knows nothing of
 */
/**
 * @typedef {object} Kept all that it is worked out from
 * @property {string} today ISO 8601
 * @property {Plain[]} wanted @property {Map<string, Plain>} recipes @property {Map<string, Plain>} suppliers
 * @property {import("../bench/mixing.js").Materials} materials
 * @property {import("../bench/tools.js").Toolbox} tools @property {Fields} workshop
 * @property {Pour[]} pours @property {import("./stock.js").Shelf} shelf
 * @property {Set<string>} used_up materials, by key, whose lots have all come to rest
 */

/** As many candles as are looked for. */
const MOST = 100_000;

/** The kinds of record that it depends on. */
export const KINDS_OF_WANTED = [
  ...["wanted", "recipe", "pour", "batch", "lot", "supplier", "workshop", "jug", "scale"],
  ...MATERIALS,
];

/** @param {string} today ISO 8601 @param {{workshop: Fields, units: import("../bench/display_units.js").DisplayUnits}} given
 * @param {string} [also] one that is done, of which it is to be known what went out for it @returns {Promise<Kept>} */
export async function readKept(today, { workshop, units }, also) {
  const wanted = await store.living("wanted");
  const reading = openPours().then(withCandles);
  const [recipes, suppliers, kept, tools, shelf, open, past] = await Promise.all([
    store.living("recipe"),
    store.living("supplier"),
    materials(),
    toolbox(units),
    readShelf(today, { pours: reading }),
    reading,
    pastFor(wanted.filter(({ id, done }) => done !== "yes" || id === also)),
  ]);
  const byId = (/** @type {Plain[]} */ records) => new Map(records.map((record) => [record.id, record]));
  // One that was opened meanwhile is not there twice.
  const here = new Set(open.map(({ id }) => id));
  const pours = [...open, ...past.filter(({ id }) => !here.has(id))];
  return {
    ...{ today, wanted, workshop, tools, pours, shelf },
    ...{ used_up: await usedUp(shelf), recipes: byId(recipes), suppliers: byId(suppliers), materials: kept },
  };
}

/** @param {import("./stock.js").Shelf} shelf */
async function usedUp({ materials: all }) {
  const without = [...all].filter(([, { lots }]) => lots.length === 0).map(([key]) => key);
  const past = await Promise.all(without.map((key) => store.settledOf(key, 1)));
  return new Set(without.filter((_, index) => past[index].length > 0));
}

/** The settled ones of which some went out for it, and as many with candles that are still here as could meet it: each
 * has one at least, and all of them are cured. @param {Plain[]} wanted */
async function pastFor(wanted) {
  /** @type {Map<string, number>} */
  const counts = new Map();
  for (const { recipe, count } of wanted) {
    // How many make no sense is said where it is worked out.
    if (Number.isInteger(count) && count > 0) counts.set(recipe, Math.min(MOST, (counts.get(recipe) ?? 0) + count));
  }
  const rows = await Promise.all([
    ...[...counts].map(([recipe, count]) => store.settledOf(standsOf(recipe), count)),
    ...wanted.map(({ id }) => store.settledOf(wentFor(id))),
  ]);
  return withCandles(await poursOf([...new Set(rows.flat().map(({ id }) => id))]));
}

/** @param {Kept} kept @returns {Order[]} of all that is not done, by day */
export function workOut(kept) {
  const { today, pours, workshop, tools, recipes, shelf, suppliers } = kept;
  const jugs_a_day = jugsADay(workshop, tools);
  const given = handedOut(pours);
  const open = kept.wanted.filter(({ done }) => done !== "yes").sort(byDay);
  const orders = open.map((record) => orderOf(record, kept, jugs_a_day, given.get(record.id) ?? 0));
  const jobs = orders.flatMap(({ job }) => job ?? []);
  const groups = new Map(orders.flatMap(({ job, batches }) => (job ? [[job.group, batches]] : [])));
  const begun = pours
    .filter(({ stage, record }) => stage !== "abandoned" && localDate(record.started_at) === today)
    .reduce((sum, { sheet }) => sum + sheet.jugs.length, 0);
  const worked = new Map(
    backwards(jobs, [...groups.values()].flat(), { today, jugs_a_day, begun }).map((each) => [each.id, each]),
  );
  const found = orders.map((order) => {
    const answer = worked.get(order.record.id) ?? null;
    return { ...order, worked: answer, days: answer ? daysOf(answer) : [] };
  });
  const nameOf = namesOn(shelf);
  const planned = found.flatMap(({ record, recipe, days, sheets }) =>
    days.flatMap(({ day, n }) =>
      asFarAsTold(() => sheets(n)).map((sheet) => ({
        day,
        wanted: record.id,
        needs: needsOf(sheet, /** @type {Fields} */ (recipe), nameOf),
      })),
    ),
  );
  const missing = missingOf(planned, shelf, promisedTo(pours, recipes, nameOf), suppliers, kept.used_up);
  return found.map(({ record, recipe, given: out, problem, worked: answer, days }) => {
    const own = missing.filter(({ wanted }) => wanted === record.id).sort((a, b) => before(a.order_by, b.order_by));
    return {
      ...{ record, recipe, given: out, problem, worked: answer, days },
      missing: own.filter(({ counted }) => counted),
      uncounted: own.filter(({ counted }) => !counted),
    };
  });
}

/** Nothing of a part that is too small for her scale: the plan says so when it is poured.
 * @param {() => Sheet[]} tell */
function asFarAsTold(tell) {
  try {
    return tell();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return [];
  }
}

/** @param {Plain} a @param {Plain} b */
const byDay = (a, b) => {
  const key = (/** @type {Plain} */ { by, name, id }) => `${by} ${name} ${id}`;
  return key(a) < key(b) ? -1 : 1;
};

/** Each of her jugs once, where she has not said. @param {Fields} workshop @param {{jugs: Fields[]}} tools */
export function jugsADay(workshop, { jugs }) {
  return Math.min(MOST_JUGS_A_DAY, workshop.jugs_a_day ?? Math.max(1, jugs.length));
}

/** @typedef {{record: Plain, recipe: Plain | null, given: number, problem: string | null, job: Job | null,
 *   batches: import("../formulas/backwards.js").Batch[], sheets: (n: number) => Sheet[]}} Resolved */

/** What is wanted as the formula takes it, or why that can't be said.
 * @param {Plain} record @param {Kept} kept @param {number} jugs_a_day @param {number} given @returns {Resolved} */
function orderOf(record, kept, jugs_a_day, given) {
  const recipe = kept.recipes.get(record.recipe) ?? null;
  const none = { record, recipe, given, job: null, batches: [], sheets: () => [] };
  if (recipe === null)
    return { ...none, problem: t("Its recipe was deleted. Bring it back, or choose another recipe.") };
  if (given > 0 && given >= record.count)
    return { ...none, problem: t("All of them went out. Tick it off, or say how many are still wanted.") };
  try {
    const mix = mixOf(recipe, kept.materials);
    const days = { best_days: mix.cure_best_days, least_days: mix.cure_least_days, label_days: mix.label_days };
    const { per_jug, sheets } = inJugs(recipe, mix, kept);
    /** @type {Job} */
    const job = {
      ...{ id: record.id, group: recipe.id, by: record.by, count: record.count - given, per_jug, ...days },
      cured: record.cured === "least" ? "least" : "best",
      pour_on: record.pour_on ?? null,
    };
    // Whether it makes sense is asked of each alone: one that does not must not keep the others from it.
    backwards([job], [], { today: kept.today, jugs_a_day });
    sheets(Math.min(job.count, MOST_VESSELS));
    return { ...none, problem: null, job, batches: batchesOf(kept.pours, asVessel(recipe), days, kept.today), sheets };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { ...none, problem: error.message };
  }
}

/** @param {Plain} recipe */
const asVessel = ({ id, vessel }) => ({ id, vessel });

/**
 * How many of a recipe's vessels go into a jug of hers, and the sheets of such pours. Where her jugs differ it is as many
 * as they take on average, so that a day in which each is filled holds no more than they do.
 * @param {Plain} recipe @param {import("../bench/mixing.js").Mix} mix @param {Kept} kept
 * @returns {{per_jug: number, sheets: (n: number) => Sheet[]}} @throws {InputError} it fits into none
 */
function inJugs(recipe, mix, { materials: kept, tools, workshop }) {
  const vessel = kept.vessels.get(recipe.vessel);
  if (vessel === undefined) throw new InputError("This recipe has no vessel: give it one first.");
  const { mix_g, hot_ml } = sizeVessel(vessel, mix);
  const chosen = chosenTools(tools, {});
  const byId = (/** @type {Fields[]} */ records, /** @type {string} */ id) =>
    records.find((each) => each.id === id) ?? records[0];
  const [scale, fine] = [byId(tools.scales, chosen.scale), byId(tools.scales, chosen.fine)];
  const room = roomOf(workshop);
  const jugs = tools.jugs.map((jug) => ({ ...jug, volume_ml: jug.volume_ml ?? USUAL_JUG_ML }));
  const inJug = (/** @type {Fields} */ jug) =>
    vesselsPerJug(mix_g, hot_ml, {
      jug_volume_ml: jug.volume_ml,
      jug_empty_g: jug.empty_g ?? 0,
      scale_capacity_g: scale.capacity_g ?? null,
      allowance_g: room.allowance_g,
    });
  let largest = /** @type {{jug: Fields, takes: number} | null} */ (null);
  let refused = /** @type {unknown} */ (null);
  let together = 0;
  for (const jug of jugs) {
    try {
      const takes = inJug(jug);
      together += takes;
      if (largest === null || takes > largest.takes) largest = { jug, takes };
    } catch (error) {
      refused = error;
    }
  }
  if (largest === null) throw refused;
  const per_jug = Math.max(1, Math.floor(together / jugs.length));
  const given = { ...{ scale, fine, thermometer: tools.thermometers[0], ...room }, jug: largest.jug };
  /** Of many days the most are alike. @type {Map<number, Sheet[]>} */
  const made = new Map();
  const sheets = (/** @type {number} */ n) => {
    const found = made.get(n) ?? [];
    if (found.length > 0) return found;
    for (let left = n; left > 0; left -= MOST_VESSELS) {
      found.push(makeSheet(recipe, kept, given, Math.min(left, MOST_VESSELS)));
    }
    made.set(n, found);
    return found;
  };
  return { per_jug, sheets };
}

/** @param {Worked} worked @returns {PouringDay[]} */
function daysOf({ days, cured }) {
  const all = [
    ...days.map((each) => ({ ...each, late: false })),
    ...cured.days.map((each) => ({ ...each, late: true })),
  ];
  return all.sort((a, b) => before(a.day, b.day));
}
