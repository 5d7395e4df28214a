/**
 * What a pour cost, and what its recipe expects it to cost. Pure.
 *
 * Costs are exact fractions of minor units, and are rounded once, where they are shown. Each material costs what was
 * paid for the lot that it came from. Where that is not known, or has no price, it costs the moving average of the lots
 * that have one, as it stood when the pour began. All that a pour took belongs to the candles that stand: what stayed in
 * the jug, was spilled or came out spoiled as well.
 */
import { filledOf } from "../bench/fold.js";
import { movingAverage } from "../formulas/costing.js";
import { add, fractionOf, ONE, over, times, ZERO } from "../formulas/fraction.js";
import { candlesOf } from "./candles.js";
import { needsOf } from "./choose.js";
import { handsOn } from "./hands_on.js";
import { amountOf, MATERIALS } from "./lots.js";
import { keyOf } from "./uses.js";

/** @typedef {import("../formulas/fraction.js").Fraction} Fraction */
/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/sheet.js").Sheet} Sheet */
/** @typedef {import("./stock.js").Material} Material */
/** @typedef {import("./stock.js").Lot} Lot */
/** @typedef {import("./uses.js").Use} Use */
/** @typedef {import("./uses.js").Pinned} Pinned */
/** @typedef {Record<string, any>} Prices her record of money: `hour`, `overhead`, `tax_rate`, `tax_back` */
/** @typedef {Map<string, Fraction>} Averages of a gram or a piece, by material */
/** @typedef {{lots: Map<string, Pick<Lot, "record" | "name">>, averages: Averages, prices: Prices}} Known what is known
 *   of prices, lots by their id */
/** @typedef {{lot: string | null, name: string, amount: number, cost: Fraction | null, averaged: boolean}} Part of a
 *   material, from one lot (`name`: its number); averaged: its cost is an average of other lots */
/** @typedef {{kind: string, id: string, name: string, amount: number, parts: Part[], cost: Fraction | null}} Line one
 *   material, in grams or pieces; cost null: no price yet */
/**
 * @typedef {object} Cost
 * @property {Line[]} lines
 * @property {{work_s: number, cost: Fraction | null}} labour cost null: she has put no price on an hour
 * @property {Fraction | null} overhead of all candles; null: she has put none
 * @property {Fraction} sum of all that has a price
 * @property {string[]} unpriced the names of materials that have none
 * @property {number} candles that stand
 * @property {Fraction | null} each of one candle; null: none stands
 */
/**
 * @typedef {object} Expected what the sheet has planned, at the same prices, with the work as it was
 * @property {Map<string, {name: string, amount: number, cost: Fraction | null}>} lines by material
 * @property {Fraction | null} overhead @property {Fraction} sum @property {number} candles
 * @property {Fraction | null} each of one candle
 */

/** What one gram or piece of a lot cost, delivery shared in; null: no price yet. Tax is a cost, but where she gets it back.
 * @param {Record<string, any>} lot its record @param {Prices} prices @returns {Fraction | null} */
export function unitCostOf(lot, prices) {
  const amount = amountOf(lot);
  if (!isAmount(lot.paid) || !isAmount(amount) || amount === 0) return null;
  const whole = add(fractionOf(lot.paid), fractionOf(isAmount(lot.delivery) ? lot.delivery : 0));
  const taxed = add(ONE, fractionOf([lot.tax_rate, prices.tax_rate].find(isAmount) ?? 0));
  const isBack = prices.tax_back === "yes";
  const isWith = lot.tax !== "without";
  const paid = isBack === isWith ? (isBack ? over(whole, taxed) : times(whole, taxed)) : whole;
  return over(paid, fractionOf(amount));
}

/** The moving average of each material's lots that have a price. @param {Material[]} materials with all their lots
 * @param {Prices} prices @param {number} at_ms as it stood then; where nothing had come by then, as it stands now
 * @returns {Averages} */
