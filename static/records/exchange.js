/**
 * Talking with the server: when there is something to say or to hear, and what came of it.
 *
 * It runs by itself: at the start, after a change, when signal comes back, when the bench is looked
 * at, when the server says that there is something new, and now and then. A try that fails is tried
 * again, ever more slowly.
 */
import { literal, WordedError } from "../words/door.js";
import { announce, onChange } from "./changes.js";
import { answer, read } from "./database.js";
import { serverOf } from "./device.js";
import { nextMessage, takeAnswer, tryRefused, waiting } from "./outbox.js";

/** @import { Message } from "../words/door.js" */
/** @typedef {{id: string, name: string}} Named */
/** @typedef {"resting" | "busy" | "no signal" | "trouble" | "out" | "update"} State */
/**
 * @typedef {object} SyncStatus how things stand with the server
 * @property {Named | null} workshop null: not paired
 * @property {State} state
 * @property {string} trouble a sentence, where the server gave one
 * @property {number | null} heard_at when it last answered, wall clock
 * @property {number} count changes that it has not confirmed
 * @property {number | null} since when the oldest of them was made
 * @property {import("./outbox.js").Refusal[]} refused
 * @property {number} offset_ms what its clock is ahead of this phone's
 */

/** The server did not take a request. The message is its sentence. */
export class ServerError extends WordedError {
  /** @param {string | Message} sentence @param {number} status @param {number} wait_s before it is asked again
   * @param {any} told */
  constructor(sentence, status, wait_s, told) {
    super(sentence);
    this.status = status;
    this.wait_s = wait_s;
    this.told = told;
  }
}

/** No answer came. */
export class NoSignal extends WordedError {}

const PATIENCE_MS = 30_000;
const SETTLE_MS = 400;
/** Another hand may be at the same bench. */
const EVENT_MS = 50;
const LOOK_S = 30;
const FIRST_WAIT_S = 4;
const LONGEST_WAIT_S = 300;

/** @type {string | null} */
let token = null;

/**
 * Ask the server. It answers in JSON.
 * @param {string} path @param {any} [body] with one it is a POST: a file as it is, anything else in JSON
 * @returns {Promise<any>}
 * @throws {ServerError} @throws {NoSignal}
 */
export async function ask(path, body) {
  if (body !== undefined && token === null) token = (await askOnce("/api/me")).csrf;
  try {
    return await askOnce(path, body);
  } catch (error) {
    // The token may be of a session that is over: once more, with a fresh one.
    if (!(error instanceof ServerError) || !error.told?.csrf || body === undefined) throw error;
    token = (await askOnce("/api/me")).csrf;
    return askOnce(path, body);
  }
}

const isFile = (/** @type {unknown} */ body) => body instanceof Blob;

