/** Before a recall begins: whom it would concern, and what she says to them. Nothing is withdrawn until she says so. */
import { now } from "../bench/clock.js";
import * as store from "../records/store.js";
import { materialOf } from "../shelf/lots.js";
import { batchesIn, beginRecall, KINDS_OF_RECALL } from "../shelf/read_recall.js";
import { holdersOf, softWords } from "../shelf/recall.js";
import { sumsOf } from "../shelf/trace.js";
import { dayText, localDate } from "../words/dates.js";
import { listed, t } from "../words/door.js";
import { batchTitle, readNames, whoText } from "./batch_lines.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";

/** @typedef {import("../shelf/read_recall.js").What} What */
/** @typedef {import("../shelf/trace.js").Batch} Batch */

/** @param {HTMLElement} place @param {string} given what it is of @param {string} of its id
 * @param {import("./screen.js").Context} context */
export async function showNew(place, given, of, { go }) {
  const what = WHAT.find((each) => each === given);
  if (what === undefined) {
    go("recall");
    return undefined;
  }
  place.append(cloneTemplate("screen-recall_new"));
  const forget = keepDraft(slot(place, "form"), `draft recall ${of}`);
  let called = "";

  slot(place, "risk").addEventListener("input", () => drawSoft(place));
  /** @param {boolean} rehearsal */
  const begin = async (rehearsal) => {
    const risk = slot(place, "risk").value.trim();
    slot(place, "missing").hidden = risk !== "";
    if (risk === "") {
      slot(place, "risk").focus();
      return;
    }
    const day = dayText(localDate(now()));
    const name = rehearsal ? t("Rehearsal, {day}: {what}", { day, what: called }) : called;
    let id = "";
    const said = { name, risk, remedy: slot(place, "remedy").value.trim(), rehearsal };
    if (!(await tryToKeep(async () => (id = await beginRecall(what, of, said))))) return;
    forget();
    go(`recall/${id}`);
  };
  slot(place, "begin").addEventListener("click", () => void begin(false));
  slot(place, "rehearse").addEventListener("click", () => void begin(true));

  return drawOnChange(ofKinds(...KINDS_OF_RECALL, "recipe"), async () => {
    const batches = await batchesIn({ what, of });
    called = await nameOf(what, of, batches);
    if (called === "") {
      go("recall");
      return;
    }
    const back = slot(place, "back");
    back.href = what === "lot" ? `#/trace/${of}` : what === "pour" ? `#/entry/${of}` : `#/recipe/${of}`;
    setText(back, called);
    setText(slot(place, "name"), t("Recall {what}", { what: called }));
    const sums = sumsOf(batches);
    showFacts(slot(place, "facts"), [
      [t("Candles made"), `**${sums.made}**`],
      [t("Still here, and then not for sale"), `**${sums.here}**`],
      [t("Out with others"), `**${sums.out}**`],
    ]);
    const names = await readNames();
    const lines = holdersOf(batches).map((holder) =>
      h(
        "li",
        {},
        h("b", {}, String(holder.n)),
        ` ${whoText({ ...holder, wanted: wantedOf(holder.key), why: null }, names)}`,
      ),
    );
    slot(place, "nobody").hidden = lines.length > 0;
    replaceKeepingFocus(slot(place, "holders"), ...lines);
    drawSoft(place);
  });
}

/** @type {What[]} */
const WHAT = ["lot", "pour", "recipe"];

/** @param {string} key */
export const wantedOf = (key) => (key.startsWith("wanted ") ? key.slice("wanted ".length) : null);

/** Point out what a notice may not say. @param {HTMLElement} place */
export function drawSoft(place) {
  const soft = softWords(slot(place, "risk").value);
  slot(place, "soft").hidden = soft.length === 0;
  setText(slot(place, "soft"), t("This softens the danger: {words}. Say it without.", { words: listed(soft) }));
}

/** What is called back, in words; "" where it is not kept here. @param {What} what @param {string} of @param {Batch[]} batches */
async function nameOf(what, of, batches) {
  if (what === "pour") {
    const [batch] = batches;
    return batch ? batchTitle(batch) : "";
  }
  const record = await store.get(what, of);
  if (record === undefined) return "";
  if (what === "recipe") return String(record.name ?? "");
  const material = await store.get(...materialOf(record));
  return [material?.name, record.name].filter(Boolean).join(", ");
}
