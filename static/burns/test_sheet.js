/** What a burn test asks: the test sheet that it keeps, whatever changes later. Pure. */
import { mixOf } from "../bench/mixing.js";
import { sizeVessel } from "../bench/sizing.js";
import { diameterAt, HEADSPACE_MM } from "../formulas/fill.js";
import { roundTo } from "../formulas/rounding.js";
import { InputError, listed, plural, t } from "../words/door.js";
import { SITTING } from "./limits.js";

/** @typedef {import("../bench/mixing.js").Fields} Fields */
/** @typedef {import("../bench/mixing.js").Materials} Materials */
/** @typedef {import("./burn_fold.js").TestSheet} TestSheet */
/** @typedef {TestSheet["wicks"][number]} Wick as it was called when the test was planned */
/** @typedef {TestSheet["candles"][number]} Candle `vessel`: which of that batch; null: of none that is kept here */
/** @typedef {{id: string, name: string, free: number[]}} Batch a batch, and which of its candles are free for a test */
/**
 * @typedef {object} Wanted what she asks of a test
 * @property {string[]} wicks ids, the smallest first
 * @property {number} candles_each of each wick
 * @property {number[]} marks_h
 * @property {number} width_mm
 * @property {number | null} [hottest_c] how hot a place of the vessel may get
 * @property {(Batch | null)[]} from of each wick the batch that its candles are of; null: of none that is kept here
 */

/** The shape of a test sheet. */
export const TEST_SHEET_VERSION = 1;

/** So many candles at most, and so many marks in a sitting, as the record's form has it. */
export const MOST_CANDLES = 36;
const MOST_MARKS = 12;

/** So wide at most and at least, mm. */
const WIDEST_MM = 1000;
const NARROWEST_MM = 5;

/** An empty vessel weighs up to so many times what it holds (our choice: thick glass). */
const VESSEL_TIMES = 2;

/** Characters of a record's name. */
const LONGEST_NAME = 200;

/**
 * @param {Fields} recipe @param {Materials} materials @param {Wanted} wanted @param {Fields[]} scales hers, or the usual one
 * @returns {TestSheet}
 * @throws {InputError} a sentence that says what is missing or does not fit; `about`: 'wicks', 'candles_each', 'marks' or
 *   'width_mm', or what the recipe lacks
 */
export function makeTestSheet(recipe, materials, wanted, scales) {
  const vessel = materials.vessels.get(recipe.vessel);
  if (vessel === undefined) throw new InputError("This recipe has no vessel: give it one first.", {}, "vessel");
  const mix = mixOf(recipe, materials);
  const { mix_g } = sizeVessel(vessel, mix);
  const wicks = wicksOf(wanted.wicks, materials.wicks);
  return {
    version: TEST_SHEET_VERSION,
    title: titleOf(recipe, vessel, wicks),
    recipe: recipe.id ?? null,
    vessel: { id: vessel.id, name: vessel.name ?? "" },
    width_mm: checkedWidth(wanted.width_mm),
    waxes: mix.waxes,
    oils: mix.oils,
    load: mix.load,
    fuel_g: mix_g,
    solid_density: mix.solid_density,
    wicks,
    candles: candlesOf(wicks, wanted),
    marks_h: checkedMarks(wanted.marks_h),
    step_g: scaleFor(mix_g, scales).step_g,
    hottest_c: wanted.hottest_c ?? null,
  };
}

/** Inside width where the wax stands, mm; null where the vessel was not measured with a ruler. @param {Fields} vessel */
export function widthOf({ method, diameter_mm, top_diameter_mm, height_mm, headspace_mm, length_mm, width_mm }) {
  if (method === "box" && length_mm > 0 && width_mm > 0) return Math.min(length_mm, width_mm);
  if (method !== "round" || !(diameter_mm > 0)) return null;
  const line_mm = height_mm - (headspace_mm ?? HEADSPACE_MM);
  if (!top_diameter_mm || !(line_mm > 0)) return diameter_mm;
  return roundTo(diameterAt(line_mm, height_mm, diameter_mm, top_diameter_mm), 0.1);
}

