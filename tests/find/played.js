/**
 * Things that happen at random to a phone's store; after each of them the index that follows them is held beside the
 * index made anew, and beside what every record says.
 */

import { playPour } from "/bench/played_pour.js";
import { VERSION } from "/find/entries.js";
import { AllFound } from "/find/found.js";
import { all, behind, catchUp } from "/find/index.js";
import { INDEXED } from "/find/kinds.js";
import { random, wrapped } from "/helpers/at_random.js";
import { beginWith, rows } from "/records/found.js";
import * as store from "/records/store.js";

const POURS = 4;
const NAMES = ["Łąka", "Straße", "kelp", "Øre", "plum", "smoke", "crème", "tide"];

const inOrder = (found) => JSON.stringify(found.inOrder);

/** The index as somebody makes it who never saw it. */
async function madeAnew() {
  await beginWith(`${VERSION} another`, Object.keys(INDEXED));
  await beginWith(VERSION, Object.keys(INDEXED));
  await catchUp(await behind());
  const anew = new AllFound();
  anew.take((await rows()).map((row) => [row.id, row]));
  return anew;
}

/** Until what is followed has come to rest. */
async function followed(found) {
  for (;;) {
    const before = inOrder(found);
    await new Promise((resolve) => setTimeout(resolve));
    const open = await store.unsettled("find");
    const names = new Set(open.map(({ id }) => id.split(" ")[0]));
    const isRead = [...names].every((kind) => !Object.hasOwn(INDEXED, kind));
    if (isRead && inOrder(found) === before) return;
  }
}

/** @returns {Promise<{problem: string | null, changes: number}>} */
export async function play(seed, records, turns) {
  const draw = random(seed);
  const pick = (items) => items[Math.floor(draw() * items.length)];
  const name = () => `${pick(NAMES)} ${pick(NAMES)} ${Math.floor(draw() * 50)}`;
  await store.bringIn(records.map(wrapped), []);
  const past = { recipe: "demo-recipe-slate", count: 2, start_c: 83.5, rate: 1.3e-4, tops: "smooth" };
  for (let n = 0; n < POURS; n += 1) {
    const begun_at = Date.parse("2026-11-30T12:00:00Z") - Math.round(draw() * 250 * 86_400_000);
    const { record, events } = playPour({ ...past, id: `p${n}`, begun_at }, records);
    await store.bringIn([wrapped(record)], events);
  }
  await store.save("buyer", "b", { name: "Quirin Erased", what: "person", notes: "Quirin likes smoke" });
  await catchUp(await behind());
  const found = await all();
  const pour = () => `p${Math.floor(draw() * POURS)}`;
  const kinds = ["wax", "fragrance", "recipe", "supplier", "lot", "buyer"];
  const happens = {
    name: async () => {
      const record = pick((await store.living(pick(kinds))).filter(({ id }) => id !== "b"));
      if (record) await store.save(record.kind, record.id, { name: name(), notes: name() });
    },
    make: () => store.save(pick(kinds), store.newId(), { name: name() }),
    remove: async () => {
      const record = pick(await store.living(pick(["lot", "buyer", "wanted"])));
      if (record && record.id !== "b") await store.remove(record.kind, record.id);
    },
    note: () => store.append("pour", pour(), { type: "noted", text: name() }),
    sell: () => store.append("batch", pour(), { type: "sold", n: 1, where: name() }),
    undo: async () => {
      const [kind, id] = [pick(["pour", "batch"]), pour()];
      const event = pick(await store.events(kind, id));
      if (event) await store.append(kind, id, { type: "undone", event: event.id });
    },
    removePour: () => store.save("pour", pour(), { deleted: draw() < 0.5 }),
    erase: () => store.save("buyer", "b", { erased: true, deleted: true }),
  };
  let changes = 0;
  for (let turn = 0; turn < turns; turn += 1) {
    const what =
      turn === Math.floor(turns / 2) ? "erase" : pick(Object.keys(happens).filter((each) => each !== "erase"));
    const before = inOrder(found);
    await happens[what]();
    if (
      what === "erase" &&
      JSON.stringify(await rows())
        .toLowerCase()
        .includes("quirin")
    )
      return { problem: "who was erased is in the rows at once after it", changes };
    await followed(found);
    if (inOrder(found) !== before) changes += 1;
    if (turn >= turns / 2 && inOrder(found).toLowerCase().includes("quirin"))
      return { problem: `turn ${turn}, ${what}: who was erased is found`, changes };
    const followedNow = inOrder(found);
    const anew = inOrder(await madeAnew());
    if (anew !== followedNow) return { problem: `turn ${turn}, ${what}: ${followedNow}\n\n${anew}`, changes };
  }
  return { problem: null, changes };
}
