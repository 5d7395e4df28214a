/** A thermometer and a scale that speak the open Bluetooth services: found, kept connected, read, forgotten. */
import { message, t, WordedError, worded } from "../words/door.js";
import { now, phoneNow } from "./clock.js";
import * as gatt from "./gatt.js";
import { KEY, pass, tell } from "./live_reading.js";
import { clockDoubt, steadyFor } from "./reading_checks.js";

/** @typedef {import("./reading_checks.js").Reading} Reading */
/** @typedef {import("./live_reading.js").Kind} Kind */
/** @typedef {[uuid: number, read: (bytes: DataView) => gatt.Said]} Characteristic */

/** Services and characteristics by their numbers (Bluetooth SIG, Assigned Numbers). @type {Record<Kind, [number, Characteristic[]][]>} */
const SERVICES = {
  temperature: [
    [0x181a, [[0x2a6e, gatt.temperature]]],
    [
      0x1809,
      [
        [0x2a1e, gatt.temperatureMeasurement],
        [0x2a1c, gatt.temperatureMeasurement],
      ],
    ],
  ],
  weight: [[0x181d, [[0x2a9d, gatt.weightMeasurement]]]],
};

/** An instrument that says nothing by itself is asked so often. */
const ASK_MS = 2000;
/** Between two attempts to reach one; each is twice as long as the one before. */
const FIRST_PAUSE_MS = 1000;
const LONGEST_PAUSE_MS = 60_000;
/** How far back a reading is looked at to see whether it is steady. */
const LOOK_BACK_MS = 60_000;

const UNREACHED = message("It can't be reached. Is it on and near, and does no other phone use it?");

class Instrument {
  #trouble = "";

  /** @param {Kind} kind */
  constructor(kind) {
    this.kind = kind;
    /** as remembered; empty where there is none */
    this.name = "";
    /** @type {"none" | "reaching" | "connected" | "lost"} */
    this.connection = "none";
    /** @type {Reading | null} */
    this.last = null;
    /** @type {any} */
    this.device = null;
    /** @type {{at: number, value: number, step: number}[]} */
    this.history = [];
    this.received_ms = 0;
    /** end a pause before its time @type {() => void} */
    this.retryNow = () => undefined;
  }

  /** what is wrong, in a sentence */
  get trouble() {
    return this.#trouble;
  }

  set trouble(sentence) {
    this.#trouble = sentence;
    if (sentence !== "") pass(this.kind);
  }
}

const instruments = { temperature: new Instrument("temperature"), weight: new Instrument("weight") };

/** How it stands with the one of this kind. @param {Kind} kind */
export function connectionOf(kind) {
  reconnectKnown();
  const { name, connection, trouble, last } = instruments[kind];
  return { name, connection, trouble, last };
}

/** Whether this browser speaks Bluetooth at all. */
export const canConnect = () => bluetooth() !== undefined;

const bluetooth = () => /** @type {any} */ (navigator).bluetooth;

/** Let her choose one, in a tap; it takes the place of the one before. @param {Kind} kind */
export async function connect(kind) {
  const one = instruments[kind];
  try {
    if (!(await bluetooth().getAvailability())) {
      one.trouble = t("Bluetooth is off, or this device has none: switch it on and try again.");
      return;
    }
    const filters = SERVICES[kind].map(([service]) => ({ services: [service] }));
    const device = await bluetooth().requestDevice({ filters });
    if (one.device !== device) disconnect(one);
    adopt(one, device);
  } catch (error) {
    // She chose none.
    if (/** @type {any} */ (error).name === "NotFoundError") return;
    one.trouble = t("The browser does not let the bench use Bluetooth. Allow it in the browser's settings.");
  }
}

/** @param {Kind} kind */
export function forget(kind) {
  const one = instruments[kind];
  const { device } = one;
  disconnect(one);
  Object.assign(one, { name: "", trouble: "", last: null });
  remember();
  void device?.forget?.().catch(() => undefined);
}

let searched = false;

/** Once: look for those that were connected before, where the browser still knows them. */
export function reconnectKnown() {
  if (searched) return;
  searched = true;
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") for (const one of Object.values(instruments)) one.retryNow();
  });
  const known = remembered();
  for (const one of Object.values(instruments)) one.name = known[one.kind]?.name ?? "";
  void bluetooth()
    ?.getDevices?.()
    .then(
      (/** @type {any[]} */ devices) => {
        for (const one of Object.values(instruments)) {
          const device = devices.find(({ id }) => id === known[one.kind]?.id);
          if (device && one.device === null) adopt(one, device);
        }
      },
      () => undefined,
    );
}

/** @returns {Partial<Record<Kind, {id: string, name: string}>>} */
function remembered() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "{}");
    return Object.fromEntries(
      Object.entries(kept).filter(([, one]) => typeof one?.id === "string" && typeof one?.name === "string"),
    );
  } catch {
    return {};
  }
}

function remember() {
  const kept = Object.values(instruments).flatMap(({ kind, name, device }) =>
    device ? [[kind, { id: device.id, name }]] : [],
  );
  localStorage.setItem(KEY, JSON.stringify(Object.fromEntries(kept)));
}