/** What is to be said of so few candles of each wick; null: nothing. @param {number} candles_each */
export function doubtOfSoFew(candles_each) {
  if (candles_each === 1)
    return t("One candle says nothing of how candles differ. Three of each wick are the least that a verdict needs.");
  // t(0.975)/√n at a spread of 5 %: desk-values of the reference, computed.
  if (candles_each === 2)
    return t("Two say almost nothing: with a spread of 5 % the half-width is 45 %; three bring it to 12 %.");
  return null;
}

/**
 * The marks as she types them: hours, parted by commas, semicolons or spaces.
 * @param {string} text @returns {number[]} @throws {InputError} one of them is no number
 */
export function readMarks(text) {
  // Where spaces part them, a comma in one of them is its decimal sign.
  const parts = /[\s;]/.test(text.trim()) ? text.split(/[\s;]+/) : text.split(",");
  const words = parts.map((part) => part.replace(/,$/, "").trim()).filter((part) => part !== "");
  return words.map((word) => {
    const hours = /^\d+(?:[.,]\d+)?$/.test(word) ? Number(word.replace(",", ".")) : Number.NaN;
    if (!Number.isFinite(hours))
      throw new InputError("“{word}” is no hour: write the marks as 1, 2, 3, 4.", { word }, "marks");
    return hours;
  });
}

/** @param {number[]} marks_h */
function checkedMarks(marks_h) {
  if (marks_h.length === 0)
    throw new InputError("Say after how many hours you will look, such as 1, 2, 3, 4.", {}, "marks");
  if (marks_h.length > MOST_MARKS)
    throw new InputError("{most} marks are the most in one sitting.", { most: MOST_MARKS }, "marks");
  for (const [index, hours] of marks_h.entries()) {
    if (!(hours > 0)) throw new InputError("A mark is later than the lighting: leave out {hours}.", { hours }, "marks");
    const before = marks_h[index - 1];
    if (hours <= before)
      throw new InputError("The marks must rise, and {hours} comes after {before}.", { hours, before }, "marks");
    if (hours > SITTING.value) {
      const most = SITTING.value;
      throw new InputError("No sitting lasts longer than {most} hours: leave out {hours}.", { hours, most }, "marks");
    }
  }
  return marks_h;
}

/** @param {number} width_mm */
function checkedWidth(width_mm) {
  if (!(width_mm >= NARROWEST_MM && width_mm <= WIDEST_MM))
    throw new InputError("Measure how wide the vessel is inside, where the wax stands.", {}, "width_mm");
  return width_mm;
}

/** @param {string[]} ids @param {Map<string, Fields>} kept @returns {Wick[]} */
function wicksOf(ids, kept) {
  if (ids.length === 0) throw new InputError("Choose at least one wick.", {}, "wicks");
  return ids.map((id, index) => {
    const wick = kept.get(id);
    if (wick === undefined) throw new InputError("A wick of these was deleted: choose another.", {}, "wicks");
    if (ids.indexOf(id) < index)
      throw new InputError("{wick} is there twice: choose each wick once.", { wick: wick.name }, "wicks");
    return { id, name: wick.name ?? "", series: wick.series ?? "", size: wick.size ?? "" };
  });
}

/** @param {Wick[]} wicks @param {Wanted} wanted @returns {Candle[]} */
function candlesOf(wicks, { candles_each, from }) {
  if (!Number.isInteger(candles_each) || candles_each < 1)
    throw new InputError("Say how many candles of each wick, such as 3.", {}, "candles_each");
  const all = wicks.length * candles_each;
  if (all > MOST_CANDLES) {
    throw new InputError(
      "A test has {most} candles at most, and these are {all}: take fewer of each, or fewer wicks.",
      { most: MOST_CANDLES, all },
      "candles_each",
    );
  }
  /** How many of a batch are taken already. @type {Map<string, number>} */
  const taken = new Map();
  return wicks.flatMap(({ name }, wick) => {
    const batch = from[wick] ?? null;
    const first = batch === null ? 0 : (taken.get(batch.id) ?? 0);
    if (batch !== null) {
      fits(batch, first + candles_each, name);
      taken.set(batch.id, first + candles_each);
    }
    return Array.from({ length: candles_each }, (_, number) => ({
      wick,
      pour: batch?.id ?? null,
      vessel: batch?.free[first + number] ?? null,
    }));
  });
}

