/** What was made of a lot and who may have it, with a letter to them; with no signal. */

import { phoneNow } from "../bench/clock.js";
import { vesselsOf } from "../bench/due.js";
import { allPours, ofEach } from "../bench/pours.js";
import * as store from "../records/store.js";
import { readShelf } from "../shelf/stock.js";
import { madeOf } from "../shelf/trace.js";
import { usesOf } from "../shelf/uses.js";
import { dayText, localDate } from "../words/dates.js";
import { listed, plural, t } from "../words/door.js";
import { card, cloneTemplate, h, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { shareText } from "./share.js";
import { amountText } from "./shelf_words.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {import("../shelf/trace.js").Trace} Trace */
/** @typedef {import("../shelf/trace.js").Batch} Batch */

/** How words begin that a recall notice may not use (GPSR Art. 36, second-hand). */
const SOFT = ["voluntar", "precaution", "discretionar", "rare", "specific situation"];

/** @param {HTMLElement} place @param {string[]} path the lot's id @param {import("./screen.js").Context} context */
export async function show(place, [id], { units, go }) {
  place.append(cloneTemplate("screen-trace"));
  const form = slot(place, "form");
  keepDraft(form, `draft recall ${id}`);
  /** @type {Trace} */
  let trace;
  /** @type {Fields} */
  let maker = {};

  const drawLetter = () => {
    const risk = slot(place, "risk").value.trim();
    const soft = softIn(risk);
    slot(place, "soft").hidden = soft.length === 0;
    setText(slot(place, "soft"), t("This softens the danger: {words}. Say it without.", { words: listed(soft) }));
    setText(slot(place, "letter"), letterOf(trace, maker, risk, slot(place, "remedy").value.trim()));
  };
  form.addEventListener("input", drawLetter);
  slot(place, "print").addEventListener("click", () => print());
  slot(place, "share").addEventListener("click", () =>
    shareText(t("Product safety recall"), slot(place, "letter").textContent ?? ""),
  );

  return drawOnChange(ofKinds("lot", "pour", "wanted", "maker"), async () => {
    const shelf = await readShelf(localDate(phoneNow()), { lots: [id] });
    const lot = shelf.lots.get(id);
    if (lot === undefined) {
      go("shelf");
      return;
    }
    const back = slot(place, "back");
    [back.href, back.textContent] = [`#/lot/${id}`, lot.name];
    const material = shelf.materials.get(lot.material);
    setText(slot(place, "name"), t("What was made of {lot}", { lot: lot.name }));
    // One whose sheet makes no sense took nothing that can be told.
    const pours = ofEach(await allPours(), (pour) => (usesOf(pour) ? [pour] : []));
    trace = madeOf(id, pours);
    maker = (await store.get("maker", "maker")) ?? {};
    const wanted = new Map((await store.living("wanted")).map((each) => [each.id, String(each.name ?? "")]));
    showFacts(slot(place, "facts"), factsOf(trace, material?.name ?? "", lot.state.withdrawn));
    slot(place, "untold").hidden = trace.untold === 0;
    const untold = plural(
      trace.untold,
      "Of {n} candle nobody said where it went.",
      "Of {n} candles nobody said where they went.",
    );
    setText(slot(place, "untold"), untold);
    slot(place, "empty").hidden = trace.batches.length > 0;
    slot(place, "recall").hidden = trace.batches.length === 0;
    const pieces = material?.pieces ?? lot.record.by === "pieces";
    const cards = trace.batches.map((batch) => batchCard(batch, amountText(batch.amount, pieces, units), wanted));
    replaceKeepingFocus(slot(place, "batches"), ...cards);
    drawLetter();
  });
}

/** @param {Trace} trace @param {string} material @param {string | null} withdrawn @returns {[string, string][]} */
function factsOf({ made, here, out }, material, withdrawn) {
  return [
    [t("Material"), material],
    [t("It must not be used"), withdrawn ?? t("not said")],
    [t("Candles made"), `**${made}**`],
    [t("Still here"), `**${here}**`],
    [t("Went out"), `**${out}**`],
  ];
}

/** @param {Batch} batch @param {string} amount @param {Map<string, string>} wanted names of what they went out for */
function batchCard({ pour, code, made, here, out }, amount, wanted) {
  const where = out.map(({ n, at_ms, why, wanted: of }) => {
    const day = dayText(localDate(at_ms));
    const what = why || (of && wanted.get(of));
    return what ? t("{n} on {day}: {what}", { n, day, what }) : t("{n} on {day}", { n, day });
  });
  return h(
    "div",
    { class: "traced" },
    card({
      href: `#/entry/${pour.id}`,
      of: pour.sheet,
      name: [pour.sheet.title, code].filter(Boolean).join(", "),
      line: t("{vessels}; {amount} of it", { vessels: vesselsOf(pour.sheet), amount }),
      right: t("{here} of {made} here", { here, made }),
      under: dayText(localDate(pour.record.started_at)),
    }),
    where.length > 0 && h("ul", { class: "gone" }, ...where.map((line) => h("li", {}, line))),
  );
}

/** Words in a text that soften it. @param {string} text */
function softIn(text) {
  const words = text.toLowerCase().match(/\p{L}+(?: situations?)?/gu) ?? [];
  return [...new Set(words.filter((word) => SOFT.some((each) => word.startsWith(each))))];
}

/** A recall notice under the headings that it has to have. @param {Trace} trace @param {Fields} maker @param {string} risk
 * @param {string} remedy */
function letterOf({ batches }, maker, risk, remedy) {
  const days = batches.flatMap(({ out }) => out.map(({ at_ms }) => at_ms)).sort((a, b) => a - b);
  const [first, last] = [days[0], days.at(-1)].map((each) => (each ? dayText(localDate(each)) : ""));
  const names = [...new Set(batches.map(({ pour }) => pour.sheet.title))];
  const codes = batches.flatMap(({ code }) => code ?? []);
  const lines = [
    t("Product safety recall"),
    "",
    t("Product: {names}", { names: listed(names) }),
    t("Batch codes: {codes}", { codes: listed(codes) }),
    ...(days.length > 0
      ? [first === last ? t("Went out on {first}.", { first }) : t("Went out from {first} to {last}.", { first, last })]
      : []),
    "",
    t("The danger: {risk}", { risk: risk || "…" }),
    t("Stop using the candle at once, and keep it where nobody lights it."),
    t("What we offer: {remedy}", { remedy: remedy || "…" }),
    "",
    [maker.called, ...String(maker.address ?? "").split("\n"), maker.electronic, maker.telephone]
      .filter(Boolean)
      .join(", "),
  ];
  return lines.join("\n");
}
