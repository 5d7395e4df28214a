/** Building pages without markup in strings: nothing typed can become HTML. */

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

/** Put other children into a place; a keyboard stays where it was, or starts again at the heading.
 * @param {Element} place @param {...(Node | string)} children */
export function replaceKeepingFocus(place, ...children) {
  const stops = () =>
    /** @type {HTMLElement[]} */ ([...place.querySelectorAll("a, button, input, select, textarea, summary")]);
  const index = stops().indexOf(/** @type {HTMLElement} */ (document.activeElement));
  place.replaceChildren(...children);
  if (index < 0) return;
  const now = stops();
  const next = now[Math.min(index, now.length - 1)] ?? document.querySelector("#screen h1");
  next?.focus({ preventScroll: true });
}

/** A line of a list: small words over a name, and what matters on the right.
 * @param {{href: string, over?: string, name: string, right?: string, under?: string}} what */
export function card({ href, over, name, right, under }) {
  const whole = name.replaceAll(" × ", "\u00a0× ");
  return h(
    "a",
    { class: "card", href },
    h("span", { class: "what" }, over && h("span", { class: "over" }, over), h("span", { class: "name" }, whole)),
    h("span", { class: "value" }, right && h("b", {}, right), under && h("span", { class: "under" }, under)),
  );
}

/** Warnings and cautions. @param {Element} place @param {{level: string, text: string}[]} cautionsFor */
export function showCautions(place, cautionsFor) {
  place.replaceChildren(
    ...cautionsFor.map(({ level, text }) =>
      h("p", { class: `beware ${level}` }, h("b", {}, level === "warning" ? "Warning. " : "Caution. "), text),
    ),
  );
}

/** A pair for a list of facts. @param {string} name @param {string} value */
export function fact(name, value) {
  return h("div", {}, h("dt", {}, name), h("dd", {}, ...rich(value)));
}

/** A short word at the foot of the page that something is done or was not. @param {string} text */
export function showToast(text) {
  const place = /** @type {HTMLElement} */ (document.getElementById("said"));
  place.textContent = text;
  place.hidden = false;
  clearTimeout(Number(place.dataset.timer));
  place.dataset.timer = String(setTimeout(() => (place.hidden = true), 6000));
}

/** Hand a file to her. @param {File} file */
export function download(file) {
  const href = URL.createObjectURL(file);
  h("a", { href, download: file.name }).click();
  // Some browsers begin to read it only later.
  setTimeout(() => URL.revokeObjectURL(href), 60_000);
}
