/** One box that finds all that is kept; with nothing typed, every pour by months, the newest first. */

import { phoneNow } from "../bench/clock.js";
import { monthNames, termsOf } from "../find/asking.js";
import { addressOf, askedIn, isFiltered, NOTHING } from "../find/filters.js";
import { AllFound } from "../find/found.js";
import { all, apart, atHand, behind, catchUp, newest, onFound } from "../find/index.js";
import { codeProblem, isWholeCode, search } from "../find/searching.js";
import { localDate } from "../words/dates.js";
import { locale, t } from "../words/door.js";
import { cloneTemplate, replaceKeepingFocus, setText, slot, yieldToMain } from "./dom.js";
import { growingList } from "./growing_list.js";
import { filterBoxes } from "./log_filters.js";
import { byMonths, candleOf, hitLine } from "./log_lines.js";
import { countText, isAsked, isSearched, leftText, nothingText, unreadText } from "./log_words.js";
import { leadOn } from "./onboarding.js";
import { scanButton } from "./scan_button.js";
import { onSlash } from "./slash.js";

/** @typedef {import("../find/searching.js").Hit} Hit */
/** @typedef {import("../find/filters.js").Asked} Asked */

/** So many pours are shown before all the rest is read. */
const NEWEST = 30;

/** So many that are to be read anew are waited for before anything is shown. */
const FEW = 50;

/** She has stopped typing when no other key came for so long (ms): the address is kept then. */
const STOPPED_MS = 300;

/** Such words are looked for before she types any. */
const WARMING = ["a", "me", "1.5", "an e"];

/** While more are read, the list is drawn anew every so many. */
const OFTEN = 500;

