/** A long list, of which no more is drawn than a window shows; the rest follows as she scrolls. */
import { replaceKeepingFocus } from "./dom.js";

/** So many lines are drawn at once, more than a window shows. */
const LINES = 30;

/** So many are drawn before anything else is done, where every moment counts; the others once they are painted. */
const FIRST = 10;

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

  const more = (/** @type {number} */ most) => {
    place.append(...linesOf(items.slice(drawn, drawn + most), items[drawn - 1]));
    drawn = Math.min(items.length, drawn + most);
    end.hidden = drawn === items.length;
  };
  /** @param {T[]} all @param {number} most */
  const draw = (all, most) => {
    items = all;
    drawn = Math.min(items.length, most);
    replaceKeepingFocus(place, ...linesOf(items.slice(0, drawn), undefined));
    end.hidden = drawn === items.length;
  };
  const watch = new IntersectionObserver(
    (seen) => {
      if (seen.some(({ isIntersecting }) => isIntersecting) && drawn > 0) more(LINES);
    },
    { rootMargin: AHEAD },
  );
  watch.observe(end);
  return {
    /** The same list as it is now: as far down as it was drawn. @param {T[]} all */
    again: (all) => draw(all, Math.max(LINES, drawn)),
    /** Another list, from its beginning. @param {T[]} all */
    begin: (all) => {
      draw(all, FIRST);
      requestAnimationFrame(() => setTimeout(() => items === all && drawn < LINES && more(LINES - drawn)));
    },
    leave: () => watch.disconnect(),
  };
}
