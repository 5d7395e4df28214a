/** A past pour of the invented workshop, made by doing what the board says next until it says no more. */

import { excess } from "../formulas/cooling/law.js";
import { roundTo } from "../formulas/rounding.js";
import { EARLIEST, nextStamp } from "../records/stamp.js";
import { localDate } from "../words/dates.js";
import { displayUnits } from "./display_units.js";
import { fold, stageOf } from "./fold.js";
import { promptFor } from "./prompt.js";
import { makeSheet } from "./sheet.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */
/** @typedef {{kind: string, id: string, fields: Fields}} DemoRecord */
/**
 * @typedef {{id: string, recipe: string, count: number, begun_at: number, start_c: number, rate: number, tops: string,
 *   lots?: Fields[], candles?: Fields[]}} PastPour `candles`: what happened to them, so many days after
 */

/** @param {PastPour} past @param {DemoRecord[]} records */
export function playPour(past, records) {
  const of = (/** @type {string} */ kind) =>
    new Map(
      records
        .filter((each) => each.kind === kind)
        .map(({ id, fields }) => [id, /** @type {Fields} */ ({ id, ...fields })]),
    );
  const recipe = /** @type {Fields} */ (of("recipe").get(past.recipe));
  const [scale, fine] = of("scale").values();
  const [jug] = of("jug").values();
  const [thermometer] = of("thermometer").values();
  const [heater] = of("heater").values();
  const tools = { scale, fine, jug, heater, thermometer, room_c: 20, allowance_g: 5 };
  const kept = {
    vessels: of("vessel"),
    waxes: of("wax"),
    oils: of("fragrance"),
    additives: of("additive"),
    wicks: of("wick"),
  };
  const sheet = makeSheet(recipe, kept, tools, past.count);
  const units = displayUnits({});
  /** @type {PourEvent[]} */
  const events = [];
  // Whatever the day, one demo's events have the same names: two devices of one workshop agree.
  const by = past.id.replace(/[^0-9a-z]/g, "");
  let stamp = EARLIEST;
  let at = past.begun_at;
  const keep = (/** @type {import("../records/event_types.js").NewPourEvent} */ event) => {
    stamp = nextStamp(stamp, 0, by);
    events.push({ ...event, at, of: ["pour", past.id], id: stamp });
  };
  for (let turn = 0; turn < 500; turn += 1) {
    const state = fold(sheet, events);
    if (stageOf(state) === "setting") break;
    const index = Math.max(
      0,
      state.jugs.findIndex(({ step }) => step !== "done"),
    );
    const current = state.jugs[index];
    const { main } = promptFor(sheet, state, index, at, units);
    at += current.step === "cool" ? 240_000 : current.step === "melt" ? 1_500_000 : 40_000;
    if (main?.pad === "temperature") {
      const since_s = (at - /** @type {number} */ (current.melted_at)) / 1000;
      const temp_c = roundTo(sheet.room_c + excess(past.start_c - sheet.room_c, past.rate, since_s), 0.1);
      keep({ type: "read", jug: index, temp_c });
    } else if (main?.pad === "weigh" && current.current) {
      const { part, index: which, target_g } = current.current;
      keep({ type: "weighed", jug: index, part, index: which, read_g: target_g });
    } else if (main?.pad === "vessel" && typeof main.expected === "number") {
      keep({ type: "poured", jug: index, read_g: main.expected });
    } else if (main?.event) {
      keep(main.event.type === "set" ? { ...main.event, on: localDate(at) } : main.event);
    }
  }
  at += 22 * 3_600_000;
  keep({ type: "finished", tops: past.tops });
  const gone = (past.candles ?? []).map(({ after_days, ...event }) => {
    stamp = nextStamp(stamp, 0, by);
    return { ...event, at: at + after_days * 86_400_000, of: ["batch", past.id], id: stamp };
  });
  return {
    record: {
      kind: "pour",
      id: past.id,
      fields: { name: sheet.title, sheet, started_at: past.begun_at, lots: past.lots },
    },
    events: [...events, ...gone],
  };
}
