/** The burn tests kept on this phone: starting one, reading it back, adding to it; and the clocks that run in it. */
import { foldAll } from "../bench/pours.js";
import { EARLIEST } from "../records/stamp.js";
import * as store from "../records/store.js";
import { foldTest, HOUR_MS, questionOf } from "./burn_fold.js";
import { REST, SITTING } from "./limits.js";

/** @typedef {import("./burn_fold.js").TestSheet} TestSheet */
/** @typedef {import("./burn_fold.js").TestState} TestState */
/** @typedef {import("./burn_fold.js").Sitting} Sitting */
/** @typedef {import("./burn_fold.js").BurnTestEvent} BurnTestEvent */
/** @typedef {import("../records/event_types.js").NewBurnTestEvent} NewBurnTestEvent */
/** @typedef {import("../records/store.js").Plain} Plain */
/**
 * @typedef {object} BurnTest
 * @property {string} id
 * @property {Plain} record with `sheet` and `started_at`
 * @property {TestSheet} sheet
 * @property {TestState} state
 * @property {BurnTestEvent[]} events
 */

/** No more candles than she can watch burn at once (our choice). */
export const MOST_AT_ONCE = 6;

/** Keep a new test and answer its id. @param {TestSheet} sheet @param {number} now_ms */
export async function startTest(sheet, now_ms) {
  const id = store.newId();
  await store.save("burn_test", id, { name: sheet.title, sheet, started_at: now_ms });
  return id;
}

/** @param {string} id @param {boolean} [deleted] it may be deleted @returns {Promise<BurnTest | null>} */
export async function readTest(id, deleted = false) {
  const record = await store.get("burn_test", id);
  if (record === undefined || (record.deleted && !deleted)) return null;
  return folded(record, await store.events("burn_test", id));
}

/** Every test, the newest first. @returns {Promise<BurnTest[]>} */
export async function allTests() {
  return inOrder(await store.living("burn_test"));
}

/** Those that are going on, the newest first. @returns {Promise<BurnTest[]>} */
export async function openTests() {
  const rows = await store.unsettled("burn_test");
  const records = rows.map(({ id }) => id);
  return (await inOrder(await store.livingOf("burn_test", records))).filter(({ state }) => state.closed === null);
}

/** Those of a recipe, the newest first. @param {string} recipe its id @returns {Promise<BurnTest[]>} */
export async function testsOf(recipe) {
  const [open, settled] = await Promise.all([store.unsettled("burn_test"), store.settledOf(recipeKey(recipe))]);
  const ids = [...open, ...settled].map(({ id }) => id);
  const records = await store.livingOf("burn_test", ids);
  return inOrder(records.filter(({ sheet }) => sheet?.recipe === recipe));
}

/** @param {string | null} recipe */
const recipeKey = (recipe) => `tests of ${recipe}`;

/** What is to be known of a test that is over, once nothing happened to it since then; null where it is not.
 * @param {string} id @param {number} before_ms @returns {Promise<Record<string, any> | null>} */
export async function testTold(id, before_ms) {
  const record = await store.get("burn_test", id);
  // A deleted one asks for nothing.
  if (record === undefined || record.deleted) return {};
  const [test] = await inOrder([record]);
  if (test === undefined || test.state.closed === null || test.state.clashes.length > 0) return null;
  const last_ms = Math.max(record.started_at, ...test.events.map(({ at }) => at));
  return last_ms > before_ms ? null : { of: [[recipeKey(test.sheet.recipe), -last_ms]] };
}

/** @param {Plain[]} records @returns {Promise<BurnTest[]>} */
const inOrder = (records) => foldAll(records, folded);

/** @param {Plain} record @param {BurnTestEvent[]} events @returns {BurnTest} */
function folded(record, events) {
  const sheet = /** @type {TestSheet} */ (record.sheet);
  return { id: record.id, record, sheet, events, state: foldTest(sheet, events) };
}

// ---- adding ----------------------------------------------------------------------------------------

/** Add an event to a test as the screen last showed it. @param {BurnTest} test @param {NewBurnTestEvent} event
 * @param {number} now_ms @throws {store.MovedOn} */
export function addEvent(test, event, now_ms) {
  return addEvents(test, [event], now_ms);
}

/** Let some events not count. @param {BurnTest} test @param {string[]} ids @param {number} now_ms */
export function undo(test, ids, now_ms) {
  return addEvents(
    test,
    ids.map((event) => ({ type: "undone", event })),
    now_ms,
  );
}

