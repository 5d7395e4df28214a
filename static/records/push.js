/**
 * Being told with the bench closed: this device's push subscription, and the zone it is in.
 *
 * The service worker uses it too: nothing here touches a page, and nothing asks her for permission
 * (`push_switch.js` does).
 */
import { literal, WordedError } from "../words/door.js";
import { oneAtATime } from "./changes.js";
import { answer, read, write } from "./database.js";
import { ask, NoSignal, onSyncStatus, paired, syncStatus } from "./exchange.js";

/** @import { Message } from "../words/door.js" */
/**
 * @typedef {object} Row what this device keeps of it
 * @property {boolean} wanted she has turned it on here
 * @property {string} told the device and zone that the server was last told
 */
/**
 * @typedef {object} Told how this device stands with the server
 * @property {string | null} key null: it sends nothing, and `why` says why
 * @property {string} [why]
 * @property {boolean} subscribed it knows where this device listens, for that key
 * @property {number | null} sent_ms
 * @property {string | null} trouble
 * @property {number | null} trouble_ms
 * @property {string} zone that it reckons with
 */
/** @typedef {"on" | "off" | "denied" | "not paired" | "install first" | "no"} How */

/** It can't be turned on. The message is a sentence that says what to do. */
export class PushTrouble extends WordedError {
  /** @param {string | Message} sentence @param {Error} [cause] */
  constructor(sentence, cause) {
    super(sentence);
    this.cause = cause;
  }
}

/** The browser's own promises may never settle. */
const PATIENCE_MS = 20_000;

/** @type {Row} */
let row = { wanted: false, told: "" };

// ---- how it stands -----------------------------------------------------------------------------

/** Whether this browser can. An iPhone or iPad only lets what is on its home screen be told. */
export function support() {
  if ("serviceWorker" in navigator && "PushManager" in globalThis && "Notification" in globalThis) return "yes";
  return /** @type {any} */ (navigator).standalone === false ? "install first" : "no";
}

/** Whether she lets the bench notify. @returns {NotificationPermission} */
export function permission() {
  return support() === "yes" ? Notification.permission : "default";
}

/** How this device stands, as far as it knows by itself, once `checkAtStart` has begun. @returns {How} */
export function how() {
  const can = support();
  if (can !== "yes") return can;
  if (syncStatus.workshop === null || syncStatus.state === "out") return "not paired";
  if (permission() === "denied") return "denied";
  return row.wanted && permission() === "granted" ? "on" : "off";
}

// ---- by itself ---------------------------------------------------------------------------------

/**
 * At the start, after pairing, and when her zone is another: the server is told anew, as soon as it
 * answers. Call once.
 */
export async function checkAtStart() {
  let checked = "";
  const check = oneAtATime(async () => {
    const now = await here();
    if (now === checked || syncStatus.workshop === null || syncStatus.state !== "resting") return;
    try {
      await tell(now);
      checked = now;
    } catch (error) {
      if (!(error instanceof PushTrouble)) throw error;
      // Without signal it is tried again; what the server or the browser refuses, at the next start.
      if (!(error.cause instanceof NoSignal)) checked = now;
    }
  });
  await load();
  onSyncStatus(check);
  check();
}

/** @param {string} now */
async function tell(now) {
  const subscribed = how() === "on" && (await subscribe()).key !== null;
  if (subscribed || row.told === now) return;
  await asked("/api/zone", { zone: zone() });
  await keep({ told: now });
}

/** For the worker, once the browser has dropped the subscription. @param {ServiceWorkerRegistration} registration */
export async function resubscribe(registration) {
  if ((await load()).wanted) await subscribe(registration);
}

/** Subscribe where need be, and tell the server.
 * @param {ServiceWorkerRegistration} [registration] the page's own without @returns {Promise<any>} */
export async function subscribe(registration) {
  const server = await asked("/api/push");
  const { key } = server;
  if (key === null) return server;
  const subscription = await within(subscriptionFor(server, registration ?? navigator.serviceWorker.ready));
  const told = await asked("/api/push", { subscription, key, zone: zone() });
  await keep({ wanted: true, told: await here() });
  return told;
}

/** One that the server does not know is of another key, or its push service has given it up: made afresh.
 * @param {Told} server @param {ServiceWorkerRegistration | Promise<ServiceWorkerRegistration>} ready */
async function subscriptionFor({ key, subscribed }, ready) {
  const { pushManager } = await ready;
  const found = await pushManager.getSubscription();
  if (found && subscribed) return found;
  await found?.unsubscribe();
  return pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: key });
}

function zone() {
  return Intl.DateTimeFormat().resolvedOptions().timeZone;
}

/** What the server has to know: a device that is paired anew is another one. */
async function here() {
  return `${(await paired())?.device.id} ${zone()}`;
}

async function load() {
  row = (await read(["device"], ({ device }) => answer(device.get("push")))) ?? row;
  return row;
}

/** Keep it on this device. @param {Partial<Row>} change */
export async function keep(change) {
  row = { ...row, ...change };
  await write([], async ({ device }) => device.put({ ...row, key: "push" }));
}

/** What the browser promises, in time. @template T @param {Promise<T>} promise @returns {Promise<T>} @throws {PushTrouble} */
export function within(promise) {
  const over = new Promise((_, reject) => setTimeout(reject, PATIENCE_MS));
  return Promise.race([promise, over]).catch(() => {
    throw new PushTrouble("The browser’s push service does not answer. Try again with signal.");
  });
}

/** Ask the server. @param {string} path @param {any} [body] @returns {Promise<any>} @throws {PushTrouble} */
export function asked(path, body) {
  return ask(path, body).catch((/** @type {Error} no answer, or the server's own sentence */ cause) => {
    throw new PushTrouble(literal(cause.message), cause);
  });
}
