/**
 * Tidying up behind her: pours of which nothing more is to be told, and deliveries that are used up, are settled, so
 * that no screen reads all the years again (`static/records/settled.js`). Nothing of it is shown; what is settled is
 * opened again by whatever happens to it.
 */
import { coming, due, remindersOf, settingsOf } from "../bench/due.js";
import { isOnBench, passOver, readPour } from "../bench/pours.js";
import { clashes } from "../records/merge.js";
import { openAll, settle } from "../records/settling.js";
import * as store from "../records/store.js";
import { withCandles } from "./read_candles.js";
import { readShelf, settledTold } from "./stock.js";
import { LEFT, lotsIn } from "./trace.js";

/** What is kept of settled ones; another number, and all are told anew. */
const VERSION = 5;

/** When this phone tidied last, and how. */
const LAST = "tidied";

/** So many are settled at once, and a touch comes in between. */
const AT_ONCE = 20;

const DAY_MS = 86_400_000;

/** So many that are open are tidied up more often than once a day. */
const MANY = 200;

/** As long as nothing happened to it a pour is left open (our choice): she still looks at it. */
const REST_MS = 14 * DAY_MS;

/**
 * @param {number} now_ms by the phone's clock @param {string} today
 * @param {() => Promise<void>} pause lets a touch come between two pieces of work
 * @param {Map<string, (id: string, before_ms: number) => Promise<Record<string, any> | null>>} [others] what is to be
 *   known of one of another kind to which nothing happened since then; null: it stays open
 */
export async function tidy(now_ms, today, pause, others = new Map()) {
  const { at_ms = 0, version = VERSION } = JSON.parse(localStorage.getItem(LAST) ?? "{}");
  // A clock that ran ahead settled what was not over.
  if (version !== VERSION || at_ms > now_ms + DAY_MS) await openAll();
  else if (at_ms > now_ms - DAY_MS && (await store.unsettled("pour")).length < MANY) return;
  localStorage.setItem(LAST, JSON.stringify({ at_ms: now_ms, version: VERSION }));
  const settings = { ...settingsOf((await store.get("workshop", "workshop")) ?? {}), off: [] };
  await inPieces(await store.unsettled("pour"), pause, (row) => pourTold(row.id, settings, now_ms));
  const { lots } = await readShelf(today);
  const moving = new Set((await store.unsettled("pour")).map(({ id }) => id));
  await inPieces(await store.unsettled("lot"), pause, async ({ id }) => lotTold(lots.get(id), moving, now_ms));
  for (const [kind, tell] of others)
    await inPieces(await store.unsettled(kind), pause, ({ id }) => tell(id, now_ms - REST_MS));
}

/** @param {import("../records/settled.js").Row[]} rows @param {() => Promise<void>} pause
 * @param {(row: import("../records/settled.js").Row) => Promise<Record<string, any> | null>} tell null: it stays open */
async function inPieces(rows, pause, tell) {
  for (let from = 0; from < rows.length; from += AT_ONCE) {
    const found = [];
    for (const row of rows.slice(from, from + AT_ONCE)) {
      const told = await tell(row);
      if (told !== null) found.push({ row, told });
      await pause();
    }
    if (found.length > 0) await settle(found);
  }
}

/** What is to be known of a pour that is over; null where it is not.
 * @param {string} id @param {import("../bench/due.js").Settings} settings @param {number} now_ms */
async function pourTold(id, settings, now_ms) {
  try {
    const found = await readPour(id, true);
    if (found === null) return {};
    // A deleted one takes nothing and reminds of nothing; what is in it is traced all the same.
    if (found.record.deleted) return { uses: [], lots: [...lotsIn(found)] };
    const [pour] = await withCandles([found]);
    if (isOnBench(pour) || pour.stage === "setting") return null;
    if (pour.state.jugs.some((jug) => jug.clashes.length > 0)) return null;
    const last_ms = Math.max(pour.record.started_at, ...[...pour.events, ...(pour.candles ?? [])].map(({ at }) => at));
    const reminders = remindersOf(pour, settings);
    const asks = coming(reminders, now_ms).length + due(reminders, now_ms).length;
    return asks > 0 || last_ms > now_ms - REST_MS ? null : settledTold(pour);
  } catch (error) {
    if (error instanceof store.StoreError) throw error;
    passOver(id, error);
    return null;
  }
}

/** The same of a lot: one that an open pour took from is open with it. @param {import("./stock.js").Lot | undefined} lot
 * @param {Set<string>} moving pours that are open @param {number} now_ms */
async function lotTold(lot, moving, now_ms) {
  if (lot === undefined || lot.is_open || lot.state.moves.some(({ pour }) => pour && moving.has(pour))) return null;
  const last_ms = Math.max(0, ...lot.state.moves.map(({ at_ms }) => at_ms));
  if (last_ms > now_ms - REST_MS) return null;
  const stored = await store.getStored("lot", lot.id);
  if (stored && Object.keys(stored.fields).some((name) => clashes(stored.fields, name).length > 0)) return null;
  const whats = typeof lot.record.left_of === "string" ? [lot.material, LEFT] : [lot.material];
  return { of: whats.map((what) => [what, -last_ms]) };
}