/** @param {BurnTest} test @param {NewBurnTestEvent[]} events @param {number} now_ms */
function addEvents({ id, state }, events, now_ms) {
  const named = events.map((event) => ({ ...answering(state, event), at: now_ms }));
  return store.appendAll("burn_test", id, named, state.last);
}

/** The event with the answer that it replaces. @param {TestState} state as it was shown @param {NewBurnTestEvent} event
 * @returns {NewBurnTestEvent} */
export function answering(state, event) {
  const question = questionOf(/** @type {BurnTestEvent} */ (event));
  if (question === null || !("burn" in event)) return event;
  const answers = state.candles[event.candle]?.sittings[event.burn]?.answers.get(question);
  return /** @type {NewBurnTestEvent} */ ({ ...event, over: answers?.standing[0]?.event.id ?? EARLIEST });
}

/** The last thing that counts of a candle, whoever said it. @param {BurnTest} test @param {number} candle */
export function lastUndoable({ state }, candle) {
  return state.counted.findLast((event) => "candle" in event && event.candle === candle) ?? null;
}

/** @param {BurnTest} test @param {number} candle @param {number} now_ms */
export async function undoLast(test, candle, now_ms) {
  const last = lastUndoable(test, candle);
  if (last) await undo(test, [last.id, ...(test.state.same.get(last.id) ?? [])], now_ms);
}

// ---- the bench -------------------------------------------------------------------------------------

/** Whether a candle is being burned, or rests before it is weighed. @param {import("./burn_fold.js").CandleState} candle */
export function isGoing({ step }) {
  return step === "light" || step === "burning" || step === "smoke" || step === "rest";
}

/** How many of its candles burn. @param {Pick<TestState, "candles">} state */
export function countBurning({ candles }) {
  return candles.filter(({ step }) => step === "burning").length;
}

/** @param {BurnTest} test */
export function isOnBench({ state }) {
  return state.closed === null && state.candles.some(isGoing);
}

/** The clocks that run in a test, candle by candle. @param {BurnTest} test @param {number} now_ms
 * @returns {import("../bench/session.js").Clock<BurnTest>[]} */
function clocksOf(test, now_ms) {
  if (test.state.closed !== null) return [];
  return test.state.candles.flatMap((candle, part) => {
    const clock = clockOf(candle, now_ms);
    if (clock === null) return [];
    const { what, at_ms, mark } = clock;
    return [{ item: test, part, at_ms, what, key: `${test.id} ${part} ${candle.sitting} ${what} ${mark}` }];
  });
}

/** Burn tests as the bench session follows them. @type {import("../bench/session.js").Stream<BurnTest>} */
export const burnStream = {
  kind: "burn_test",
  read: (id) => readTest(id),
  readBench: async () => (await openTests()).filter(isOnBench).reverse(),
  isOnBench,
  clocks: clocksOf,
};

/**
 * @typedef {object} CandleClock
 * @property {"mark" | "out" | "rest"} what it rings for
 * @property {number} at_ms
 * @property {number} mark which; of 'out' and 'rest' none, -1
 */

/** The clock that runs at a candle; null: none. @param {TestState["candles"][number]} candle @param {number} now_ms
 * @returns {CandleClock | null} */
export function clockOf({ sittings, sitting, step }, now_ms) {
  const now = sittings[sitting];
  if (now === undefined || now.lit_at === null) return null;
  if (step === "rest" || step === "smoke")
    return { what: "rest", at_ms: /** @type {number} */ (now.stopped_at) + REST.value * HOUR_MS, mark: -1 };
  if (step !== "burning") return null;
  const mark = markNow(now, now_ms);
  if (mark >= 0) return { what: "mark", at_ms: now.marks[mark].due_ms, mark };
  return { what: "out", at_ms: outAt(now), mark: -1 };
}

/** When a sitting is to end: at its last mark, and after four hours at most. @param {Sitting} sitting that is lit */
export function outAt({ marks, lit_at }) {
  const longest = /** @type {number} */ (lit_at) + SITTING.value * HOUR_MS;
  return Math.min(marks.at(-1)?.due_ms ?? longest, longest);
}

/** The mark that is to be looked at, or comes next: of those that are due and not done the last, as an earlier one can't
 * be looked at any more; -1: no more. @param {Sitting} sitting that burns @param {number} now_ms */
export function markNow({ marks }, now_ms) {
  const due = marks.findLastIndex(({ due_ms }) => due_ms <= now_ms);
  if (due >= 0 && !marks[due].done) return due;
  return due + 1 < marks.length ? due + 1 : -1;
}
