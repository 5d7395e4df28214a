/** A long list, of which no more is drawn than a window shows; the rest follows as she scrolls. */
import { replaceKeepingFocus } from "./dom.js";

/** So many lines are drawn at once, more than a window shows. */
const LINES = 30;

/** So many are drawn while she types, as a phone shows above its keyboard; the others once she stops. */
const FIRST = 5;

/** She has stopped when no other key came for so long (ms). */
const STOPPED_MS = 150;

/** The next are drawn so far (px) before they come into sight. */
const AHEAD = "600px";

/**
 * @template T @param {HTMLElement} place of the lines @param {HTMLElement} end what stands below them
 * @param {(items: T[], before: T | undefined) => HTMLElement[]} linesOf some of them, after the one before
 */
export function growingList(place, end, linesOf) {
  /** @type {T[]} */
  let items = [];
  let drawn = 0;
  let timer = 0;

  const more = (/** @type {number} */ most) => {
    clearTimeout(timer);
    place.append(...linesOf(items.slice(drawn, drawn + most), items[drawn - 1]));
    drawn = Math.min(items.length, drawn + most);
    end.hidden = drawn === items.length;
  };
  /** @param {T[]} all @param {number} most */
  const begin = (all, most) => {
    clearTimeout(timer);
    items = all;
    drawn = Math.min(items.length, most);
    end.hidden = drawn === items.length;
    return linesOf(items.slice(0, drawn), undefined);
  };
  const watch = new IntersectionObserver(
    (seen) => {
      if (seen.some(({ isIntersecting }) => isIntersecting) && drawn >= LINES) more(LINES);
    },
    { rootMargin: AHEAD },
  );
  watch.observe(end);
  return {
    /** The same list as it is now: as far down as it was drawn. @param {T[]} all */
    again: (all) => replaceKeepingFocus(place, ...begin(all, Math.max(LINES, drawn))),
    /** Another list, from its beginning, as she types. @param {T[]} all */
    begin: (all) => {
      putInPlace(place, begin(all, FIRST));
      if (drawn < items.length) timer = setTimeout(() => more(LINES - FIRST), STOPPED_MS);
    },
    leave: () => {
      clearTimeout(timer);
      watch.disconnect();
    },
  };
}

/** Show these lines; one that is there already is not moved. @param {HTMLElement} place @param {HTMLElement[]} lines */
function putInPlace(place, lines) {
  const shown = new Set(lines);
  for (const line of /** @type {HTMLElement[]} */ ([...place.children])) if (!shown.has(line)) line.remove();
  let next = place.firstChild;
  for (const line of lines) {
    if (line === next) next = next.nextSibling;
    else place.insertBefore(line, next);
  }
}
