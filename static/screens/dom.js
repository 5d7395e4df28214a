/** Building pages without markup in strings: nothing typed can become HTML. */

import { plural, t } from "../words/door.js";

/** @typedef {Node | string | null | false | undefined} Child */

/** An element. @param {string} tag @param {Record<string, any>} [attributes] `on` + event name adds a listener
 * @param {...Child} children @returns {HTMLElement} */
export function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (typeof value === "function") element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children) if (child !== null && child !== undefined && child !== false) element.append(child);
  return element;
}

/** Text in which **…** stands out. @param {string} text @returns {(Node | string)[]} */
export function rich(text) {
  return text.split("**").map((part, index) => (index % 2 ? h("b", {}, part) : part));
}

/** A copy of a screen's or form's template. @param {string} id @returns {DocumentFragment} */
export function cloneTemplate(id) {
  const template = document.getElementById(id);
  if (!(template instanceof HTMLTemplateElement)) throw new Error(`no template ${id}`);
  return /** @type {DocumentFragment} */ (template.content.cloneNode(true));
}

/** The element that a template keeps a place for. @param {ParentNode} root @param {string} name @returns {any} */
export function slot(root, name) {
  const found = root.querySelector(`[data-slot="${name}"]`);
  if (found === null) throw new Error(`no slot ${name}`);
  return found;
}

/** Let a tap or a paint come between two long pieces of work. @returns {Promise<void>} */
export async function yieldToMain() {
  await /** @type {any} */ (globalThis).scheduler?.yield?.();
}

/** Set an element's text only where it changes, so that readers aloud stay quiet. @param {Element} element @param {string} text */
export function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/**
 * Put other children into a place. A keyboard stays where it was: at the same link or key, else as far down,
 * else it starts again at the heading. What is in sight stays where it is.
 * @param {Element} place @param {...(Node | string)} children
 */
export function replaceKeepingFocus(place, ...children) {
  const stops = () =>
    /** @type {HTMLElement[]} */ ([...place.querySelectorAll("a, button, input, select, textarea, summary")]);
  const before = stops();
  const index = before.indexOf(/** @type {HTMLElement} */ (document.activeElement));
  const key = index < 0 ? null : keyOf(before[index]);
  const scroller = place.closest(".screen");
  // As long as nothing was scrolled, what comes above pushes down what is below, and that is right.
  const topmost = scroller?.scrollTop
    ? before.find((each) => each.getBoundingClientRect().bottom > topOf(scroller))
    : undefined;
  const top = topmost ? topOf(topmost) : 0;
  place.replaceChildren(...children);
  const now = stops();
  const same = topmost && only(now, keyOf(topmost));
  if (scroller && same) scroller.scrollTop += topOf(same) - top;
  if (index < 0) return;
  const heading = /** @type {HTMLElement | null} */ (document.querySelector("#screen h1"));
  const next = only(now, key) ?? now[Math.min(index, now.length - 1)] ?? heading;
  next?.focus({ preventScroll: true });
}

/** What a link or button is known by when it is drawn anew. @param {HTMLElement} stop */
const keyOf = (stop) => stop.dataset.key ?? stop.getAttribute("href");

/** The one of that key, if there is just one. @param {HTMLElement[]} stops @param {string | null} key */
function only(stops, key) {
  const found = key === null ? [] : stops.filter((each) => keyOf(each) === key);
  return found.length === 1 ? found[0] : undefined;
}

/** @param {Element} element */
const topOf = (element) => element.getBoundingClientRect().top;

/**
 * A line of a list: a picture, the name, one line of what matters; on the right what counts; below it, what runs.
 * @param {{href: string, of?: Record<string, any>, name: string, line?: string, chip?: Node | string | false, right?: string, under?: string,
 *   below?: Node}} what
 */
