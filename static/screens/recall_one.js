/** One recall: who has the candles and who was told, what came back, the notice to send; with no signal. */
import { now } from "../bench/clock.js";
import { eventWords } from "../bench/event_words.js";
import * as store from "../records/store.js";
import { batchesIn, KINDS_OF_RECALL, readRecall } from "../shelf/read_recall.js";
import { holdersOf } from "../shelf/recall.js";
import { goneOut } from "../shelf/trace.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { askInBox, askWhy } from "./ask_in_box.js";
import { showAttachments } from "./attachments.js";
import { batchCard, readNames, whoText } from "./batch_lines.js";
import { wholeUpTo } from "./boxes.js";
import { chip, cloneTemplate, h, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { addressOf, letterOf, placesOf } from "./recall_letter.js";
import { drawSoft, wantedOf } from "./recall_new.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";
import { shareText } from "./share.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {import("../shelf/read_recall.js").Recall} Recall */
/** @typedef {import("../shelf/recall.js").Holder} Holder */
/** @typedef {import("../shelf/trace.js").Batch} Batch */
/** @typedef {import("../records/event_types.js").NewRecallEvent} NewRecallEvent */
/** @typedef {{recall: Recall, batches: Batch[], holders: Holder[], buyers: Map<string, Fields>, names: Map<string, string>,
 *   maker: Fields}} Found */

/** @param {HTMLElement} place @param {string} id @param {import("./screen.js").Context} context */
export async function showOne(place, id, { go }) {
  place.append(cloneTemplate("screen-recall_one"));
  /** @type {Found} */
  let found;
  const said = () => ({ risk: slot(place, "risk").value.trim(), remedy: slot(place, "remedy").value.trim() });
  const drawLetters = () => {
    drawSoft(place);
    const given = { ...found, places: placesOf(found.holders, found.buyers) };
    setText(slot(place, "letter"), letterOf(given, found.maker, said()));
    slot(place, "letters").replaceChildren(
      ...found.holders.flatMap(({ buyer, n }) => {
        const to = addressOf(buyer === null ? undefined : found.buyers.get(buyer));
        return to && n > 0 ? [h("pre", { class: "letter" }, letterOf(given, found.maker, said(), to))] : [];
      }),
    );
  };
  const form = slot(place, "form");
  form.addEventListener("input", drawLetters);
  // Each box for itself: what another phone changed in the other one stands.
  for (const name of /** @type {const} */ (["risk", "remedy"]))
    slot(place, name).addEventListener("change", () =>
      tryToKeep(() => store.save("recall", id, { [name]: said()[name] })),
    );
  showAttachments(place, id);
  slot(place, "print").addEventListener("click", () => print());
  slot(place, "share").addEventListener("click", () =>
    shareText(t("Product safety recall"), slot(place, "letter").textContent ?? ""),
  );
  /** @param {NewRecallEvent} event */
  const keep = (event) => tryToKeep(() => store.append("recall", id, { ...event, at: now() }));
  slot(place, "tell").addEventListener("click", async () => {
    const whom = await askWhy(t("Whom did you tell, such as the authority?"));
    if (whom) await keep({ type: "told", whom });
  });
  slot(place, "close").addEventListener("click", async () => {
    const why = await askWhy(t("Why is it over?"));
    if (why !== null) await keep({ type: "closed", ...(why && { why }) });
  });
  slot(place, "noting").addEventListener("click", async () => {
    const text = await askWhy(t("What is to be noted?"));
    if (text) await keep({ type: "noted", text });
  });

  return drawOnChange(ofKinds(...KINDS_OF_RECALL), async () => {
    const recall = await readRecall(id);
    if (recall === null) {
      go("recall");
      return;
    }
    const [batches, buyers, names, maker] = await Promise.all([
      batchesIn(recall),
      store.living("buyer"),
      readNames(),
      store.get("maker", "maker"),
    ]);
    const byId = new Map(buyers.map((each) => [each.id, each]));
    found = { recall, batches, holders: holdersOf(batches), buyers: byId, names, maker: maker ?? {} };
    const { record, state, isRehearsal } = recall;
    const isOpen = state.closed === null;
    setText(slot(place, "name"), String(record.name ?? ""));
    slot(place, "rehearsal").hidden = !isRehearsal;
    slot(place, "close").hidden = !isOpen;
    slot(place, "nameless").hidden = found.maker.called !== undefined;
    for (const name of ["risk", "remedy"]) {
      const box = slot(place, name);
      if (document.activeElement !== box) box.value = record[name] ?? "";
    }
    showFacts(slot(place, "facts"), howFar(found));
    slot(place, "nobody").hidden = found.holders.length > 0;
    replaceKeepingFocus(slot(place, "holders"), ...found.holders.map((holder) => holderLine(holder, found, keep)));
    const here = batches.filter(({ candles }) => candles.here > 0);
    slot(place, "here").hidden = here.length === 0;
    const cards = here.map((batch) =>
      h("div", {}, batchCard(batch, names), ...(isRehearsal ? [] : [hereLine(batch, isOpen)])),
    );
    replaceKeepingFocus(slot(place, "batches"), ...cards);
    drawLetters();
    const lines = state.counted.map((event) =>
      h(
        "li",
        {},
        h("span", { class: "day" }, `${dayText(localDate(event.at))}, ${timeText(event.at)}`),
        h("span", { class: "told" }, eventWords(event, record), whomText(event, names)),
        h(
          "span",
          { class: "mend" },
          small(`undo ${event.id}`, t("Undo"), () => void keep({ type: "undone", event: event.id })),
        ),
      ),
    );
    replaceKeepingFocus(slot(place, "happened"), ...lines.reverse());
  });
}

/** @param {string} key @param {string} label @param {() => void} onclick */
const small = (key, label, onclick) =>
  h("button", { type: "button", class: "quiet small", "data-key": key, onclick }, label);

/** @param {import("../records/event_types.js").RecallEvent} event @param {Map<string, string>} names */
function whomText(event, names) {
  if (event.type !== "told" || !event.buyer) return "";
  return `: ${whoText({ buyer: event.buyer, wanted: null, where: null, why: null }, names)}`;
}

/** @param {Found} found @returns {[string, string][]} */
function howFar({ recall, batches, holders }) {
  const sum = (/** @type {(candles: Batch["candles"]) => number} */ of) =>
    batches.reduce((total, { candles }) => total + of(candles), 0);
  const known = holders.filter(({ buyer }) => buyer !== null);
  const told = known.filter(({ buyer }) => recall.state.told.has(buyer ?? ""));
  /** @type {[string, string][]} */
  const facts = [
    [t("Stands"), recall.state.closed === null ? t("open") : t("closed")],
    [t("Candles made"), `**${sum(({ made }) => made)}**`],
    [t("Still out"), `**${sum(goneOut)}**`],
    [t("Came back"), `**${sum(({ came_back }) => came_back)}**`],
    [t("Here, and not for sale"), `**${sum(({ here }) => here)}**`],
    [t("Destroyed"), `**${sum(({ destroyed }) => destroyed)}**`],
    [t("Told"), t("{told} of {all} who are known", { told: told.length, all: known.length })],
  ];
  const untold = sum((candles) => candles.untold);
  if (untold > 0) facts.push([t("Nobody said where"), `**${untold}**`]);
  return facts;
}

/** @param {Holder} holder @param {Found} found @param {(event: NewRecallEvent) => Promise<boolean>} keep */
function holderLine(holder, found, keep) {
  const { recall, buyers, names } = found;
  const buyer = holder.buyer === null ? undefined : buyers.get(holder.buyer);
  const told = holder.buyer === null ? null : (recall.state.told.get(holder.buyer) ?? null);
  const isOpen = recall.state.closed === null;
  const codes = [...new Set(holder.of.flatMap(({ batch }) => batch.code ?? []))].join(", ");
  const days = [...new Set([holder.first_ms, holder.last_ms].map((at) => dayText(localDate(at))))].join(" – ");
  const who = whoText({ ...holder, wanted: wantedOf(holder.key), why: null }, names);
  const contact = [
    buyer?.mail && h("a", { class: "quiet small", href: mailTo(buyer, found) }, t("Mail the notice")),
    buyer?.telephone &&
      h(
        "a",
        { class: "quiet small", href: `tel:${String(buyer.telephone).replace(/[^+\d]/g, "")}` },
        String(buyer.telephone),
      ),
  ];
  const tell = () => void keep({ type: "told", ...(holder.buyer ? { buyer: holder.buyer } : { whom: who }) });
  const back = () => void takeBack(holder, recall, who);
  return h(
    "li",
    { class: "holder" },
    h("p", {}, h("b", {}, who), " ", told !== null && chip(t("told {day}", { day: dayText(localDate(told.at_ms)) }))),
    h(
      "p",
      { class: "line" },
      [
        plural(holder.n, "{n} candle", "{n} candles"),
        holder.came_back > 0 && plural(holder.came_back, "{n} came back", "{n} came back"),
        codes,
        days,
      ]
        .filter(Boolean)
        .join("; "),
    ),
    holder.buyer === null &&
      h("p", { class: "hint" }, t("Nobody is known by name there: put the notice where they look.")),
    h(
      "p",
      { class: "links" },
      ...contact,
      isOpen && told === null && small(`tell ${holder.key}`, t("I told them"), tell),
      isOpen && !recall.isRehearsal && holder.n > 0 && small(`back ${holder.key}`, t("Some came back"), back),
    ),
  );
}

/** @param {Fields} buyer @param {Found} found */
function mailTo(buyer, { recall, batches, holders, buyers, maker }) {
  const letter = letterOf(
    { batches, holders, places: placesOf(holders, buyers) },
    maker,
    recall.record,
    addressOf(buyer),
  );
  const parts = { subject: t("Product safety recall"), body: letter };
  const query = Object.entries(parts).map(([name, text]) => `${name}=${encodeURIComponent(text)}`);
  return `mailto:${encodeURIComponent(buyer.mail)}?${query.join("&")}`;
}

/** Some came back from who had them: of each batch as many as they have of it, in turn.
 * @param {Holder} holder @param {Recall} recall @param {string} who */
async function takeBack(holder, recall, who) {
  const n = await askInBox(t("How many came back from {who}?", { who }), "", (text) => wholeUpTo(text, holder.n));
  if (n === null) return;
  let left = n;
  await tryToKeep(async () => {
    const at = now();
    for (const { batch, n: had } of holder.of) {
      const some = Math.min(left, had);
      left -= some;
      if (some <= 0) continue;
      const from = { ...(holder.buyer && { buyer: holder.buyer }), recall: recall.record.id };
      await store.append("batch", batch.pour.id, { type: "returned", n: some, ...from, at });
    }
  });
}

/** What is done with those that are here. @param {Batch} batch @param {boolean} isOpen */
function hereLine({ pour, candles }, isOpen) {
  const destroy = async () => {
    const n = await askInBox(t("How many did you destroy?"), "", (text) => wholeUpTo(text, candles.here));
    if (n === null) return;
    await tryToKeep(async () => {
      let left = n;
      const at = now();
      for (const place of /** @type {const} */ (["returned", "aside", "shelf"])) {
        const some = Math.min(left, candles[place]);
        left -= some;
        if (some > 0) await store.append("batch", pour.id, { type: "destroyed", n: some, place, at });
      }
    });
  };
  const where = [
    candles.shelf > 0 && t("{n} on the shelf", { n: candles.shelf }),
    candles.aside > 0 && t("{n} set aside", { n: candles.aside }),
    candles.returned > 0 && t("{n} came back", { n: candles.returned }),
  ].filter((each) => each !== false);
  const held = isOpen ? t("Held back: they can't be sold here.") : "";
  return h(
    "p",
    { class: "links" },
    h("span", { class: "hint" }, [where.join(", "), held].filter(Boolean).join(". ")),
    small(`destroy ${pour.id}`, t("Some were destroyed"), () => void destroy()),
  );
}
