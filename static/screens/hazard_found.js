/** A hazard finding on the page: what is undecided, what was found and why, and what the label then says. */
import { loadChart, rangeText, stepText } from "../hazards/load_chart.js";
import { pictogramText } from "../hazards/pictograms.js";
import { listed, t, worded } from "../words/door.js";
import { h } from "./dom.js";

/** @typedef {import("../words/door.js").Message} Message */
/** @typedef {Record<string, any>} Found as `benchapp/desk/hazard.py` makes it */

/** All of a finding. @param {Found} found @returns {HTMLElement[]} */
export function foundSections(found) {
  return [
    ...undecided(found),
    classes(found),
    ...label(found),
    ...overLoad(found),
    ...lower(found),
    ...ready(found),
    ...sentences(t("Look at this"), found.cautions),
    ...sentences(t("To be answered before you sell it"), found.questions),
    ...folded(t("What is in the candle"), [composition(found)]),
    ...folded(t("What was reckoned and not reached"), [list(found.not_reached.map(worded))]),
  ];
}

/** What the load of a finding is a share of. @param {Found} found */
export function loadText({ load: { now_text: load, basis } }) {
  return basis === "total" ? t("{load} % of wax and fragrance", { load }) : t("{load} % of the wax", { load });
}

/** Findings that a later one has replaced, a line each. @param {string[]} lines */
export function earlierSection(lines) {
  return folded(t("Worked out before"), [list(lines)]);
}

/** In a few words what was found. @param {Found} found */
export function foundInShort({ classes, undecided, euh208 }) {
  const names = classes.map((/** @type {{called: Message}} */ { called }) => worded(called));
  return [
    names.length > 0 ? listed(names) : t("no class is reached by what could be decided"),
    euh208.length > 0 && "EUH208",
    undecided.length > 0 && t("something is undecided"),
  ]
    .filter(Boolean)
    .join("; ");
}

/** @param {string} heading @param {...(Node | false)} content */
const section = (heading, ...content) => h("section", {}, h("h2", {}, heading), ...content);

/** @param {(string | Node)[]} items @param {string} [kind] */
const list = (items, kind = "") => h("ul", { class: `told ${kind}`.trim() }, ...items.map((each) => h("li", {}, each)));

/** @param {string} heading @param {Message[]} said */
function sentences(heading, said) {
  return said.length > 0 ? [section(heading, list(said.map(worded)))] : [];
}

/** @param {string} heading @param {Node[]} content */
function folded(heading, content) {
  const isEmpty = content.every((each) => each instanceof Element && each.childElementCount === 0);
  return isEmpty ? [] : [h("details", { class: "folded" }, h("summary", {}, heading), ...content)];
}

/** @param {Found} found */
function undecided({ undecided: open }) {
  if (open.length === 0) return [];
  /** @type {{of: Message | null, because: Message, decided_by: Message}[]} */
  const all = open;
  return [
    section(
      t("Undecided"),
      ...all.map(({ of, because, decided_by }) =>
        h(
          "div",
          { class: "beware notice open" },
          of && h("b", {}, worded(of), " "),
          worded(because),
          h("p", { class: "decides" }, t("What decides it: {what}", { what: decided_by })),
        ),
      ),
    ),
  ];
}

/** @param {Found} found */
function classes({ classes: decided, edition }) {
  /** @type {{called: Message, because: Message}[]} */
  const all = decided;
  const rows = all.flatMap(({ called, because }) => [h("h3", {}, worded(called)), h("p", {}, worded(because))]);
  const none = h("p", {}, t("What could be decided reaches no limit of a class."));
  return section(
    t("Class"),
    ...(rows.length > 0 ? rows : [none]),
    h("p", { class: "help" }, t("By {edition}.", { edition })),
  );
}

/** A pictogram as the desk drew it, never as markup of the page; its words where there is no picture.
 * @param {string} code @param {string | undefined} drawn SVG */
function pictogram(code, drawn) {
  const alt = pictogramText(code);
  if (drawn === undefined) return h("span", {}, alt);
  return h("img", { class: "pictogram", src: `data:image/svg+xml,${encodeURIComponent(drawn)}`, alt });
}

