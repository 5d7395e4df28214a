/** A candle by the code on its label: all that is in it, what was read of it, who has others like it; with no signal. */
import { readPour } from "../bench/pours.js";
import { GONE } from "../find/entries.js";
import { all, behind, catchUp } from "../find/index.js";
import { readCode } from "../formulas/batch_code.js";
import { findings } from "../records/findings.js";
import * as store from "../records/store.js";
import { codeOf } from "../shelf/batches.js";
import { isPieces, materialOf } from "../shelf/lots.js";
import { withCandles } from "../shelf/read_candles.js";
import { blocksOf } from "../shelf/read_recall.js";
import { KINDS_OF_TRACE, lotsBehind, poursKept, recordsKept } from "../shelf/read_trace.js";
import { goneOut, wholeBatch } from "../shelf/trace.js";
import { keyOf, usesOf } from "../shelf/uses.js";
import { dayText, localDate } from "../words/dates.js";
import { InputError, t } from "../words/door.js";
import { batchCard, readNames } from "./batch_lines.js";
import { blockText } from "./candle_words.js";
import { card, cloneTemplate, h, look, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { factsOf, jugSection } from "./entry_jugs.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { amountText } from "./shelf_words.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../shelf/trace.js").Batch} Batch */
/** @typedef {import("../shelf/trace.js").Parent} Parent */
/** @typedef {import("../records/store.js").Plain} Plain */

/** @param {HTMLElement} place @param {string[]} path a code, or the id of a pour; nothing: it asks
 * @param {import("./screen.js").Context} context */
export async function show(place, [asked = ""], { units, go }) {
  place.append(cloneTemplate("screen-candle"));
  const box = slot(place, "code");
  const error = slot(place, "error");
  box.value = /^[A-Za-z0-9. -]{1,12}$/.test(asked) ? asked : "";
  slot(place, "form").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    const text = box.value.trim();
    // The same once more: it may be kept here by now.
    if (decodeURIComponent(location.hash) === `#/candle/${text}`) void draw();
    else go(`candle/${encodeURIComponent(text)}`);
  });

  async function draw() {
    const pours = asked === "" ? [] : await found(asked, error);
    slot(place, "several").hidden = pours.length < 2;
    replaceKeepingFocus(slot(place, "others"), ...(pours.length > 1 ? pours.map(otherLine) : []));
    slot(place, "one").hidden = pours.length !== 1;
    if (asked === "") box.focus();
    if (pours.length !== 1) return;
    await drawOne(place, wholeBatch((await withCandles(pours))[0]), units);
  }
  return drawOnChange(
    ofKinds(...KINDS_OF_TRACE, "recall", "buyer", "wanted", "made_label", "safety_sheet", "hazard_finding"),
    draw,
  );
}

/** The pours that are meant; what is wrong with the code is said. @param {string} asked @param {HTMLElement} error */
async function found(asked, error) {
  error.hidden = true;
  const pour = /^[\w.-]{1,64}$/.test(asked) ? await readPour(asked, true).catch(() => null) : null;
  if (pour !== null) return [pour];
  try {
    const { code } = readCode(asked);
    await catchUp(await behind());
    // Its label is on the candle, whether its record was deleted or not.
    const rows = [...(await all()).inOrder.filter(({ pour }) => pour?.code === code), ...(await store.settledOf(GONE))];
    const found = await poursKept(rows.map(({ id }) => id.slice("pour ".length)));
    const pours = found.filter((pour) => codeOf(pour) === code);
    if (pours.length === 0) throw new InputError("No pour that is kept here has the code {code}.", { code }, "text");
    return pours;
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    error.textContent = problem.message;
    error.hidden = false;
    return [];
  }
}

/** @param {Pour} pour */
const otherLine = (pour) =>
  card({
    href: `#/candle/${pour.id}`,
    of: pour.sheet,
    name: pour.sheet.title,
    under: dayText(localDate(pour.record.started_at)),
  });

