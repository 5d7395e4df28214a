/**
 * Months of a workshop played at random into a phone's store, tidied up now and then: after each thing that happens,
 * the shelf as screens read it is beside the shelf folded from all that there is.
 */

import { playPour } from "/bench/played_pour.js";
import { allPours, foldAll, folded, isOnBench, ofEach } from "/bench/pours.js";
import { random, wrapped } from "/helpers/at_random.js";
import * as store from "/records/store.js";
import { backTold } from "/shelf/back_told.js";
import { MATERIALS } from "/shelf/lots.js";
import { readBack } from "/shelf/read_back.js";
import { withCandles } from "/shelf/read_candles.js";
import { allLeft, batchesFrom, lotsBehind } from "/shelf/read_trace.js";
import { pourUses, readShelf, shelfOf } from "/shelf/stock.js";
import { tidy } from "/shelf/tidy.js";
import { leftOf, lotsIn, madeOf, parentsOf } from "/shelf/trace.js";

const DAY_MS = 86_400_000;
const POURS = 10;
const LOTS = ["wax-0", "wax-1", "wax-2", "oil-0", "oil-1"];
const WAX = ["wax", "demo-wax-dune"];
const OIL = ["fragrance", "demo-oil-slate"];

const dayOf = (at_ms) => new Date(at_ms).toISOString().slice(0, 10);

async function everything(today) {
  const lots = await store.living("lot");
  const events = await Promise.all(lots.map(({ id }) => store.events("lot", id)));
  const materials = await Promise.all(MATERIALS.map(store.all));
  const uses = ofEach(await allPours(), pourUses);
  return shelfOf({ lots, events: events.flat(), materials: materials.flat(), uses, today });
}

const inOrder = (uses) => uses.map((use) => JSON.stringify(use)).sort();

/** What differs between the shelf that is read and the whole one. */
async function problemOf(today) {
  const whole = await everything(today);
  const read = await readShelf(today);
  for (const [id, lot] of whole.lots) {
    const seen = read.lots.get(id);
    if (seen === undefined && lot.state.here !== 0) return `${id} is not seen, and ${lot.state.here} of it is there`;
    if (seen && JSON.stringify(seen.state) !== JSON.stringify(lot.state)) return `${id} is seen otherwise`;
  }
  for (const key of [WAX.join(), OIL.join()]) {
    const { lots, unknown } = (await readShelf(today, { material: key })).materials.get(key);
    const wanted = whole.materials.get(key);
    if (inOrder(unknown).join() !== inOrder(wanted.unknown).join()) return `${key}: what is not said of a lot differs`;
    const states = (of) => JSON.stringify(of.map(({ id, state }) => [id, state]));
    if (states(lots) !== states(wanted.lots)) return `${key}: ${states(lots)} is not ${states(wanted.lots)}`;
  }
  return null;
}

/** What differs between following all pours and deliveries, deleted ones too, and what is read for it. */
async function traceProblem() {
  const [kept, lots] = await Promise.all(["pour", "lot"].map(store.apart));
  const pours = await withCandles(await foldAll([...kept.living, ...kept.gone], folded));
  const readable = ofEach(pours, (pour) => (lotsIn(pour) ? [pour] : []));
  const left = leftOf([...lots.living, ...lots.gone]);
  const told = (batches) =>
    batches.map(({ pour, candles, amount, through }) => JSON.stringify([pour.id, candles, amount, through.sort()]));
  for (const lot of LOTS) {
    const [wanted, seen] = [madeOf(lot, readable, left), await batchesFrom(lot)].map((each) =>
      told(each).sort().join(),
    );
    if (wanted !== seen) return `${lot} is in ${wanted}, and is followed to ${seen}`;
  }
  const byId = new Map(readable.map((pour) => [pour.id, pour]));
  for (const pour of readable) {
    const both = [parentsOf(pour, byId, left), await lotsBehind(pour)];
    const [wanted, seen] = both.map((each) => JSON.stringify(each));
    if (wanted !== seen) return `in ${pour.id} there is ${wanted}, and ${seen} was read`;
  }
  const seen = JSON.stringify([...(await allLeft())].sort());
  const wanted = JSON.stringify([...left].sort());
  return wanted === seen ? null : `what was left in jugs is seen as ${seen}, and is ${wanted}`;
}

/** What differs between looking back on all pours and on those that were read for it. */
async function backProblem() {
  const pours = await withCandles(await allPours());
  const whole = ofEach(pours, (pour) => (isOnBench(pour) ? [] : [backTold(pour)]));
  const years = (told) => new Set([told.month, ...Object.keys(told.moves)].map((month) => month.slice(0, 4)));
  for (const year of [null, "2026", "2025"]) {
    const isIn = (told) => year === null || years(told).has(year);
    const read = await readBack(year && [year]);
    const [wanted, found] = [whole, read].map((all) => inOrder(all.filter(isIn)).join());
    if (wanted !== found) return `looking back on ${year}: ${found} is not ${wanted}`;
  }
  return null;
}

