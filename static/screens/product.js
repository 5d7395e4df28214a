/** One product: what stands in its file, what is missing, its risks and its complaints; and the file itself. */

import { phoneNow } from "../bench/clock.js";
import { keptUntil } from "../products/kept_for.js";
import { answerOf, partsOf } from "../products/parts.js";
import { RULES } from "../products/rules.js";
import { NoSignal, ServerError } from "../records/exchange.js";
import * as store from "../records/store.js";
import { localDate } from "../words/dates.js";
import { plural, t, worded } from "../words/door.js";
import { wholeDayText } from "../words/whole_days.js";
import { showAttachments } from "./attachments.js";
import { complaintCard } from "./complaints.js";
import { minorText } from "./cost_words.js";
import { card, chip, cloneTemplate, download, h, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { fileOf } from "./product_file.js";
import { FILED_BY, holdsOf, questions, readFiles, readProduct } from "./product_sources.js";
import { answerText, dayOrNone, partText, told } from "./product_words.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { statusText } from "./test_words.js";

/** @typedef {import("../products/parts.js").Part} Part */
/** @typedef {import("./product_sources.js").Sources} Sources */

/** @param {HTMLElement} place @param {string[]} path @param {import("./screen.js").Context} context */
export async function show(place, [id], { units, go }) {
  place.append(cloneTemplate("screen-product"));
  slot(place, "edit").href = `#/edit/product/${id}`;
  slot(place, "complain").href = `#/edit/complaint/new/product/${id}`;
  showAttachments(place, id);
  slot(place, "rules").replaceChildren(
    ...RULES.map(({ says, article, status }) => {
      const known = h("span", { class: "help" }, h("span", { lang: "en" }, article), ` (${statusText({ status })}).`);
      return h("li", {}, worded(says), " ", known);
    }),
  );
  /** @type {Sources} */
  let sources;

  const say = (/** @type {string} */ text) => {
    setText(slot(place, "problem"), text);
    slot(place, "problem").hidden = text === "";
  };

  /** @param {"pdf" | "zip"} want */
  const make = async (want) => {
    say("");
    const buttons = [slot(place, "pdf"), slot(place, "file")];
    for (const button of buttons) button.disabled = true;
    place.setAttribute("aria-busy", "true");
    setText(slot(place, "busy"), t("The desk is making the file. That may take a while."));
    slot(place, "busy").hidden = false;
    try {
      download(await fileOf(sources, units, want));
    } catch (error) {
      if (error instanceof NoSignal)
        say(t("{why} The desk makes the file: try again when it answers.", { why: error.message }));
      else if (error instanceof ServerError) say(error.message);
      else throw error;
    } finally {
      slot(place, "busy").hidden = true;
      for (const button of buttons) button.disabled = false;
      place.removeAttribute("aria-busy");
    }
  };
  slot(place, "file").addEventListener("click", () => make("zip"));
  slot(place, "pdf").addEventListener("click", () => make("pdf"));

  return drawOnChange(ofKinds(...FILED_BY, "prices"), async () => {
    const found = await readProduct(id);
    if (found === null) {
      go("products");
      return;
    }
    sources = found;
    const { product, recipe, complaints } = sources;
    setText(slot(place, "name"), product.name ?? "");
    const gone = product.deleted
      ? [h("p", { class: "beware notice" }, t("This product was deleted: you find it at the end of the products."))]
      : [];
    slot(place, "gone").replaceChildren(...gone);
    const prices = await store.get("prices", "prices");
    showFacts(slot(place, "facts"), factsOf(sources, prices?.currency));
    drawParts(place, partsOf(holdsOf(sources)));
    replaceKeepingFocus(slot(place, "risks"), ...questions().map((question) => riskCard(product, question)));
    const cards = complaints.map(complaintCard);
    const none = h("p", { class: "hint" }, t("There is none."));
    replaceKeepingFocus(slot(place, "complaints"), ...(cards.length > 0 ? cards : [none]));
    setText(slot(place, "kept"), await keptText(id));
    slot(place, "file").disabled = slot(place, "pdf").disabled = recipe === null;
  });
}

/** @param {Sources} sources @param {string | undefined} currency */
function factsOf({ product, recipe, label, pours }, currency) {
  return told([
    [t("What it is"), product.says],
    [t("Recipe"), recipe?.name],
    [t("Label"), label?.name],
    [t("Price"), Number.isFinite(product.price) && minorText(product.price, currency)],
    [t("Sold since"), dayOrNone(product.sold_from)],
    [t("No longer sold since"), dayOrNone(product.stopped_on)],
    [t("Batches"), pours.length > 0 && String(pours.length)],
  ]);
}

/** @param {HTMLElement} place @param {Part[]} parts */
function drawParts(place, parts) {
  const lacking = parts.reduce((sum, { lacks }) => sum + lacks.length, 0);
  const nothing = t(
    "Nothing is missing of what the bench asks for. Whether that is all that the law asks, it can't say: see below which of the rules were not read.",
  );
  const said = plural(
    lacking,
    "{n} thing is missing for it to be complete. The file can be made all the same, and says so.",
    "{n} things are missing for it to be complete. The file can be made all the same, and says so.",
  );
  setText(slot(place, "said"), lacking === 0 ? nothing : said);
  const open = new Set(
    [.../** @type {NodeListOf<HTMLDetailsElement>} */ (place.querySelectorAll(".part[open]"))].map(
      ({ dataset }) => dataset.key,
    ),
  );
  const drawn = parts.map(({ key, state, lacks }) => {
    const name = h("b", {}, partText(key));
    if (state === "there") return h("div", { class: "part" }, h("p", {}, name, chip(t("there"))));
    const says =
      state === "older" ? t("older") : plural(lacks.length, "{n} thing is missing", "{n} things are missing");
    const lines = lacks.map(({ text, href }) => h("li", {}, h("a", { href }, worded(text))));
    return h(
      "details",
      { class: "part", "data-key": key, open: open.has(key) },
      h("summary", { "data-key": `part ${key}` }, name, chip(says, "past")),
      h("ul", {}, ...lines),
    );
  });
  replaceKeepingFocus(slot(place, "parts"), ...drawn);
}

/** @param {Record<string, any>} product @param {import("./product_sources.js").Question} question */
function riskCard(product, { key, field, asks }) {
  const answer = answerOf(product[field]);
  return card({
    ...{ href: `#/risk/${product.id}/${key}`, name: asks },
    line: answer === "yes" ? product[field].done : answer === "no" ? product[field].why : "",
    chip: chip(answerText(answer), answer === "open" ? "now" : ""),
  });
}

/** Until when it is kept. @param {string} id */
async function keptText(id) {
  const [file] = await readFiles(id);
  const until = file && keptUntil(file);
  if (!until) return t("What belongs to it is kept for ten years after the last of it was sold.");
  return until < localDate(phoneNow())
    ? t("It was to be kept until {day}.", { day: wholeDayText(until) })
    : t("What belongs to it is kept until {day}: whoever deletes something of it is asked why.", {
        day: wholeDayText(until),
      });
}
