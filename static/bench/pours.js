/** The pours kept on this phone: starting one, reading it back, adding to it. */

import { learn } from "../formulas/cooling/learn.js";
import { learnEfficiency } from "../formulas/heat.js";
import * as store from "../records/store.js";
import { InputError } from "../words/door.js";
import { alarmOf } from "./countdown.js";
import { fold, stageOf } from "./fold.js";
import { defaultEfficiency, meltEnergyOf } from "./sheet.js";

/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("./fold.js").PourState} PourState */
/**
 * @typedef {object} Pour
 * @property {string} id
 * @property {Sheet} sheet
 * @property {PourState} state
 * @property {import("../records/store.js").AnyEvent[]} events
 * @property {Record<string, any>} record
 * @property {ReturnType<typeof stageOf>} stage
 */

/** Keep a new pour and answer its id. @param {Sheet} sheet @param {number} now_ms */
export async function startPour(sheet, now_ms) {
  const id = store.newId();
  await store.save("pour", id, { name: sheet.title, sheet, started_at: now_ms });
  return id;
}

/** @param {string} id @returns {Promise<Pour | null>} */
export async function readPour(id) {
  const record = await store.get("pour", id);
  if (record === undefined || record.deleted) return null;
  return folded(record, await store.events(id));
}

/** Every pour, the newest first. @returns {Promise<Pour[]>} */
export async function allPours() {
  const records = await store.all("pour");
  const pours = await Promise.all(records.map(readable));
  return pours.flatMap((pour) => pour ?? []).sort((a, b) => b.record.started_at - a.record.started_at);
}

/** A pour that can't be made sense of must not hide the others. @param {Record<string, any>} record */
async function readable(record) {
  try {
    return folded(record, await store.events(record.id));
  } catch (error) {
    if (error instanceof store.StoreError) throw error;
    passOver(record.id, error);
    return null;
  }
}

/**
 * What `tell` says of each pour; one of which nothing can be said is passed over.
 * @template T @param {Pour[]} pours @param {(pour: Pour) => T[]} tell @returns {T[]}
 */
export function ofEach(pours, tell) {
  return pours.flatMap((pour) => {
    try {
      return tell(pour);
    } catch (error) {
      passOver(pour.id, error);
      return [];
    }
  });
}

/** @type {Set<string>} */
const passedOver = new Set();

/** Say it once: some of it is asked several times a second. @param {string} id @param {unknown} error */
function passOver(id, error) {
  if (!passedOver.has(id)) console.warn(`The pour ${id} can't be read.`, error);
  passedOver.add(id);
}

/** Past pours that a jug's forecast, or a heater's, learns from, at most. */
const LEARN_FROM = 12;

/** A melt shorter or longer than this was not timed: the button was touched early, or late. */
const LEAST_MELT_S = 120;
const MOST_MELT_S = 3 * 3600;

/**
 * What past pours have told of how a jug cools, oldest first.
 * @param {Pour[]} pours @param {string} jug the jug's id
 * @returns {number[][]}
 */
export function jugHistory(pours, jug) {
  /** @type {number[][]} */
  let history = [];
  const cooled = pours
    .filter(({ sheet }) => sheet.jug.id === jug)
    .sort((a, b) => a.record.started_at - b.record.started_at)
    .flatMap(({ sheet, state }) => state.jugs.map(({ cooled: dips, wax_g }) => ({ sheet, dips, wax_g })))
    .filter(({ dips, wax_g }) => dips.length >= 2 && wax_g > 0);
  for (const { sheet, dips, wax_g } of cooled.slice(-LEARN_FROM)) {
    try {
      const readings = dips.map(
        ({ at, temp_c }) => /** @type {[number, number]} */ ([(at - dips[0].at) / 1000, temp_c]),
      );
      const { thermometer_step_c, room_c } = sheet;
      history = [...history, learn(readings, room_c, { thermometer_step_c, mass_g: wax_g, history })];
    } catch (error) {
      // Readings that make no curve teach nothing.
      if (!(error instanceof InputError)) throw error;
    }
  }
  return history;
}

/**
 * How much of a heater's power reaches the wax, from past melts with it. The wax counts as on the heat
 * from when it was weighed; a melt left for hours says nothing.
 * @param {Pour[]} pours @param {string} heater the heater's id @param {string} way
 */
export function learnedEfficiency(pours, heater, way) {
  const melts = ofEach(pours, ({ sheet, state }) => {
    if (sheet.heater?.id !== heater) return [];
    const { power_w } = sheet.heater;
    return state.jugs.flatMap(({ wax_g, weighed_at, melted_at }) => {
      if (weighed_at === null || melted_at === null || wax_g <= 0) return [];
      const took_s = (melted_at - weighed_at) / 1000;
      if (took_s < LEAST_MELT_S || took_s > MOST_MELT_S) return [];
      const melt = /** @type {[number, number, number]} */ ([meltEnergyOf(sheet, wax_g), power_w, took_s]);
      // One that teaches nothing must not keep the others from it.
      learnEfficiency([melt], defaultEfficiency(way));
      return [melt];
    });
  });
  return learnEfficiency(melts.slice(0, LEARN_FROM), defaultEfficiency(way));
}

/** Pours that still need her at the bench. @returns {Promise<Pour[]>} */
export async function poursOnBench() {
  return (await allPours()).filter(isOnBench).reverse();
}

/** @param {{stage: string}} pour */
export function isOnBench({ stage }) {
  return stage === "ready" || stage === "jugs" || stage === "set";
}

/**
 * Add an event to a pour as the screen last showed it.
 * @param {Pour} pour @param {{type: string} & Record<string, any>} event @param {number} now_ms
 */
export function addEvent(pour, event, now_ms) {
  return store.append(pour.id, { ...event, at: now_ms }, pour.state.last);
}

/** Take back the last thing that counts in this jug (or in the whole pour). @param {Pour} pour
 * @param {number} jug @param {number} now_ms */
export async function undoLast(pour, jug, now_ms) {
  const last = lastUndoable(pour, jug);
  if (last) await addEvent(pour, { type: "undone", event: last.id }, now_ms);
}

/** @param {Pour} pour @param {number} jug */
export function lastUndoable(pour, jug) {
  return pour.state.counted.findLast((event) => event.jug === undefined || event.jug === jug) ?? null;
}

/**
 * All clocks that run on the bench, the next to ring first.
 * @param {Pour[]} pours @param {number} now_ms
 * @returns {{pour: Pour, jug: number, at_ms: number, what: "temperature" | "stir" | "warm" | "hot", key: string}[]}
 */
export function clocks(pours, now_ms) {
  const running = ofEach(pours, (pour) => {
    if (pour.stage !== "jugs") return [];
    return pour.state.jugs.flatMap((jug, index) => {
      const alarm = alarmOf(pour.sheet, jug, now_ms);
      return alarm ? [{ ...alarm, pour, jug: index, key: `${pour.id} ${index} ${alarm.key}` }] : [];
    });
  });
  return running.sort((a, b) => a.at_ms - b.at_ms);
}

/** @param {Record<string, any>} record @param {import("../records/store.js").AnyEvent[]} events @returns {Pour} */
function folded(record, events) {
  const sheet = /** @type {Sheet} */ (record.sheet);
  const state = fold(sheet, events);
  return { id: record.id, sheet, state, events, record, stage: stageOf(state) };
}
