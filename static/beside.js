/**
 * What every screen has of the desk: pictures, what the shelf adds, and in a wide window its style sheets and a list
 * beside what is opened out of it. Loading it begins it.
 */

import { screenAt } from "./addresses.js";
import { openDesk } from "./desk.js";
import { h } from "./screens/dom.js";
import "./screens/pictures.js";
import { context } from "./screens/screen.js";
import { isKept, isMuchOpen, oneAtATime, onKept } from "./screens/shelf_watch.js";

/** Which list stands beside a screen, by its address; none by ''. @param {string} name @param {string[]} path */
function listBeside(name, [kind]) {
  if (name === "recipe" || name === "plan") return "recipes";
  if (name === "buyer") return "list/buyer";
  if (["entry", "price", "net", "candles"].includes(name)) return "log";
  if (name === "wanted" && kind) return "wanted";
  if (name === "hazard" && kind) return "hazard";
  if (name === "label" || name === "made_label") return "labels";
  if (name === "test" || name === "scent") return "tests";
  if (name === "product" || name === "risk") return "products";
  if (name === "complaint") return "complaints";
  if ((name !== "edit" && name !== "history") || kind === "workshop") return "";
  return kind === "recipe" ? "recipes" : `list/${kind}`;
}

const screen = /** @type {HTMLElement} */ (document.getElementById("screen"));
const place = h("aside", { id: "beside" });
const room = matchMedia("(min-width: 1200px)");
let shown = "";
/** @type {(() => void) | void} */
let leave;

/** Show the list of the screen that is there now, or none; one that stands there already stays as it was scrolled. */
async function follow() {
  const { name, path } = screenAt(location.hash);
  const list = room.matches ? listBeside(name, path) : "";
  if (list === shown) {
    mark();
    return;
  }
  shown = list;
  leave?.();
  leave = undefined;
  place.remove();
  document.body.removeAttribute("data-beside");
  if (list === "") return;
  const of = screenAt(`#/${list}`);
  const drawn = h("div", { class: `screen ${of.name}` });
  const [module, given] = await Promise.all([of.load(), context()]);
  const end = await module.show(drawn, of.path, given);
  if (list !== shown) {
    end?.();
    return;
  }
  leave = end;
  // There is one main part of a page, one heading, and one way back.
  for (const main of drawn.querySelectorAll("main")) main.replaceWith(h("div", { class: "main" }, ...main.childNodes));
  for (const head of drawn.querySelectorAll("h1")) {
    const text = head.textContent ?? "";
    place.setAttribute("aria-label", text);
    head.parentElement?.replaceWith(h("div", { class: "top" }, h("h2", { "data-slot": head.dataset.slot }, text)));
  }
  place.replaceChildren(drawn);
  screen.after(place);
  document.body.dataset.beside = "";
  mark();
}

/** Which of them is open. */
function mark() {
  const here = location.hash.split("/");
  for (const link of place.querySelectorAll("a.card")) {
    if (here.includes(link.getAttribute("href")?.split("/").pop() ?? "")) link.setAttribute("aria-current", "true");
    else link.removeAttribute("aria-current");
  }
}

const wide = matchMedia("(min-width: 1000px)");
const widen = async () => {
  if (wide.matches) await openDesk();
};
wide.onchange = () => void widen().catch(console.error);

/** What shelf and burn tests add to screens of the bench: the places that they keep for it, of which kinds something must be kept,
 * and what fills them. */
const PARTS = [
  { places: "bench-wanted", kinds: ["wanted", "lot"], bring: bringToday },
  { places: "bench-lots, bench-bag", kinds: ["lot"], bring: bringParts },
  { places: "bench-tested", kinds: ["recipe"], bring: bringTested },
];

const fill = oneAtATime(async () => {
  for (const part of [...PARTS]) {
    if (!screen.querySelector(part.places) || !(await isKept(part.kinds))) continue;
    try {
      await part.bring();
      PARTS.splice(PARTS.indexOf(part), 1);
    } catch (error) {
      // It is tried again with the next screen.
      console.warn(error);
    }
  }
});

/** What is wanted, and what the shelf asks for, on Today. */
async function bringToday() {
  const { TodayWanted } = await import("./screens/today_wanted.js");
  customElements.define("bench-wanted", TodayWanted);
}

/** Which lots a plan and a weighing take from. */
async function bringParts() {
  await openDesk();
  await import("./screens/shelf_parts.js");
}

/** Whether what is planned was tested. */
async function bringTested() {
  const { PlanTested } = await import("./screens/plan_tested.js");
  customElements.define("bench-tested", PlanTested);
}

/** Where there is much of it, once all else stands. */
async function tidyUp() {
  if (!(await isMuchOpen())) return;
  const [{ tidy }, { testTold }] = await Promise.all([import("./shelf/tidy.js"), import("./burns/tests.js")]);
  const now = Date.now();
  const pause = () => new Promise((resolve) => setTimeout(resolve));
  await tidy(now, new Date(now).toISOString().slice(0, 10), pause, new Map([["burn_test", testTold]]));
  // Much of it came from elsewhere: it is found at once when she looks for it.
  const { behind, catchUp } = await import("./find/index.js");
  await catchUp(await behind(), pause);
}

/** Burn tests lie on the bench too, once there is one. */
const followBurns = oneAtATime(async () => {
  if (!(await isKept(["burn_test"]))) return;
  await openDesk();
  await import("./screens/burn_station.js");
});

/** Photos and papers go to the server, once there are some. */
const followAttachments = oneAtATime(async () => {
  if (sends || !(await isKept(["attachment"]))) return;
  const { keepSending } = await import("./attachments/sending.js");
  sends = true;
  keepSending();
});
let sends = false;

/** When the tops are looked at, they can be photographed. */
async function addTops() {
  const { name, path } = screenAt(location.hash);
  const main = screen.querySelector(".screen.trim main");
  if (name !== "trim" || main === null || main.querySelector("bench-attachments")) return;
  await openDesk();
  const { addAttachments } = await import("./screens/attachments.js");
  if (main.isConnected && !main.querySelector("bench-attachments")) addAttachments(main, "pour", path[0], "top");
}

async function begin() {
  await widen();
  new MutationObserver(() => {
    void follow().catch(console.error);
    fill();
    void addTops().catch(console.error);
  }).observe(screen, { childList: true });
  new MutationObserver(mark).observe(place, { childList: true, subtree: true });
  onKept(["lot", "wanted"], fill);
  fill();
  onKept(["burn_test"], followBurns);
  followBurns();
  onKept(["attachment"], followAttachments);
  followAttachments();
  void addTops().catch(console.error);
  void tidyUp().catch(console.error);
  room.onchange = () => void follow().catch(console.error);
  await follow();
}

/** Resolves when all of it stands. */
export const ready = begin();
