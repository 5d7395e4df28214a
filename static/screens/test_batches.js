/** The batches that candles of a burn test may be of: what is free of each, and what it was made from. */
import { vesselsOf } from "../bench/due.js";
import { isOnBench } from "../bench/pours.js";
import { ready } from "../formulas/cure.js";
import * as store from "../records/store.js";
import { candlesOf } from "../shelf/candles.js";
import { usesOf } from "../shelf/uses.js";
import { dayText, localDate } from "../words/dates.js";
import { listed, plural, t } from "../words/door.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../burns/test_sheet.js").Batch} Batch */
/** @typedef {Batch & {pour: Pour, cured_on: string | null}} FreeBatch `cured_on`: the day from which it is fully cured; null:
 *   it is not set aside yet */
/** @typedef {{sheet: {candles: {pour: string | null, vessel: number | null}[]}}} WithCandles a test */

/**
 * The batches of a recipe of which candles are free, the newest first: none that another test has, none that went out.
 * @param {Pour[]} pours @param {string} recipe its id @param {WithCandles[]} tests @returns {FreeBatch[]}
 */
export function freeBatches(pours, recipe, tests) {
  return pours.flatMap((pour) => {
    const { id, sheet, stage } = pour;
    if (sheet.recipe !== recipe || isOnBench(pour) || stage === "abandoned") return [];
    const tested = testedVessels(id, tests);
    const { finished, set_on } = pour.state;
    const there = filledVessels(pour).filter((vessel) => !tested.has(vessel));
    const free = finished === null ? there : there.slice(0, candlesOf(pour).shelf);
    const cured_on = set_on === null ? null : ready(set_on, sheet.cure_best_days);
    return free.length > 0 ? [{ id, name: batchName(pour), free, pour, cured_on }] : [];
  });
}

/** Such as '12 × tin 120, poured Sat 14 Nov'. @param {Pour} pour */
export function batchName(pour) {
  return t("{vessels}, poured {day}", { vessels: vesselsOf(pour.sheet), day: pouredOn(pour) });
}

/** @param {Pour} pour */
const pouredOn = ({ state, record }) => dayText(state.set_on ?? localDate(record.started_at));

/** For a list to choose from, in which the end may be cut off: such as '9 free, poured Sat 14 Nov: 12 × tin 120'.
 * @param {FreeBatch} batch */
export function batchChoice({ pour, free }) {
  const values = { day: pouredOn(pour), vessels: vesselsOf(pour.sheet) };
  return plural(free.length, "{n} free, poured {day}: {vessels}", "{n} free, poured {day}: {vessels}", values);
}

/** Which of a batch's vessels were filled, from 0 over all jugs. @param {Pour} pour */
function filledVessels({ state }) {
  let before = 0;
  return state.jugs.flatMap(({ poured, vessels }) => {
    const from = before;
    before += vessels;
    return poured.filter(({ skipped }) => !skipped).map(({ vessel }) => from + vessel);
  });
}

/** Which of them tests have. @param {string} id @param {WithCandles[]} tests */
function testedVessels(id, tests) {
  const candles = tests.flatMap(({ sheet }) => sheet.candles).filter(({ pour }) => pour === id);
  return new Set(candles.map(({ vessel }) => vessel));
}

/** The lots that a batch was made from, such as 'Dune FF-2609 and Wet slate QS 81-3'; "" where none is known.
 * @param {Pour} pour @returns {Promise<string>} */
export async function lotsText(pour) {
  const uses = usesOf(pour).filter(
    ({ lot, kind }) => lot !== null && (kind === "wax" || kind === "fragrance" || kind === "wick"),
  );
  const ids = [...new Set(uses.map(({ lot }) => String(lot)))];
  const lots = new Map((await store.livingOf("lot", ids)).map(({ id, name }) => [id, name]));
  const named = uses.flatMap(({ name, lot }) => {
    const number = lots.get(String(lot));
    return number ? [t("{name} {lot}", { name, lot: number })] : [];
  });
  return named.length > 0 ? listed([...new Set(named)]) : "";
}