/** @param {Batch} batch @param {number} needed @param {string} wick */
function fits({ name, free }, needed, wick) {
  if (needed <= free.length) return;
  throw new InputError(
    "{batch} has {free} candles for a test, and {needed} are asked for: take fewer of each, or another batch for {wick}.",
    { batch: name, free: free.length, needed, wick },
    "wicks",
  );
}

/** Such as 'Wet slate in tin 120: flat cotton 4, 6'. @param {Fields} recipe @param {Fields} vessel @param {Wick[]} wicks */
function titleOf(recipe, vessel, wicks) {
  const [{ series }] = wicks;
  const isOneSeries = series !== "" && wicks.every((wick) => wick.series === series && wick.size !== "");
  const what = isOneSeries
    ? `${series} ${wicks.map(({ size }) => size).join(", ")}`
    : listed(wicks.map(({ name }) => name));
  // Many a recipe is called by its vessel.
  const [name, where] = [recipe.name ?? "", vessel.name ?? ""];
  const whole = name.includes(where)
    ? t("{recipe}: {wicks}", { recipe: name, wicks: what })
    : t("{recipe} in {vessel}: {wicks}", { recipe: name, vessel: where, wicks: what });
  return whole.slice(0, LONGEST_NAME);
}

/** The finest scale that carries the candle; where none does, the one that carries most.
 * @param {number} fuel_g @param {Fields[]} scales */
function scaleFor(fuel_g, scales) {
  const carries = scales.filter(({ capacity_g }) => (capacity_g ?? Infinity) >= fuel_g * (1 + VESSEL_TIMES));
  const finest = (/** @type {Fields} */ best, /** @type {Fields} */ each) => (each.step_g < best.step_g ? each : best);
  const strongest = (/** @type {Fields} */ best, /** @type {Fields} */ each) =>
    each.capacity_g > best.capacity_g ? each : best;
  return carries.length > 0 ? carries.reduce(finest) : scales.reduce(strongest);
}

/**
 * Her wicks in the order in which a test offers them: those of the recipe's series first, then the others by series;
 * in a series by size, by the number in it.
 * @param {Iterable<Fields>} wicks @param {string} [ofRecipe] the id of the recipe's wick
 */
export function wicksInOrder(wicks, ofRecipe) {
  const all = [...wicks];
  const series = all.find(({ id }) => id === ofRecipe)?.series ?? "";
  const rank = (/** @type {Fields} */ wick) => (series !== "" && wick.series === series ? 0 : 1);
  return all.sort(
    (a, b) =>
      rank(a) - rank(b) ||
      String(a.series ?? "").localeCompare(String(b.series ?? "")) ||
      sizeNumber(a) - sizeNumber(b) ||
      String(a.name).localeCompare(String(b.name)),
  );
}

/** The number in a wick's size, or in its name; one that has none comes last. @param {Fields} wick */
function sizeNumber({ size, name }) {
  const found = /\d+(?:[.,]\d+)?/.exec(String(size || name || ""));
  return found ? Number(found[0].replace(",", ".")) : Infinity;
}

/** The wicks that a new test begins with: the recipe's and its neighbours in the series, the smallest first.
 * @param {Fields[]} inOrder as `wicksInOrder` has them @param {string} [ofRecipe] @returns {string[]} ids */
export function firstWicks(inOrder, ofRecipe) {
  const wick = inOrder.find(({ id }) => id === ofRecipe);
  if (wick === undefined) return [];
  if (!wick.series) return [wick.id];
  const ofSeries = inOrder.filter(({ series }) => series === wick.series);
  const at = ofSeries.indexOf(wick);
  return ofSeries.slice(Math.max(0, at - 1), at + 2).map(({ id }) => id);
}

/** How many candles a test has of each wick, such as '3 of each', or '3 and 2'. @param {TestSheet} sheet */
export function countsOf({ wicks, candles }) {
  const counts = wicks.map((_, index) => candles.filter(({ wick }) => wick === index).length);
  if (counts.length === 1) return plural(counts[0], "{n} candle", "{n} candles");
  if (counts.every((n) => n === counts[0])) return t("{n} of each wick", { n: counts[0] });
  return listed(counts.map(String));
}