/** @returns {Promise<{problem: string | null, settled: number, reopened: number}>} */
export async function play(seed, records) {
  const draw = random(seed);
  const pick = (items) => items[Math.floor(draw() * items.length)];
  const now_ms = Date.parse("2026-11-30T12:00:00Z");
  const today = dayOf(now_ms);
  const bring = (kind, id, fields) => wrapped({ kind, id, fields });
  await store.bringIn(records.filter(({ kind }) => kind !== "lot").map(wrapped), []);
  const cameOn = dayOf(now_ms - 300 * DAY_MS);
  const lots = LOTS.map((id) => {
    // As much as one, two or three of the pours take, so that some are used up to the gram.
    const amount_g = (id.startsWith("wax") ? 102 : 8.2) * Math.ceil(draw() * 3);
    const bought = { by: "weight", amount_g, received_on: cameOn, ...(id.endsWith("0") && { left_of: "p0" }) };
    return bring("lot", id, { name: id, material: id.startsWith("wax") ? WAX : OIL, ...bought });
  });
  await store.bringIn(lots, []);
  const past = { recipe: "demo-recipe-slate", count: 1, start_c: 83.5, rate: 1.3e-4, tops: "smooth" };
  for (let n = 0; n < POURS; n += 1) {
    const begun_at = now_ms - Math.round((5 + draw() * 250) * DAY_MS);
    const drawn = (id) => (draw() < 0.15 ? [] : [{ id, name: id, amount: 100 }]);
    const pinned = [
      { kind: WAX[0], id: WAX[1], name: "Dune", lots: drawn(pick(LOTS.slice(0, 3))) },
      { kind: OIL[0], id: OIL[1], name: "Slate", lots: drawn(pick(LOTS.slice(3))) },
    ];
    const { record, events } = playPour({ ...past, id: `p${n}`, begun_at, lots: pinned }, records);
    await store.bringIn([wrapped(record)], events);
  }
  const happens = {
    tidy: async () => {
      localStorage.removeItem("tidied");
      await tidy(now_ms, today, async () => undefined);
    },
    count: async () => {
      const at = now_ms - Math.round(draw() * 200 * DAY_MS);
      await store.append("lot", pick(LOTS), { type: "counted", amount: draw() < 0.6 ? 0 : 77, at });
    },
    correct: async (pour) => {
      const event = pick((await store.events("pour", pour)).filter(({ type }) => type === "weighed"));
      const value = Math.round(event.read_g * (0.5 + draw()));
      await store.append("pour", pour, { type: "corrected", event: event.id, field: "read_g", value, at: now_ms });
    },
    come: async (pour) => {
      const [kind, material, among] = draw() < 0.5 ? [...WAX, LOTS.slice(0, 3)] : [...OIL, LOTS.slice(3)];
      const lot = draw() < 0.2 ? null : pick(among);
      await store.append("pour", pour, { type: "came_from", kind, material, lot, at: now_ms });
    },
    sell: async (pour) => {
      const at = now_ms - Math.round(draw() * 400 * DAY_MS);
      const price = { price: Math.floor(draw() * 3000), currency: "EUR" };
      await store.append("batch", pour, {
        type: draw() < 0.7 ? "sold" : "broken",
        n: 1,
        at,
        ...(draw() < 0.8 && price),
      });
    },
    undo: async (pour) => {
      const event = pick(await store.events("pour", pour));
      await store.append("pour", pour, { type: "undone", event: event.id, at: now_ms });
    },
    remove: (pour) => store.save("pour", pour, { deleted: draw() < 0.6 }),
    removeLot: () => store.save("lot", pick(LOTS), { deleted: draw() < 0.4 }),
  };
  let settled = 0;
  let reopened = 0;
  for (let turn = 0; turn < 20; turn += 1) {
    const name = turn % 4 === 0 ? "tidy" : pick(Object.keys(happens));
    const before = (await store.unsettled("pour")).length + (await store.unsettled("lot")).length;
    await happens[name](`p${Math.floor(draw() * POURS)}`);
    const after = (await store.unsettled("pour")).length + (await store.unsettled("lot")).length;
    settled += Math.max(0, before - after);
    reopened += Math.max(0, after - before);
    // Right after it was tidied, most of it is read from what is kept of settled ones.
    const rarely = async () => (turn % 4 === 1 ? ((await traceProblem()) ?? (await backProblem())) : null);
    const problem = (await problemOf(today)) ?? (await rarely());
    if (problem !== null) return { problem: `turn ${turn}, ${name}: ${problem}`, settled, reopened };
  }
  return { problem: null, settled, reopened };
}
