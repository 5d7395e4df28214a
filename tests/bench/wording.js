/** All that the board shows and says of a walked pour, in the pseudo-language. */

import { due, stepCue, timedCues } from "/bench/cues.js";
import { speakIn } from "/words/door.js";
import { translate } from "/words/pseudo.js";
import { displayUnits, fold, promptFor, sheetOf, stageOf, textsOf, walk } from "./walk.js";

export { t, worded } from "/words/door.js";

const ENGLISH = { tag: "en-GB", translate: (template) => template };

/** Do something while the pseudo-language is spoken. */
export function inPseudo(action) {
  speakIn({ tag: "en-XA", translate });
  try {
    return action();
  } finally {
    speakIn(ENGLISH);
  }
}

export function allTexts(given) {
  const { events } = walk(given);
  return inPseudo(() => textsAlong(given, events));
}

function textsAlong(given, events) {
  const sheet = sheetOf(given.asked);
  const units = displayUnits(given.units);
  const shown = new Set();
  const told = new Map();
  for (let count = 0; count <= events.length; count += 1) {
    const state = fold(sheet, events.slice(0, count));
    if (stageOf(state) === "setting") break;
    const now_ms = (events[count - 1]?.at ?? 0) + 1000;
    for (const index of state.jugs.keys()) {
      for (const way of [{}, { ahead: true }, { whole: true }]) {
        for (const text of textsOf(promptFor(sheet, state, index, now_ms, units, way))) shown.add(text);
        shown.add(stepCue(sheet, state, index, now_ms, units, way).words);
      }
      const cues = timedCues({ id: "p", sheet, state }, index, now_ms, units);
      for (const { words, then } of cues) shown.add(words).add(then);
      for (const late of due(cues, told, now_ms + 3_600_000)) shown.add(late.words);
    }
  }
  return [...shown];
}
