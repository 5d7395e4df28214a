/** All that is said of a pour, whatever happened to it, and what is wrong with any of it. */
import { calendarOf } from "/bench/calendar.js";
import { alarmOf, waitOf } from "/bench/countdown.js";
import { due, spoken, stepCue, timedCues } from "/bench/cues.js";
import { displayUnits } from "/bench/display_units.js";
import * as dues from "/bench/due.js";
import { correctableField, eventWords, valueText } from "/bench/event_words.js";
import { fold, stageOf } from "/bench/fold.js";
import { isWaiting, jugMeanwhile } from "/bench/next_jug.js";
import { jugHistory, learnedEfficiency } from "/bench/past_pours.js";
import { clocksOf, lastUndoable } from "/bench/pours.js";
import { tableOf } from "/bench/pours_csv.js";
import { loadLine, promptFor, stepsOf } from "/bench/prompt.js";
import { effectiveEvents } from "/records/events.js";
import { sheetOf } from "./walk.js";

export { effectiveEvents, sheetOf };

const NONSENSE = /NaN|undefined|Infinity|\bnull\b|\[object|\{\w+\}/;

/** What is no sensible part of an answer, or null. */
function nonsenseIn(said, path = "") {
  if (typeof said === "string") return NONSENSE.test(said) ? `${path}: “${said}”` : null;
  if (typeof said === "number") return Number.isFinite(said) ? null : `${path} is ${said}`;
  if (said === undefined || said === null || typeof said !== "object") return null;
  const parts = said instanceof Map || said instanceof Set ? [...said] : said;
  for (const [name, part] of Object.entries(parts)) {
    const found = nonsenseIn(part, `${path}.${name}`);
    if (found) return found;
  }
  return null;
}

/** Look at a pour with everything that reads it. Answers what is wrong, or null.
 * @param {{asked: any, events: any[], units: any, looks: number[]}} given `looks`: when it is looked at, ms */
export function lookAt({ asked, events, units: told, looks }) {
  const sheet = sheetOf(asked);
  const units = displayUnits(told);
  const record = { kind: "pour", id: "p", name: sheet.title, sheet, started_at: looks[0] };
  const state = fold(sheet, events);
  const pour = { id: "p", sheet, state, events, record, stage: stageOf(state) };
  const settings = dues.settingsOf({}, "Europe/Lisbon");
  const reminders = dues.remindersOf(pour, settings);
  const said = {
    // What she typed may say anything.
    state: { ...state, counted: [], notes: [], burns: [], tops: "" },
    reminders,
    calendar: calendarOf(pour, settings, undefined, looks[0]),
    csv: tableOf([pour]),
    history: jugHistory([pour], sheet.jug.id),
    efficiency: learnedEfficiency([pour], sheet.heater?.id ?? "", "bain_marie"),
    steps: stepsOf(sheet),
    log: events.map((event) => eventWords(event, record)),
    values: events.map((event) =>
      Object.entries(event).map(([name, value]) => valueText(event, name, value, record, units)),
    ),
    fields: events.map(correctableField),
    looked: looks.map((now_ms) => ({
      due: dues.due(reminders, now_ms),
      coming: dues.coming(reminders, now_ms),
      headlines: reminders.map(({ kind, on }) => dues.headlineOf("Dune", kind, on, now_ms)),
      clocks: clocksOf(pour, now_ms).map(({ at_ms, what, key }) => ({ at_ms, what, key })),
      jugs: state.jugs.map((jug, index) => ({
        undoable: lastUndoable(pour, index)?.id,
        waiting: isWaiting(pour, index, now_ms),
        meanwhile: jugMeanwhile(pour, index, now_ms),
        load: loadLine(sheet, jug),
        alarm: alarmOf(sheet, jug, now_ms),
        // As the log draws its curve.
        wait: worded(waitOf(sheet, { ...jug, step: "cool", warming: false, dips: jug.cooled }, now_ms)),
        prompts: [{}, { ahead: true }, { whole: true }].map((way) =>
          state.set_at === null ? promptFor(sheet, state, index, now_ms, units, way) : null,
        ),
        calls: [{}, { ahead: true }, { whole: true }].map((way) => {
          const { words } = stepCue(sheet, state, index, now_ms, units, way);
          return [words, spoken(words)];
        }),
        marks: due(timedCues(pour, index, now_ms, units), new Map(), now_ms),
      })),
    })),
  };
  const { notes, burns, tops } = state;
  const own = JSON.stringify([notes, burns, tops, events]);
  const found = nonsenseIn(JSON.parse(JSON.stringify(said, spelledOut)));
  return found && !own.includes(found.split("“")[1] ?? "\0") ? found : null;
}

/** A wait with its problem in words. */
const worded = ({ problem, ...wait }) => ({ ...wait, problem: problem?.message });

/** Numbers that JSON can't tell apart from nothing, and the kinds of list that it does not know. */
function spelledOut(_, value) {
  if (typeof value === "number" && !Number.isFinite(value)) return String(value);
  return value instanceof Map || value instanceof Set ? [...value] : value;
}