export function averagesOf(materials, prices, at_ms) {
  /** @type {Averages} */
  const averages = new Map();
  for (const { lots, ...material } of materials) {
    const moves = lots.flatMap((lot) => pricedMoves(lot, prices)).sort((a, b) => a.at_ms - b.at_ms);
    const then = moves.filter((move) => move.at_ms <= at_ms);
    const counted = then.some(({ movement }) => "in" in movement) ? then : moves;
    const costed = movingAverage(counted.map(({ movement }) => movement));
    if (costed.each !== null) averages.set(keyOf(material), costed.each);
  }
  return averages;
}

/** What came in of a lot that has a price, and what went out. What a count found besides cost nothing, and is left out.
 * @param {Lot} lot @param {Prices} prices @returns {{at_ms: number, movement: import("../formulas/costing.js").Movement}[]} */
function pricedMoves({ record, state }, prices) {
  const unit = unitCostOf(record, prices);
  if (unit === null) return [];
  const cost = times(unit, fractionOf(state.came));
  const came = { at_ms: Date.parse(`${record.received_on}T00:00`) || 0, movement: { in: state.came, cost } };
  const outs = state.moves.map(({ what, at_ms, amount, difference = 0 }) => {
    const out = what === "counted" ? Math.max(0, -difference) : amount;
    return { at_ms: Math.max(at_ms, came.at_ms), movement: { out } };
  });
  return [came, ...outs];
}

/** @param {{pour: Pour, uses: Use[]} & Known} given `uses`: what the pour really took @returns {Cost} */
export function costOf({ pour, uses, ...known }) {
  const { prices } = known;
  const lines = linesOf(uses, known);
  const { work_s } = handsOn(pour);
  const labour = { work_s, cost: isAmount(prices.hour) ? labourCost(work_s, prices.hour) : null };
  const candles = standingOf(pour);
  const overhead = overheadOf(candles, prices);
  const sum = sumOf([...lines.map(({ cost }) => cost), labour.cost, overhead]);
  const unpriced = [...lines.filter(({ cost }) => cost === null).map(({ name }) => name), ...notKept(pour.sheet)];
  return { lines, labour, overhead, sum, unpriced, candles, each: eachOf(sum, candles) };
}

/**
 * What the sheet has planned, at the prices that the pour came to: at those of its lots where it took none yet.
 * @param {Sheet} sheet @param {{cost: Cost, pinned: Pinned[]} & Known} given
 * @returns {Expected}
 */
export function expectedOf(sheet, { cost, pinned, ...known }) {
  const units = new Map(cost.lines.flatMap((line) => unitOfLine(line)));
  const packaging = pinned.flatMap(({ kind, id, each }) =>
    kind === "packaging" ? [{ packaging: id, count: each ?? 0 }] : [],
  );
  const nameOf = (/** @type {string} */ kind, /** @type {string} */ id) =>
    pinned.find((each) => each.kind === kind && each.id === id)?.name;
  /** @type {Expected["lines"]} */
  const lines = new Map();
  for (const need of needsOf(sheet, { packaging }, nameOf)) {
    const key = keyOf(need);
    const lot = pinned.find((each) => keyOf(each) === key)?.lots[0]?.id ?? null;
    const unit = units.get(key) ?? unitOf(lot, key, known).unit;
    lines.set(key, { name: need.name, amount: need.amount, cost: unit && times(unit, fractionOf(need.amount)) });
  }
  const overhead = overheadOf(sheet.count, known.prices);
  const sum = sumOf([...[...lines.values()].map((line) => line.cost), cost.labour.cost, overhead]);
  return { lines, overhead, sum, candles: sheet.count, each: eachOf(sum, sheet.count) };
}

