/** What a record was before, and what two devices wrote apart: one tap lets either stand. */

import { NAMED } from "../records/kinds.js";
import { clashes, plainRecord, standing, versions } from "../records/merge.js";
import { settle } from "../records/settle.js";
import { readStamp } from "../records/stamp.js";
import * as store from "../records/store.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { t } from "../words/door.js";
import { cloneTemplate, h, replaceKeepingFocus, slot } from "./dom.js";
import { fieldInWords, fieldNames, isBlank } from "./form_words.js";
import { aboutKind } from "./kinds.js";
import { tryToKeep } from "./screen.js";

/** @param {HTMLElement} place @param {string[]} path @param {import("./screen.js").Context} context */
export async function show(place, [kind, id], { units, go }) {
  place.append(cloneTemplate("screen-history"));
  const [names, kept] = await Promise.all([namesOf(), store.getStored(kind, id)]);
  if (kept === undefined || aboutKind(kind).one === undefined) {
    go("workshop");
    return;
  }
  const inWords = (/** @type {string} */ name, /** @type {unknown} */ value) =>
    fieldInWords(kind, name, value, units, (other, which) => names.get(`${other} ${which}`));
  const draw = (/** @type {import("../records/merge.js").Stored} */ record) => {
    const plain = plainRecord(record);
    slot(place, "name").textContent = plain.name ?? aboutKind(kind).many;
    slot(place, "back").href = plain.deleted ? `#/list/${kind}` : `#/edit/${kind}/${id}`;
    replaceKeepingFocus(slot(place, "apart"), ...apart(record, inWords, choose));
    slot(place, "versions").replaceChildren(...told(record, fieldNames(kind), inWords));
    const again = slot(place, "again");
    again.hidden = !plain.deleted;
    again.onclick = () => void keep(() => store.save(kind, id, { deleted: false }));
  };
  const redraw = async () => {
    const fresh = await store.getStored(kind, id);
    if (fresh) draw(fresh);
  };
  const keep = async (/** @type {() => Promise<void>} */ change) => {
    if (await tryToKeep(change)) await redraw();
  };
  const choose = (/** @type {string} */ name, /** @type {unknown} */ value) =>
    keep(() => settle(kind, id, name, value));
  draw(kept);
  return store.onChange((changes) => {
    if (changes.some((change) => change.id === id)) void redraw();
  });
}

/** What a record of another kind is called, for `fieldInWords`. */
export async function namesOf() {
  const all = await Promise.all(NAMED.map(store.all));
  return new Map(
    all.flat().map((record) => [`${record.kind} ${record.id}`, String(record.name ?? t("one without a name"))]),
  );
}

/** @typedef {(name: string, value: unknown) => {label: string, text: string}} InWords */

/** The values written apart, each beside the one that stands.
 * @param {import("../records/merge.js").Stored} record @param {InWords} inWords
 * @param {(name: string, value: unknown) => Promise<void>} choose */
function apart(record, inWords, choose) {
  const wordsOf = (/** @type {string} */ name, /** @type {unknown} */ value) => {
    if (name === "deleted") return value ? t("Deleted") : t("Not deleted");
    return inWords(name, value).text;
  };
  return Object.keys(record.fields).flatMap((name) => {
    const others = clashes(record.fields, name);
    if (others.length === 0) return [];
    const stands = standing(record.fields, name);
    const choice = (
      /** @type {import("../records/merge.js").Version} */ version,
      /** @type {string} */ label,
      /** @type {string} */ what,
    ) =>
      h(
        "div",
        { class: "card" },
        h(
          "span",
          { class: "what" },
          h("span", { class: "name" }, wordsOf(name, version.value)),
          h("span", { class: "line" }, what),
        ),
        h("button", { type: "button", class: "quiet", onclick: () => void choose(name, version.value) }, label),
      );
    return [
      h(
        "section",
        {},
        h("h2", {}, inWords(name, stands.value).label),
        h(
          "p",
          { class: "help" },
          name === "deleted"
            ? t(
                "One device deleted this, another one went on with it, without knowing of each other. The later one stands.",
              )
            : t("Two devices changed this without knowing of each other. The later change is used."),
        ),
        choice(stands, t("Keep this"), t("in use, {when}", { when: whenText(stands.stamp) })),
        ...others.map((other) =>
          choice(other, t("Use this"), t("the other one, {when}", { when: whenText(other.stamp) })),
        ),
      ),
    ];
  });
}

/** What was written when. @param {import("../records/merge.js").Stored} record @param {string[]} order @param {InWords} inWords */
function told(record, order, inWords) {
  return writings(record, order, inWords).map(({ when, lines }) =>
    h("li", {}, h("time", {}, when), ...lines.map(({ label, text }) => h("span", {}, `${label}: `, h("b", {}, text)))),
  );
}

/** What was written when, the newest first, as the form goes; a box left blank from the start is no news.
 * @param {import("../records/merge.js").Stored} record @param {string[]} order @param {InWords} inWords
 * @returns {{when: string, lines: {label: string, text: string}[]}[]} */
export function writings(record, order, inWords) {
  /** @type {Map<string, {label: string, text: string}[]>} */
  const byStamp = new Map();
  const fields = Object.entries(record.fields).sort(([one], [other]) => order.indexOf(one) - order.indexOf(other));
  for (const [name, field] of fields) {
    for (const { value, stamp, over } of versions(field)) {
      if (isBlank(value) && over === undefined) continue;
      byStamp.set(stamp, [...(byStamp.get(stamp) ?? []), inWords(name, value)]);
    }
  }
  const stamps = [...byStamp.keys()].sort().reverse();
  return stamps.map((stamp) => ({ when: whenText(stamp), lines: byStamp.get(stamp) ?? [] }));
}

/** @param {string} stamp */
function whenText(stamp) {
  const { ms } = readStamp(stamp);
  return ms === 0 ? t("from the start") : `${dayText(localDate(ms))}, ${timeText(ms)}`;
}