/** @param {HTMLElement} place @param {string[]} path what is asked: `askedIn` @param {import("./screen.js").Context} context */
export async function show(place, path, { go }) {
  place.append(cloneTemplate("screen-log"));
  const box = /** @type {HTMLInputElement} */ (slot(place, "box"));
  const months = monthNames(locale());
  let asked = askedIn(path);
  box.value = asked.words;
  let found = new AllFound();
  let isWhole = false;
  /** still to be read */
  let left = 0;

  /** What was drawn of entries, for the next key. @type {WeakMap<import("../find/found.js").Found, HTMLElement>} */
  let lines = new WeakMap();

  const today = () => localDate(phoneNow());
  const list = growingList(slot(place, "cards"), slot(place, "more"), (/** @type {Hit[]} */ hits, before) => {
    if (!isSearched(asked)) return byMonths(hits, before, today());
    const terms = termsOf(asked.words, months);
    return hits.map((hit) => {
      const isAlike = !hit.byNote && !hit.byCode;
      const line = (isAlike && lines.get(hit.entry)) || hitLine(hit, terms, found.byId, today());
      if (isAlike) lines.set(hit.entry, line);
      return line;
    });
  });

  /** @type {Hit[]} */
  let hits = [];
  /** @param {"begin" | "again"} how */
  const draw = (how) => {
    hits = search(found.inOrder, asked, today(), months);
    const isNothing = isAsked(asked) && isWhole && left === 0 && hits.length === 0;
    const code = isNothing && !isFiltered(asked) ? codeProblem(asked.words, found.inOrder) : null;
    const near = code?.near ?? [];
    list[how](isNothing ? near : hits);
    sayProblem(code?.problem.message ?? "");
    slot(place, "empty").hidden = isAsked(asked) || hits.length > 0 || left > 0;
    slot(place, "nothing").hidden = !isNothing;
    slot(place, "all").hidden = near.length > 0;
    setText(slot(place, "none"), isNothing ? nothingText(asked, found.byId, near.length) : "");
    sayCount();
  };

  const sayCount = () => {
    const text = left > 0 ? leftText(left) : isWhole ? countText(hits.length, asked, found.byId) : "";
    setText(slot(place, "count"), text);
  };
  const sayProblem = (/** @type {string} */ text) => {
    setText(slot(place, "problem"), text);
    slot(place, "problem").hidden = text === "";
  };

  const drawFilters = () => {
    const filters = slot(place, "filters");
    if (filters.hidden || !isWhole) return;
    replaceKeepingFocus(
      filters,
      ...filterBoxes(found.byId, asked, today(), (name, value) => ask({ ...asked, [name]: value })),
    );
  };

  let timer = 0;
  const keepAddress = () => {
    clearTimeout(timer);
    // A list beside another screen leaves the address to it, and so does one that is just being left.
    if (place.closest("#beside") || !/^#\/log(\/|$)/.test(location.hash)) return;
    const address = `#/${addressOf(asked)}`;
    if (location.hash !== address) history.replaceState(history.state, "", address);
  };
  // Before a touch opens what was found.
  place.addEventListener("click", keepAddress, { capture: true });

  /** @param {Asked} wanted @param {boolean} [isTyping] another key may follow at once */
  const ask = (wanted, isTyping = false) => {
    asked = wanted;
    if (box.value !== asked.words) box.value = asked.words;
    clearTimeout(timer);
    if (isTyping) timer = setTimeout(keepAddress, STOPPED_MS);
    else keepAddress();
    draw("begin");
    drawFilters();
    // Last: to scroll lays all of it out, which is then done once.
    const scroller = place.closest(".screen");
    if (scroller) scroller.scrollTop = 0;
  };

  box.addEventListener("input", () => ask({ ...asked, words: box.value }, true));
  slot(place, "all").addEventListener("click", () => {
    ask(NOTHING);
    box.focus();
  });
  slot(place, "finder").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    keepAddress();
    // The keyboard of a phone goes, and what was found is seen.
    if (!isSearched(asked) || !openOnly()) box.blur();
  });
  const openFilters = () => {
    const isOpen = slot(place, "filters").hidden;
    slot(place, "filters").hidden = !isOpen;
    slot(place, "filter").setAttribute("aria-expanded", String(isOpen));
    drawFilters();
  };
  slot(place, "filter").addEventListener("click", openFilters);
  /** Whether what was found is one thing, or the batch whose whole code is typed: it is opened. */
  const openOnly = () => {
    const coded = isWholeCode(asked.words) ? hits.find(({ byCode }) => byCode) : undefined;
    const hit = coded ?? (hits.length === 1 ? hits[0] : undefined);
    if (hit) go(hit.byCode ? candleOf(hit.entry) : hit.entry.page);
    return hit !== undefined;
  };
  const scanned = async (/** @type {string[]} */ codes) => {
    if (!isWhole) await readAll();
    const isKept = (/** @type {string} */ words) =>
      search(found.inOrder, { ...NOTHING, words }, today(), months).length > 0;
    ask({ ...NOTHING, words: codes.find(isKept) ?? codes[0] });
    openOnly();
  };
  slot(place, "scan").replaceWith(scanButton(scanned, sayProblem));

  const drawAround = async () => {
    const { gone, unread } = await apart();
    slot(place, "deleted").hidden = gone === 0;
    slot(place, "unread").hidden = unread === 0;
    setText(slot(place, "unread"), unreadText(unread));
    await leadOn(place, !slot(place, "empty").hidden, "#/recipes/pour", t("Start a pour"));
  };
  const readAll = async () => {
    found = await all();
    isWhole = true;
    draw("again");
    drawFilters();
  };

  const open = await behind();
  if (open.length <= FEW) await catchUp(open);
  else left = open.length;
  if (isAsked(asked) || atHand()) await readAll();
  else {
    found = await newest(NEWEST);
    draw("again");
  }
  if (isFiltered(asked)) openFilters();
  await drawAround();

  const stop = onFound(() => {
    lines = new WeakMap();
    if (!isWhole || left > 0) return;
    draw("again");
    drawFilters();
    void drawAround().catch(console.error);
  });
  /** What no key did yet is slow the first time. */
  const warmUp = () => {
    for (const words of WARMING) {
      const some = search(found.inOrder, { ...NOTHING, words }, today(), months).slice(0, WARMING.length);
      for (const hit of some) hitLine(hit, termsOf(words, months), found.byId, today());
    }
  };
  const readOn = async () => {
    if (!isWhole) await readAll();
    setTimeout(warmUp);
    if (left === 0) return;
    await catchUp(open, async (still) => {
      const before = left;
      left = still;
      if (Math.floor(before / OFTEN) !== Math.floor(left / OFTEN)) draw("again");
      else sayCount();
      await yieldToMain();
    });
    draw("again");
    await drawAround();
  };
  // Once the first lines are painted: until then it would hold them up.
  requestAnimationFrame(() => setTimeout(() => void readOn().catch(console.error)));

  const endSlash = onSlash(box);
  return () => {
    stop();
    clearTimeout(timer);
    list.leave();
    endSlash();
  };
}