/** The materials that have no price by themselves, by their keys. @param {Cost} cost @param {Expected} expected */
export function unpricedOf(cost, expected) {
  const lines = cost.lines.filter(({ parts }) => parts.some((part) => part.cost === null)).map(keyOf);
  return [...new Set([...lines, ...[...expected.lines].flatMap(([key, line]) => (line.cost === null ? [key] : []))])];
}

/** Whether anything that it took has a price. @param {Cost} cost */
export const isPriced = ({ lines }) => lines.some(({ cost }) => cost !== null);

/** The uses as lines, one a material. @param {Use[]} uses @param {Known} known @returns {Line[]} */
function linesOf(uses, known) {
  /** @type {Map<string, Line>} */
  const lines = new Map();
  for (const { kind, id, name, lot, amount } of uses) {
    const key = keyOf({ kind, id });
    const line = lines.get(key) ?? { kind, id, name, amount: 0, parts: [], cost: ZERO };
    lines.set(key, line);
    const { unit, averaged } = unitOf(lot, key, known);
    const cost = unit && times(unit, fractionOf(amount));
    line.amount += amount;
    line.cost = line.cost && cost && add(line.cost, cost);
    const same = line.parts.find((part) => part.lot === lot);
    if (same) Object.assign(same, { amount: same.amount + amount, cost: same.cost && cost && add(same.cost, cost) });
    else line.parts.push({ lot, name: lotName(lot, known), amount, cost, averaged });
  }
  return [...lines.values()].sort((a, b) => MATERIALS.indexOf(a.kind) - MATERIALS.indexOf(b.kind));
}

/** What a gram or piece costs that comes from a lot. @param {string | null} lot @param {string} key of the material
 * @param {Known} known @returns {{unit: Fraction | null, averaged: boolean}} */
function unitOf(lot, key, { lots, averages, prices }) {
  const record = lot === null ? undefined : lots.get(lot)?.record;
  const own = record ? unitCostOf(record, prices) : null;
  if (own !== null) return { unit: own, averaged: false };
  const average = averages.get(key) ?? null;
  return { unit: average, averaged: average !== null };
}

/** @param {Line} line @returns {[string, Fraction][]} */
function unitOfLine(line) {
  return line.cost && line.amount > 0 ? [[keyOf(line), over(line.cost, fractionOf(line.amount))]] : [];
}

/** Its number; "" where it is not known which it was. @param {string | null} lot @param {Known} known */
const lotName = (lot, { lots }) => (lot === null ? "" : (lots.get(lot)?.name ?? ""));

/** Candles that stand: as they were counted, or else those filled. @param {Pour} pour */
function standingOf(pour) {
  const { filled, others } = filledOf(pour.state);
  return pour.state.finished === null ? filled + others : candlesOf(pour).made;
}

/** What the sheet names of which no record is kept. @param {Sheet} sheet @returns {string[]} */
function notKept({ waxes, oils, extras, sizes, wick }) {
  const all = [...waxes, ...oils, ...extras, ...(wick ? [wick] : []), ...sizes];
  return [...new Set(all.filter(({ id }) => !id).map(({ name }) => name))];
}

/** @param {number} work_s @param {number} hour minor units */
const labourCost = (work_s, hour) => over(times(fractionOf(work_s), fractionOf(hour)), fractionOf(3600));

/** @param {number} candles @param {Prices} prices */
const overheadOf = (candles, { overhead }) =>
  isAmount(overhead) ? times(fractionOf(candles), fractionOf(overhead)) : null;

/** Of what is known. @param {(Fraction | null)[]} costs */
function sumOf(costs) {
  let sum = ZERO;
  for (const cost of costs) if (cost !== null) sum = add(sum, cost);
  return sum;
}

/** @param {Fraction} sum @param {number} candles */
const eachOf = (sum, candles) => (candles > 0 ? over(sum, fractionOf(candles)) : null);

/** @param {unknown} value @returns {value is number} a number, from nothing */
const isAmount = (value) => typeof value === "number" && Number.isFinite(value) && value >= 0;