export function card({ href, of, name, line, chip: state, right, under, below }) {
  return h(
    "a",
    { class: "card", href },
    of && look(of),
    h(
      "span",
      { class: "what" },
      // Read aloud, they are apart.
      h("span", { class: "name" }, name, line && h("i", {}, ", ")),
      line && h("span", { class: "line" }, line),
      state,
    ),
    (right || under) &&
      h("span", { class: "value" }, right && h("b", {}, right), under && h("span", { class: "under" }, under)),
    below,
  );
}

/** Room for the picture of a recipe or a pour, which comes with the desk.
 * @param {Record<string, any>} of a recipe or a sheet: they name their vessel and oils each in its way */
export function look({ vessel, oils = [] }) {
  const ids = oils.map((/** @type {Record<string, string>} */ { id, fragrance }) => fragrance ?? id);
  return h("bench-look", { vessel: vessel?.id ?? vessel, scents: ids.join(" ") });
}

/** A state, in a word or two. @param {string} text @param {string} [tone] 'past', or 'now' for what can be done */
export const chip = (text, tone = "") => h("span", { class: `chip ${tone}` }, text);

/** How far a cure is, in days; words say it too. @typedef {{days: number, whole: number}} Cure */

/** @param {Cure} cure */
export const cureBar = ({ days, whole }) => h("progress", { value: days, max: whole, "aria-hidden": "true" });

/** Warnings and cautions. @template {Element} T @param {T} place @param {{level: string, text: string}[]} cautions
 * @param {HTMLElement} [heed] a button that says how many there are, wherever she has scrolled to, and leads to them
 * @returns {T} */
export function showCautions(place, cautions, heed) {
  if (heed) {
    const hurts = cautions.filter(({ level }) => level !== "warning").length;
    const fails = cautions.length - hurts;
    heed.hidden = cautions.length === 0;
    heed.onclick = () => place.scrollIntoView();
    heed.replaceChildren(
      h("span", { class: "hurts", hidden: hurts === 0 }, plural(hurts, "{n} caution", "{n} cautions")),
      h("span", { class: "fails", hidden: fails === 0 }, plural(fails, "{n} thing to check", "{n} things to check")),
    );
  }
  place.replaceChildren(
    ...cautions.map(({ level, text }) =>
      h(
        "p",
        { class: `beware ${level}` },
        h("b", {}, level === "warning" ? t("Check this.") : t("Caution."), " "),
        text,
      ),
    ),
  );
  return place;
}

/** A pair for a list of facts. @param {string} name @param {string} value `**` around what stands out */
export function fact(name, value) {
  return h("div", {}, h("dt", {}, name), h("dd", {}, ...rich(value)));
}

/** @template {Element} T @param {T} place @param {[name: string, value: string][]} facts @returns {T} */
export function showFacts(place, facts) {
  place.replaceChildren(...facts.map(([name, value]) => fact(name, value)));
  return place;
}

const toast = () => /** @type {HTMLElement} */ (document.getElementById("said"));
let toastTimer = 0;

/** So long (ms) what is said takes to be read, and so long it stays from then on if nothing is touched. */
const [READ_MS, STAYS_MS] = [1500, 4500];

function hideToast() {
  toast().hidden = true;
  clearTimeout(toastTimer);
  removeEventListener("pointerdown", hideToast);
}

/** A short word at the foot of the page that something is done or was not. Once it can be read, it goes with her next
 * touch, which may be for what it lies upon. @param {string} text */
export function showToast(text) {
  hideToast();
  toast().textContent = text;
  toast().hidden = false;
  toastTimer = setTimeout(() => {
    addEventListener("pointerdown", hideToast);
    toastTimer = setTimeout(hideToast, STAYS_MS);
  }, READ_MS);
}

/** Hand a file to her. @param {File} file */
export function download(file) {
  const href = URL.createObjectURL(file);
  h("a", { href, download: file.name }).click();
  // Some browsers begin to read it only later.
  setTimeout(() => URL.revokeObjectURL(href), 60_000);
}
