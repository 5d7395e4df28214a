/** Opens the store, keeps the service worker, and shows the screen that the address names. */
import { screenAt } from "./addresses.js";
import { goBy } from "./bench/clock.js";
import { poursOnBench } from "./bench/pours.js";
import { session } from "./bench/session.js";
import { registerWorker } from "./offline.js";
import { keepExchanging, onSyncStatus, syncStatus } from "./records/exchange.js";
import { checkAtStart } from "./records/push.js";
import * as store from "./records/store.js";
import { h, yieldToMain } from "./screens/dom.js";
import { offline } from "./screens/offline_state.js";
import { context } from "./screens/screen.js";
import { showServerLine } from "./screens/server_state.js";
import { showStrip } from "./screens/strip.js";
import { speakIn, t, WordedError } from "./words/door.js";

/** A screen's files come within this (ms), or she is told that they don't. */
const LOAD_MS = 20_000;

/** So wide a window (px) has room for more than a phone. */
const WIDE = 1000;

class LoadError extends WordedError {}

const screen = () => /** @type {HTMLElement} */ (document.getElementById("screen"));
/** @type {() => void} */
const nothing = () => undefined;
let showing = 0;
let leave = nothing;
/** No screen comes before what stands above it, or it would jump. @type {Promise<void>} */
let above = Promise.resolve();

async function show() {
  const mine = (showing += 1);
  const { name, path, load } = screenAt(location.hash);
  try {
    const [module, given] = await Promise.all([loaded(load), context(), above]);
    await yieldToMain();
    if (mine !== showing) return;
    leave();
    leave = nothing;
    const place = h("div", { class: `screen ${name}` });
    const end = (await module.show(place, path, given)) ?? nothing;
    if (mine !== showing) {
      end();
      return;
    }
    leave = end;
    screen().replaceChildren(place);
    document.body.dataset.screen = name;
    document.body.toggleAttribute("data-board", place.querySelector(".board") !== null);
    markRoom(name, path[0]);
    session.tick();
    startAt(place.querySelector("h1"), mine > 1);
  } catch (error) {
    if (mine === showing) showTrouble(error);
  }
}

/** @param {() => Promise<import("./screens/screen.js").Screen>} load @throws {LoadError} a file of it can't be had */
async function loaded(load) {
  let timer = 0;
  try {
    return await Promise.race([
      load(),
      new Promise((_, reject) => (timer = setTimeout(() => reject(new Error("it takes too long")), LOAD_MS))),
    ]);
  } catch (error) {
    console.error(error);
    throw new LoadError("This screen could not be loaded. It comes when you have signal. What was saved is safe.");
  } finally {
    clearTimeout(timer);
  }
}

/** Where readers aloud and keyboards go on: a new screen's heading, which names the page too.
 * @param {HTMLElement | null} heading @param {boolean} moved another screen was there */
function startAt(heading, moved) {
  if (heading === null) return;
  document.title = t("{screen} · Pour bench", { screen: heading.textContent ?? "" });
  heading.tabIndex = -1;
  if (moved) heading.focus({ preventScroll: true });
}

/** @param {unknown} error */
function showTrouble(error) {
  const nowhere = error instanceof store.StoreError;
  const known = nowhere || error instanceof LoadError;
  const text = known ? error.message : t("Something went wrong on this screen. What was saved is safe.");
  if (!known) console.error(error);
  document.body.dataset.screen = "trouble";
  screen().replaceChildren(
    h(
      "main",
      { class: "trouble" },
      h("h1", {}, nowhere ? t("Nothing can be saved here") : t("That did not work")),
      h("p", { role: "alert" }, text),
      // A module that did not come is remembered as such by the page.
      h("button", { type: "button", class: "go", onclick: () => location.reload() }, t("Try again")),
      h("a", { class: "quiet", href: "#/today", onclick: () => location.reload() }, t("Today")),
    ),
  );
}

/** @param {string} name @param {string | undefined} kind */
function markRoom(name, kind) {
  /** Which rooms screens belong to, but for those of the workshop. @type {Record<string, string>} */
  const rooms = {
    today: "today",
    recipes: "recipes",
    log: "log",
    recipe: "recipes",
    plan: "recipes",
    entry: "log",
    back: "log",
    price: "log",
    net: "log",
    candle: "log",
    candles: "log",
    wanted: "today",
    shopping: "today",
    day: "today",
    trim: "today",
    burn: "today",
    pour: "today",
  };
  const ofRecipe = kind === "recipe" && ["edit", "list", "history"].includes(name);
  const room = ofRecipe ? "recipes" : kind === "pour" ? "log" : (rooms[name] ?? "workshop");
  for (const link of document.querySelectorAll("#rooms a")) {
    if (link.getAttribute("href") === `#/${room}`) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
}

/** Pictures, and how a wide window is used: the desk's, and can be done without. */
const bringBeside = () => import("./beside.js").then(({ ready }) => ready).catch(console.warn);

async function begin() {
  if (document.readyState === "loading") {
    await new Promise((resolve) => document.addEventListener("DOMContentLoaded", resolve, { once: true }));
  }
  // The pseudo-language, which developers find unworded and cut text by.
  if (document.documentElement.lang === "en-XA") {
    speakIn({ tag: "en-XA", translate: (await import("./words/pseudo.js")).translate });
  }
  void registerWorker({
    begun: () => begun,
    mayTakeOver: async () => session.items().length === 0 && (await poursOnBench().catch(() => [])).length === 0,
    onState: offline.set,
    onShow: (hash) => (location.hash = hash),
  });
  try {
    if ("demo" in document.body.dataset && (await store.count()) === 0) {
      await (await import("./screens/demo.js")).bringDemo();
    }
  } catch (error) {
    showTrouble(error);
    return;
  }
  above = showStrip();
  if (innerWidth >= WIDE) await bringBeside();
  window.addEventListener("hashchange", show);
  await show();
  showServerLine();
  onSyncStatus(() => goBy(syncStatus.offset_ms));
  await keepExchanging();
  await checkAtStart();
  await bringBeside();
}

const begun = begin().catch(showTrouble);
