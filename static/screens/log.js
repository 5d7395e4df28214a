/** Every pour by months, the newest first. */

import { percent } from "../bench/display_units.js";
import { vesselsOf } from "../bench/due.js";
import { filledOf } from "../bench/fold.js";
import { allPours, isOnBench, ofEach } from "../bench/pours.js";
import { topsInWords } from "../bench/tops.js";
import * as store from "../records/store.js";
import { dayText, localDate, monthText } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { card, chip, cloneTemplate, h, replaceKeepingFocus, setText, slot } from "./dom.js";
import { findBatch } from "./find_batch.js";
import { leadOn } from "./onboarding.js";
import { drawOnChange, ofKinds } from "./screen.js";

/** @param {HTMLElement} place @param {string[]} _path @param {import("./screen.js").Context} context */
export async function show(place, _path, { go }) {
  place.append(cloneTemplate("screen-log"));
  /** @type {import("../bench/pours.js").Pour[]} */
  let pours = [];
  slot(place, "find").addEventListener("click", async () => {
    const found = await findBatch(pours);
    if (found === null) return;
    if (found.length === 1) go(`entry/${found[0].id}`);
    else {
      const several = h("p", { class: "hint" }, t("These batches have the same code. Look at their days."));
      slot(place, "found").replaceChildren(several, ...found.map(lineOf));
    }
  });
  return drawOnChange(ofKinds("pour"), async () => {
    const [all, { living, gone }] = await Promise.all([allPours(), store.apart("pour")]);
    pours = all;
    slot(place, "deleted").hidden = gone.length === 0;
    const isEmpty = pours.length === 0;
    slot(place, "empty").hidden = !isEmpty;
    await leadOn(place, isEmpty, "#/recipes/pour", t("Start a pour"));
    const lines = ofEach(pours, (pour) => [
      { month: localDate(pour.record.started_at).slice(0, 7), line: lineOf(pour) },
    ]);
    const byMonth = lines.flatMap(({ month, line }, index) =>
      month === lines[index - 1]?.month ? [line] : [h("h2", { class: "group" }, monthText(`${month}-01`)), line],
    );
    replaceKeepingFocus(slot(place, "cards"), ...byMonth);
    const lost = living.length - lines.length;
    slot(place, "unread").hidden = lost === 0;
    const unread = plural(
      lost,
      "This version of the bench can't read one pour. Nothing is lost: it is saved, and every copy has it.",
      "This version of the bench can't read {n} pours. Nothing is lost: they are saved, and every copy has them.",
    );
    setText(slot(place, "unread"), unread);
  });
}

/** @param {import("../bench/pours.js").Pour} pour */
function lineOf({ id, sheet, state, record, stage }) {
  const loads = state.jugs.filter(({ fragrance_g, wax_g }) => fragrance_g > 0 && wax_g > 0).map(({ load }) => load);
  const { filled, planned } = filledOf(state);
  const isShort = !isOnBench({ stage }) && filled < planned;
  const line = [
    vesselsOf(sheet),
    isShort && t("{filled} of {planned}", { filled, planned }),
    stage === "curing" && (state.tops === null ? t("cured") : topsInWords(state.tops)),
  ];
  const stands = isOnBench({ stage }) ? t("on the bench") : stage === "setting" ? t("setting") : t("given up");
  return card({
    href: `#/entry/${id}`,
    of: sheet,
    name: sheet.title,
    line: line.filter(Boolean).join(", "),
    chip: stage !== "curing" && chip(stands),
    right: loads.length ? percent(loads.reduce((sum, load) => sum + load, 0) / loads.length) : "",
    under: dayText(localDate(record.started_at)),
  });
}