/** @param {Found} found */
function label(found) {
  const { signal_word, pictograms, pictures = {}, h: hazards, p, names, euh208, texts, dropped, named_because } = found;
  if (found.classes.length === 0 && euh208.length === 0) return [];
  const statement = (/** @type {string} */ code) =>
    h("span", {}, h("b", {}, code), " ", texts[code] ?? t("Its text is not kept here."));
  /** @type {{code: string, because: Message}[]} */
  const left = dropped;
  const content = [
    pictograms.length > 0 &&
      h(
        "p",
        { class: "pictograms" },
        ...pictograms.map((/** @type {string} */ code) => pictogram(code, pictures[code])),
      ),
    h(
      "p",
      {},
      signal_word
        ? h("span", {}, t("Signal word:"), " ", h("b", {}, signal_word))
        : t("What is decided asks for no signal word."),
    ),
    names.length > 0 && h("p", {}, t("Substances to be named: {names}.", { names: listed(names) })),
    euh208.length > 0 &&
      h("p", {}, statement("EUH208"), " ", t("The names in it: {names}.", { names: listed(euh208) })),
    hazards.length > 0 && list(hazards.map(statement)),
    p.length > 0 && list(p.map(statement)),
  ];
  return [
    section(t("For the label"), ...content),
    ...folded(t("What does not stand on it, and why"), [
      list(left.map(({ code, because }) => h("span", {}, h("b", {}, code), " ", worded(because)))),
    ]),
    ...folded(t("Why substances are named"), [list(named_because.map(worded))]),
  ];
}

/** @param {Found} found */
function overLoad({ load }) {
  /** @type {import("../hazards/load_chart.js").Load} */
  const { steps, said } = load;
  if (steps.length === 0) return [];
  return [
    section(
      t("Over the load"),
      ...said.map((each) => h("p", { class: "settles" }, worded(each))),
      h("figure", {}, loadChart(load)),
      list(steps.map((step) => h("span", {}, h("b", {}, rangeText(step)), ": ", stepText(step)))),
    ),
  ];
}

/** @param {Found} found */
function lower({ lower: least }) {
  if (!least) return [];
  if (!least.differs)
    return [
      section(t("The ranges on the sheets"), h("p", {}, t("They do not matter: their lower ends come to the same."))),
    ];
  const names = least.classes.map(worded);
  const text = t("They matter, and their upper ends decided. At the lower ends: {classes}.", {
    classes:
      [...names, ...least.pictograms, least.euh208.length > 0 && "EUH208"].filter(Boolean).join("; ") ||
      t("no class reached"),
  });
  return [section(t("The ranges on the sheets"), h("p", {}, text))];
}

/** @param {Found} found */
function ready({ ready: own }) {
  if (own.length === 0) return [];
  /** @type {{material: string, text: string, at: string | null, of: string}[]} */
  const all = own;
  return [
    section(
      t("What suppliers say of a candle themselves"),
      ...all.map(({ material, text, at, of }) => {
        const where =
          at === null
            ? material
            : of === "total"
              ? t("{material}, at {at} % of wax and fragrance", { material, at })
              : t("{material}, at {at} % of the wax", { material, at });
        return h("p", {}, h("b", {}, where), ": ", text);
      }),
      h("p", { class: "help" }, t("It is not mixed with what is worked out here.")),
    ),
  ];
}

/** @param {Found} found */
function composition({ composition: rows }) {
  const share = (/** @type {string} */ low, /** @type {string} */ high) =>
    low === high ? t("{share} %", { share: high }) : t("{low} to {high} %", { low, high });
  return h(
    "ul",
    { class: "told" },
    ...rows.map((/** @type {Record<string, any>} */ { name, cas, low, high, from, classes: told }) =>
      h(
        "li",
        {},
        h("b", {}, name),
        cas && ` (${cas})`,
        `, ${share(low, high)}: ${worded(told)}. `,
        h("span", { class: "help" }, t("From {materials}.", { materials: listed(from) })),
      ),
    ),
  );
}
