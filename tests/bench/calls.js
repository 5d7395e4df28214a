/** Walked pours, listened to: every word that is said, and when. */
import { due, stepCue, timedCues } from "/bench/cues.js";
import { displayUnits, fold, promptFor, sheetOf, stageOf, walk } from "./walk.js";

export * from "/bench/cues.js";
export * from "./walk.js";

const SAYABLE = /^[\p{L}\d.,:;'?-]+( [\p{L}\d.,:;'?-]+)*$/u;
const NONSENSE = [
  [/NaN|undefined|null|Infinity/, "nonsense"],
  [/\d,\d/, "a decimal comma"],
  [/\d \d/, "a number torn in two"],
  [/(?<![\d.])1 (grams|ounces|pounds|degrees|minutes|vessels)/, "one of many"],
  [/(?<![\d.])(?!1 )[\d.]+ (gram|ounce|pound|degree|minute|vessel)(?!s)/, "many of one"],
];

/** What is wrong with these words, or null. */
export function wordsProblem(words) {
  if (!SAYABLE.test(words)) return `can't be said: “${words}”`;
  if (words.length > 130) return `too long: “${words}”`;
  const found = NONSENSE.find(([pattern]) => pattern.test(words));
  return found ? `${found[1]}: “${words}”` : null;
}

/** The number that the board shows, as it is to be heard. */
function heard(number, unit) {
  const bare = number.replaceAll("\u202f", "");
  const many = (n, word) => `${n} ${word}${n === "1" ? "" : "s"}`;
  const pounds = bare.match(/^(?:(-?\d+) lb )?([\d.]+) oz$/);
  if (pounds) return [pounds[1] && many(pounds[1], "pound"), many(pounds[2], "ounce")].filter(Boolean).join(" ");
  return many(bare, { g: "gram", oz: "ounce" }[unit]);
}

function weighedProblem(words, _jug, prompt) {
  const { number, unit, doing } = prompt;
  const off = /^(.+?) (more|over)\b/.exec(doing);
  const [, first, its] = off ? /^(.*?)(?:\u00a0(g|oz))?$/.exec(off[1].split(",")[0]) : [];
  const shown = off
    ? heard(first.replaceAll("\u00a0", " ") + (its === "oz" && first.includes("lb") ? " oz" : ""), its)
    : heard(number, unit);
  return words.includes(shown) ? null : `the board shows “${doing} ${number} ${unit}”, it says “${words}”`;
}

/** Walk, and listen to each step and each mark. @returns {{problem: string | null, said: string[]}} */
export function listen(given) {
  const sheet = sheetOf(given.asked);
  const units = displayUnits(given.units);
  const { events } = walk(given);
  const heardSoFar = sheet.jugs.map(() => []);
  const told = new Map();
  const calls = new Map();
  const all = new Set();
  const found = (problem) => ({ problem, said: [...all], events: events.slice(-6) });
  for (let count = 0; count <= events.length; count += 1) {
    const state = fold(sheet, events.slice(0, count));
    const at_ms = events[count - 1]?.at ?? 0;
    const until_ms = events[count]?.at ?? at_ms + 600_000;
    if (stageOf(state) === "setting") break;
    for (const [index, jug] of state.jugs.entries()) {
      for (const way of [{}, { whole: true }, { ahead: true }]) {
        const { key, words } = stepCue(sheet, state, index, at_ms, units, way);
        const problem = wordsProblem(words);
        if (problem) return found(problem);
        if (stepCue(sheet, state, index, at_ms + 200_000, units, way).key !== key)
          return found(`time alone says anew: ${words}`);
        const prompt = promptFor(sheet, state, index, at_ms, units, way);
        const weighs = jug.current ?? (way.ahead ? prompt.beam : null);
        if (weighs && stageOf(state) === "jugs") {
          const over = jug.current?.part === "restore" && jug.current.verdict === "high";
          const wrong = over ? null : weighedProblem(words, jug, prompt);
          if (wrong) return found(wrong);
        }
        // Said anew when, and only when, something was done in this jug, or the whole pour moved on.
        const name = `${index} ${JSON.stringify(way)}`;
        const before = calls.get(name);
        const board = JSON.stringify([
          prompt.title,
          prompt.beam,
          prompt.main?.label,
          jug.dips.at(-1) ?? null,
          jug.warming,
        ]);
        if (before && before.key === key && before.title !== prompt.title)
          return found(`“${prompt.title}” is not said`);
        if (before && before.board === board && before.own === ownOf(jug, state) && before.key !== key)
          return found(`said twice: ${words}`);
        calls.set(name, { key, title: prompt.title, board, own: ownOf(jug, state) });
        all.add(words);
      }
      const marks = timedCues({ id: "p", sheet, state }, index, at_ms, units);
      const keys = new Set(marks.map(({ key }) => key));
      if (keys.size !== marks.length) return found("a mark twice");
      const begun_ms = Math.max(jug.dips.at(-1)?.at ?? 0, jug.step === "stir" ? jug.added_at : 0);
      for (const [n, mark] of marks.entries()) {
        if (n > 0 && mark.at_ms < marks[n - 1].at_ms) return found("marks out of order");
        if (!(mark.at_ms > begun_ms)) return found("a mark before the countdown began");
        if (timedCues({ id: "p", sheet, state }, index, at_ms + 50_000, units)[n]?.at_ms !== mark.at_ms)
          return found("time moves a mark");
      }
      for (const tick_ms of [...marks.map((mark) => mark.at_ms + 100), until_ms].filter(
        (ms) => ms >= at_ms && ms <= until_ms,
      )) {
        for (const mark of due(marks, told, tick_ms)) {
          const problem = wordsProblem(mark.words);
          if (problem) return found(problem);
          heardSoFar[index].push(mark);
          all.add(mark.words);
        }
      }
    }
  }
  for (const marks of heardSoFar) {
    const least = new Map();
    for (const { series, left_s, words } of marks) {
      if (left_s >= (least.get(series) ?? Infinity)) return found(`again, or out of order: ${words}`);
      least.set(series, left_s);
    }
  }
  return found(null);
}

function ownOf({ reads, poured, all_dips, melted_at, went_on, added_at, stirred_at, kept }, { ready_at }) {
  return JSON.stringify([[...reads], poured, all_dips, melted_at, went_on, added_at, stirred_at, [...kept], ready_at]);
}