/** @param {HTMLElement} place @param {Batch} batch @param {DisplayUnits} units */
async function drawOne(place, batch, units) {
  const { pour, code, candles } = batch;
  const { sheet, state } = pour;
  const parents = await lotsBehind(pour);
  const [names, blocks, lots, labels, sheets, classes] = await Promise.all([
    readNames(),
    blocksOf([batch], [parents]),
    readLots(parents),
    findings("made_label"),
    store.living("safety_sheet"),
    findings("hazard_finding"),
  ]);
  setText(slot(place, "name"), sheet.title);
  if (code !== null && document.activeElement !== slot(place, "code")) slot(place, "code").value = code;
  slot(place, "look").replaceChildren(look(sheet));
  slot(place, "pour").href = `#/entry/${pour.id}`;
  slot(place, "life").href = `#/candles/${pour.id}`;
  slot(place, "complain").href = `#/edit/complaint/new/candle/${code ?? ""}`;
  slot(place, "recall").href = `#/recall/new/pour/${pour.id}`;
  const blocked = (blocks.get(pour.id) ?? []).map((block) => h("p", { class: "beware notice" }, blockText(block)));
  const { deleted, deleted_why: why } = pour.record;
  const gone =
    deleted &&
    h("p", { class: "notice" }, why ? t("Its record was deleted: {why}", { why }) : t("Its record was deleted."));
  replaceKeepingFocus(slot(place, "blocked"), ...blocked, ...(gone ? [gone] : []));
  showFacts(slot(place, "facts"), [
    [t("Batch code"), `**${code ?? t("none")}**`],
    [t("Poured"), dayText(state.set_on ?? localDate(pour.record.started_at))],
    [t("Candles made"), `**${candles.made}**`],
    [t("Still here"), `**${candles.here}**`],
    [t("Out with others"), `**${goneOut(candles)}**`],
  ]);
  replaceKeepingFocus(slot(place, "inside"), ...(await insideOf(pour, parents, lots, sheets, units)));
  replaceKeepingFocus(slot(place, "where"), batchCard(batch, names));
  const printed = labels.filter((label) => label.pour === pour.id);
  const findingsOf = classes.filter((each) => each.recipe === sheet.recipe).sort((a, b) => b.made_at - a.made_at);
  const papers = [
    ...printed.map((label) =>
      card({
        href: `#/made_label/${label.id}`,
        name: String(label.name ?? ""),
        line: t("its label"),
        under: dayText(localDate(label.made_at)),
      }),
    ),
    ...findingsOf.slice(0, 1).map((each) =>
      card({
        href: `#/hazard/${sheet.recipe}`,
        name: t("Hazard class"),
        line: t("as it was worked out last"),
        under: dayText(localDate(each.made_at)),
      }),
    ),
  ];
  slot(place, "no_papers").hidden = papers.length > 0;
  replaceKeepingFocus(slot(place, "papers"), ...papers);
  showFacts(slot(place, "pour_facts"), factsOf(pour, units));
  replaceKeepingFocus(slot(place, "jugs"), ...state.jugs.map((_, index) => jugSection(pour, index, units)));
}

/** Deliveries by id, those that were deleted too. @param {Parent[]} parents @returns {Promise<Map<string, Plain>>} */
async function readLots(parents) {
  const found = await recordsKept("lot", [...new Set(parents.map(({ lot }) => lot))]);
  return new Map(found.map((lot) => [lot.id, lot]));
}

/** What is in it: of each material how much, from which delivery, and by which sheet; then what was melted again.
 * @param {Pour} pour @param {Parent[]} parents @param {Map<string, Plain>} lots @param {Plain[]} sheets @param {DisplayUnits} units */
async function insideOf(pour, parents, lots, sheets, units) {
  const suppliers = new Map((await store.living("supplier")).map(({ id, name }) => [id, String(name ?? "")]));
  /** @type {Map<string, {use: import("../shelf/uses.js").Use, amount: number}>} */
  const uses = new Map();
  for (const use of usesOf(pour)) {
    const key = `${keyOf(use)} ${use.lot}`;
    uses.set(key, { use, amount: (uses.get(key)?.amount ?? 0) + use.amount });
  }
  const own = [...uses.values()].map(({ use, amount }) => {
    const lot = use.lot === null ? undefined : lots.get(use.lot);
    const text = amountText(amount, isPieces(use.kind), units);
    return lineOf(t("{name}: {amount}", { name: use.name, amount: text }), use, use.lot, lot, suppliers, sheets);
  });
  const before = parents.filter(({ of }) => of !== null);
  const again = before.map(({ lot: id }) => {
    const lot = lots.get(id);
    const [kind, material] = materialOf(lot);
    return lineOf(t("in what was melted again"), { kind, id: material }, id, lot, suppliers, sheets);
  });
  return [...own, ...again];
}

/** @param {string} what @param {{kind: string, id: string}} material @param {string | null} id of its delivery
 * @param {Plain | undefined} lot @param {Map<string, string>} suppliers @param {Plain[]} sheets */
function lineOf(what, material, id, lot, suppliers, sheets) {
  const [sheet] = sheets
    .filter(({ material: of }) => Array.isArray(of) && of[0] === material.kind && of[1] === material.id)
    .sort((a, b) => String(b.dated ?? "").localeCompare(String(a.dated ?? "")));
  const about = [
    lot?.supplier && suppliers.get(lot.supplier),
    lot?.certificate && t("certificate {number}", { number: lot.certificate }),
    sheet && [t("safety data sheet"), sheet.edition].filter(Boolean).join(" "),
    lot?.deleted && t("deleted"),
  ];
  const name = lot
    ? String(lot.name ?? "")
    : id === null
      ? t("not said which delivery")
      : t("a delivery that is not here");
  return h(
    "li",
    {},
    h("p", {}, what),
    h(
      "p",
      { class: "line" },
      lot && !lot.deleted ? h("a", { href: `#/lot/${lot.id}` }, name) : name,
      about.some(Boolean) && `; ${about.filter(Boolean).join("; ")}`,
    ),
    lot &&
      h(
        "p",
        { class: "links" },
        h("a", { class: "quiet small", href: `#/trace/${lot.id}` }, t("Others of it")),
        h("a", { class: "quiet small", href: `#/recall/new/lot/${lot.id}` }, t("Withdraw it")),
      ),
  );
}
