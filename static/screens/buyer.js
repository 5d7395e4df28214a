/** A buyer: how to reach them, what they have, and their right to see what is kept of them and to be forgotten. */
import { eventWords } from "../bench/event_words.js";
import { erase, exported, KINDS_OF_BUYER, readBuyer } from "../shelf/read_buyer.js";
import { dayText, localDate } from "../words/dates.js";
import { t } from "../words/door.js";
import { card, cloneTemplate, download, h, replaceKeepingFocus, setText, showFacts, showToast, slot } from "./dom.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";

/** @typedef {import("../shelf/read_buyer.js").OfBuyer} OfBuyer */

/** @param {HTMLElement} place @param {string[]} path the id @param {import("./screen.js").Context} context */
export async function show(place, [id], { go }) {
  place.append(cloneTemplate("screen-buyer"));
  slot(place, "edit").href = `#/edit/buyer/${id}`;
  /** @type {OfBuyer} */
  let found;
  slot(place, "save").addEventListener("click", () => {
    const text = JSON.stringify(exported(found), null, 2);
    download(new File([text], `${t("buyer")}-${localDate(Date.now())}.json`, { type: "application/json" }));
  });
  const button = slot(place, "erase");
  button.addEventListener("click", async () => {
    if (button.dataset.sure !== "yes") {
      button.dataset.sure = "yes";
      setText(button, t("Really erase all that is known of them?"));
      return;
    }
    if (!(await tryToKeep(() => erase(id)))) return;
    showToast(t("They are forgotten here, and on your other devices once they have heard of it."));
    go("list/buyer");
  });

  return drawOnChange(ofKinds(...KINDS_OF_BUYER), async () => {
    const read = await readBuyer(id);
    if (read === null) {
      go("list/buyer");
      return;
    }
    found = read;
    const { record, got, complaints } = found;
    setText(slot(place, "name"), String(record.name ?? ""));
    showFacts(slot(place, "facts"), factsOf(found));
    slot(place, "none").hidden = got.length > 0;
    const lines = got.map(({ event, title, code }) =>
      h(
        "li",
        {},
        h("span", { class: "day" }, dayText(localDate(event.at))),
        h(
          "span",
          { class: "told" },
          [eventWords(event, {}), "n" in event && String(event.n), title].filter(Boolean).join(", "),
        ),
        h("span", { class: "mend" }, code !== null && h("a", { class: "quiet small", href: `#/candle/${code}` }, code)),
      ),
    );
    replaceKeepingFocus(slot(place, "got"), ...lines);
    slot(place, "complained").hidden = complaints.length === 0;
    const cards = complaints.map((each) => card({ href: `#/complaint/${each.id}`, name: String(each.name ?? "") }));
    replaceKeepingFocus(slot(place, "complaints"), ...cards);
  });
}

/** @param {OfBuyer} found @returns {[string, string][]} */
function factsOf({ record, got }) {
  const count = (/** @type {string[]} */ types) =>
    got.reduce((sum, { event }) => (types.includes(event.type) && "n" in event ? sum + event.n : sum), 0);
  const came_back = count(["returned"]);
  /** @type {[string, string][]} */
  const facts = [[t("They have"), `**${Math.max(0, count(["sold", "given"]) - came_back)}**`]];
  if (came_back > 0) facts.push([t("Came back"), String(came_back)]);
  /** @type {[string, unknown][]} */
  const reach = [
    [t("Mail"), record.mail],
    [t("Telephone"), record.telephone],
    [t("Address"), record.address],
    [t("Notes"), record.notes],
  ];
  return [
    ...facts,
    ...reach.flatMap(([name, value]) => (value ? [/** @type {[string, string]} */ ([name, String(value)])] : [])),
  ];
}
