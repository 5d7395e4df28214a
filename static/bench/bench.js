/** The pours kept on this phone: starting one, reading it back, adding to it. */
import { ValueError } from "../formulas/checks.js";
import { learn } from "../formulas/cooling.js";
import { learnEfficiency } from "../formulas/heat.js";
import * as store from "../records/store.js";
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
    console.warn(`The pour ${record.id} can't be read.`, error);
    return null;
  }
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
      const readings = dips.map(({ at, temp_c }) => /** @type {[number, number]} */ ([(at - dips[0].at) / 1000, temp_c]));
      const { thermometer_step_c, room_c } = sheet;
      history = [...history, learn(readings, room_c, { thermometer_step_c, mass_g: wax_g, history })];
    } catch (error) {
      // Readings that make no curve teach nothing.
      if (!(error instanceof ValueError)) throw error;
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
  /** @type {[number, number, number][]} */
  const melts = [];
  for (const { sheet, state } of pours) {
    if (sheet.heater?.id !== heater) continue;
    for (const { wax_g, weighed_at, melted_at } of state.jugs) {
      if (weighed_at === null || melted_at === null || wax_g <= 0) continue;
      const took_s = (melted_at - weighed_at) / 1000;
      if (took_s >= LEAST_MELT_S && took_s <= MOST_MELT_S) melts.push([meltEnergyOf(sheet, wax_g), sheet.heater.power_w, took_s]);
    }
  }
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
  const running = [];
  for (const pour of pours) {
    if (pour.stage !== "jugs") continue;
    for (const [index, jug] of pour.state.jugs.entries()) {
      const alarm = alarmOf(pour.sheet, jug, now_ms);
      if (alarm) running.push({ ...alarm, pour, jug: index, key: `${pour.id} ${index} ${alarm.key}` });
    }
  }
  return running.sort((a, b) => a.at_ms - b.at_ms);
}

/** @param {Record<string, any>} record @param {import("../records/store.js").AnyEvent[]} events @returns {Pour} */
function folded(record, events) {
  const sheet = /** @type {Sheet} */ (record.sheet);
  const state = fold(sheet, events);
  return { id: record.id, sheet, state, events, record, stage: stageOf(state) };
}