/** @param {Instrument} one @param {any} device */
function adopt(one, device) {
  Object.assign(one, {
    device,
    name: nameOf(device) || one.name || (one.kind === "weight" ? t("scale") : t("thermometer")),
    trouble: "",
  });
  remember();
  void stayConnected(one, device);
}

/** What an instrument calls itself: others write it, so it is cut to size and rid of what does not print.
 * @param {any} device */
function nameOf(device) {
  return [
    ...String(device.name ?? "")
      .replace(/\p{C}/gu, "")
      .trim(),
  ]
    .slice(0, 40)
    .join("");
}

/** @param {Instrument} one */
function disconnect(one) {
  const { device } = one;
  Object.assign(one, { device: null, connection: "none", last: null, history: [] });
  pass(one.kind);
  one.retryNow();
  device?.gatt.disconnect();
}

/** Instruments that are looked after: asked for twice, one is so once. @type {WeakSet<any>} */
const connected = new WeakSet();

/** Stay with it until it is left: connect, read, and where it goes, try again with growing pauses.
 * @param {Instrument} one @param {any} device */
async function stayConnected(one, device) {
  if (connected.has(device)) return one.retryNow();
  connected.add(device);
  let pause_ms = FIRST_PAUSE_MS;
  while (one.device === device) {
    one.connection = "reaching";
    const before_ms = one.received_ms;
    try {
      await readUntilDisconnected(one, device);
    } catch (error) {
      one.trouble = error instanceof NothingReadable ? error.message : worded(UNREACHED);
      device.gatt.disconnect();
    }
    if (one.device !== device) break;
    one.connection = "lost";
    one.history = [];
    if (one.received_ms > before_ms) pause_ms = FIRST_PAUSE_MS;
    await waitToRetry(one, device, pause_ms);
    pause_ms = Math.min(2 * pause_ms, LONGEST_PAUSE_MS);
  }
  connected.delete(device);
}

/** Until it is worth another attempt: a while, or soon after it is heard of. A browser that was told of it before
 * can't reach it until then. @param {Instrument} one @param {any} device @param {number} pause_ms */
async function waitToRetry(one, device, pause_ms) {
  const over = new AbortController();
  const { signal } = over;
  await new Promise((resolve) => {
    one.retryNow = () => resolve(undefined);
    setTimeout(resolve, pause_ms);
    const soon = () => setTimeout(resolve, FIRST_PAUSE_MS);
    device.addEventListener("advertisementreceived", soon, { once: true, signal });
    device.watchAdvertisements?.({ signal }).catch(() => undefined);
  });
  over.abort();
}

/** It has nothing that the bench can read. */
class NothingReadable extends WordedError {}

/** Connect, and read until it disconnects. @param {Instrument} one @param {any} device */
async function readUntilDisconnected(one, device) {
  const gone = new Promise((resolve) => device.addEventListener("gattserverdisconnected", resolve, { once: true }));
  const server = await device.gatt.connect();
  const found = await characteristicsOf(one, server);
  const ask = () => {
    if (now() - one.received_ms < ASK_MS / 2) return;
    for (const each of found) if (each.properties.read) void read(one, each);
  };
  one.connection = "connected";
  one.trouble = "";
  ask();
  const timer = setInterval(ask, ASK_MS);
  await gone;
  clearInterval(timer);
}

/** What of it can be read; each tells by itself from now on, if it can.
 * @param {Instrument} one @param {any} server @returns {Promise<any[]>} */
async function characteristicsOf(one, server) {
  const found = [];
  for (const [service, characteristics] of SERVICES[one.kind]) {
    const offered = await server.getPrimaryService(service).catch(orNotFound);
    for (const [uuid, parse] of offered ? characteristics : []) {
      const each = await offered.getCharacteristic(uuid).catch(orNotFound);
      if (!each) continue;
      // A value that was asked for comes this way too.
      each.addEventListener("characteristicvaluechanged", () => receive(one, parse(each.value)));
      if (each.properties.notify || each.properties.indicate) await each.startNotifications();
      found.push(each);
    }
  }
  if (found.length === 0) {
    throw one.kind === "weight"
      ? new NothingReadable("It sends no weight in the open standard that the bench reads.")
      : new NothingReadable("It sends no temperature in the open standard that the bench reads.");
  }
  return found;
}

/** @param {any} error */
function orNotFound(error) {
  if (error.name === "NotFoundError") return null;
  throw error;
}

/** @param {Instrument} one @param {any} characteristic */
async function read(one, characteristic) {
  try {
    await characteristic.readValue();
  } catch {
    if (one.connection === "connected") one.trouble = t("It does not answer.");
  }
}

/** @param {Instrument} one @param {gatt.Said} said */
function receive(one, said) {
  if (one.device === null) return;
  const at = now();
  one.received_ms = at;
  if ("reason" in said) {
    one.trouble = worded(said.reason);
    one.history = [];
    return;
  }
  const { kind, name } = one;
  const { value, step, taken } = said;
  one.trouble = "";
  one.history = [...one.history.filter((before) => at - before.at < LOOK_BACK_MS), { at, value, step }];
  one.last = {
    kind,
    value,
    step,
    source: name,
    at,
    steady_s: steadyFor(one.history),
    doubt: clockDoubt(taken, phoneNow()),
  };
  tell(one.last);
}