/** @param {string} path @param {any} [body] */
async function askOnce(path, body) {
  let response;
  let told;
  try {
    response = await fetch(path, {
      ...(body !== undefined && {
        method: "POST",
        headers: { "Content-Type": isFile(body) ? body.type : "application/json", "X-CSRFToken": token ?? "" },
        body: isFile(body) ? body : JSON.stringify(body),
      }),
      cache: "no-store",
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    told = await response.json().catch(() => null);
  } catch {
    throw new NoSignal("There is no signal, or the server does not answer.");
  }
  if (response.ok && told !== null) return told;
  const wait_s = Number(response.headers.get("Retry-After")) || 0;
  if (told?.error) throw new ServerError(literal(told.error), response.status, wait_s, told);
  throw new ServerError("The server gave an answer that the bench can't read.", response.status, wait_s, told);
}

// ---- whom it is paired with --------------------------------------------------------------------

/** The server's workshop and this device there, or null. @returns {Promise<{workshop: Named, device: Named} | null>} */
export async function paired() {
  const server = await read(["device"], ({ device }) => serverOf(device));
  return server ?? null;
}

// ---- one round ---------------------------------------------------------------------------------

/** Send and hear until neither side has more. One tab at a time, where the browser can tell.
 * @throws {ServerError} @throws {NoSignal} */
export async function exchangeAll() {
  if (!navigator.locks) return goRound();
  return navigator.locks.request("exchange", goRound);
}

async function goRound() {
  /** What came and is not told yet. @type {import("./changes.js").Change[]} */
  const came = [];
  try {
    // A clock set right, or a server put back, is tried again at once; not for ever.
    let sent = await nextMessage();
    for (let anew = 0; sent !== null && anew < 5; ) {
      const asked_ms = Date.now();
      const heard = await ask("/api/exchange", sent.message);
      const offset_ms = Math.round(heard.now_ms - (asked_ms + Date.now()) / 2);
      const taken = await takeAnswer(sent, heard, offset_ms, came);
      const isAnew =
        !taken ||
        heard.restart ||
        heard.refused.some((/** @type {import("./outbox.js").Refusal} */ { reason }) => reason === "ahead");
      if (isAnew) anew += 1;
      sent = await nextMessage();
      if (!isAnew && !heard.more && sent?.rows.length === 0) break;
    }
  } finally {
    announce(came);
  }
}

// ---- by itself ---------------------------------------------------------------------------------

/** @type {SyncStatus} */
export const syncStatus = {
  workshop: null,
  state: "resting",
  trouble: "",
  heard_at: null,
  count: 0,
  since: null,
  refused: [],
  offset_ms: 0,
};
/** @type {Set<() => void>} */
const listeners = new Set();
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
/** @type {typeof import("./live.js") | undefined} */
let live;
let wait_s = FIRST_WAIT_S;
/** @type {Promise<void> | null} */
let running = null;
let again = false;

/** Hear when it stands differently. @param {() => void} listener @returns {() => void} stop hearing */
export function onSyncStatus(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** Begin. Call once. */
export async function keepExchanging() {
  onChange(([{ kind, from, event }]) => {
    if (from === "server") void look();
    else soon(kind === "server" ? 0 : event ? EVENT_MS : SETTLE_MS);
  });
  for (const name of ["online", "focus", "pageshow"]) window.addEventListener(name, () => soon(0));
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") soon(0);
    else live?.stopListening();
  });
  window.addEventListener("offline", () => {
    live?.stopListening();
    void set({ state: "no signal" });
  });
  await look();
  // What was refused may be understood by now: the server is asked once more at each start.
  if (syncStatus.refused.length > 0) await tryRefused();
  soon(0);
}

/** Talk with the server now, and answer when it is done. */
export async function exchangeNow() {
  while (running !== null) await running;
  running = exchangeOnce();
  await running;
}

async function exchangeOnce() {
  clearTimeout(timer);
  try {
    await look();
    if (syncStatus.workshop === null) return;
    await set({ state: "busy" });
    await exchangeAll();
    wait_s = FIRST_WAIT_S;
    await set({ state: "resting", trouble: "" });
    // Where the server says what is new, to ask is a precaution.
    later(live?.isListening() ? 10 * LOOK_S : LOOK_S);
    // That comes with the desk, and nothing waits for it here.
    import("./live.js").then(
      (found) => {
        live = found;
        live.listen(heard, () => later(4 * Math.random()));
      },
      () => undefined,
    );
  } catch (error) {
    await failed(error);
  } finally {
    running = null;
    if (again) soon(SETTLE_MS);
    again = false;
  }
}

/** The workshop has come so far: ask, unless this phone has too, and not all phones at once. @param {string} reached */
async function heard(reached) {
  while (running !== null) await running;
  const server = await read(["device"], ({ device }) => serverOf(device));
  if (server && `${server.era} ${server.cursor}` !== reached) soon(Math.random() * 100);
}

/** @param {unknown} error */
async function failed(error) {
  live?.stopListening();
  if (error instanceof NoSignal) {
    await set({ state: "no signal", trouble: "" });
  } else if (error instanceof ServerError && error.status === 401) {
    token = null;
    await set({ state: "out", trouble: error.message });
    return;
  } else if (error instanceof ServerError && error.told?.update) {
    await set({ state: "update", trouble: error.message });
  } else {
    if (!(error instanceof ServerError)) console.error(error);
    await set({ state: "trouble", trouble: error instanceof Error ? error.message : "" });
  }
  const asked_s = error instanceof ServerError ? error.wait_s : 0;
  // Not all phones at once, when the server is back.
  later(Math.max(asked_s, wait_s * (0.75 + Math.random() / 2)));
  wait_s = Math.min(LONGEST_WAIT_S, wait_s * 2);
}

/** @param {number} ms */
function soon(ms) {
  if (running !== null) {
    again = true;
    return;
  }
  clearTimeout(timer);
  timer = setTimeout(() => void exchangeNow(), ms);
}

/** @param {number} seconds */
function later(seconds) {
  clearTimeout(timer);
  timer = setTimeout(() => {
    // Nobody looks and nothing waits: the next look asks again.
    if (document.visibilityState === "visible" || syncStatus.count > 0) void exchangeNow();
  }, seconds * 1000);
}

/** @param {Partial<SyncStatus>} change */
async function set(change) {
  Object.assign(syncStatus, change);
  await look();
}

/** See what waits, and tell whoever shows it. */
async function look() {
  const found = await read(["device"], async ({ device }) => [
    await serverOf(device),
    await answer(device.get("clock")),
  ]);
  const [server, clock] = found;
  Object.assign(syncStatus, await waiting(), {
    workshop: server?.workshop ?? null,
    heard_at: server?.heard_at ?? null,
    offset_ms: clock?.offset_ms ?? 0,
  });
  for (const listener of listeners) listener();
}
