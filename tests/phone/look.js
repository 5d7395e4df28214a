/** What is wrong with a screen in the pseudo-language: `look.plain(units)` and `look.cut()`, each in sentences. */

globalThis.look = (() => {
  const PLACES = ["#strip", "#server", "#screen", "#rooms", "#said", "dialog[open]"];
  const TOLD = ["aria-label", "aria-description", "aria-valuetext", "placeholder", "title", "alt"];
  const isShown = (part) => part.checkVisibility({ visibilityProperty: true });

  /** All that is to be seen. A select's options are, once it is touched. */
  function* parts() {
    for (const root of document.querySelectorAll(PLACES.join())) {
      for (const part of [root, ...root.querySelectorAll("*")]) {
        if (isShown(part) || (part.localName === "option" && isShown(part.closest("select")))) yield part;
      }
    }
  }

  /** Such as 'p.help[sent]'. */
  function nameOf(part) {
    const kind = part.getAttribute("class");
    const slot = part.dataset?.slot;
    return `${part.localName}${kind ? `.${kind}` : ""}${slot ? `[${slot}]` : ""}`;
  }

  const textsIn = (part) => [...part.childNodes].filter((node) => node.nodeType === Node.TEXT_NODE && node.data.trim());

  // ---- words ------------------------------------------------------------------------------------

  /** Every text with the part that shows or tells it, but for what says of itself in which language it is: where a law
   * stands, and what is printed word for word. */
  function* told() {
    yield [document.title, "title"];
    for (const part of parts()) {
      if (part.closest("[lang]:not(html)")) continue;
      for (const name of TOLD) yield [part.getAttribute(name) ?? "", `${nameOf(part)} ${name}`];
      for (const { data } of textsIn(part)) yield [data, nameOf(part)];
      if (part.type === "text" || part.localName === "textarea") yield [part.value, `${nameOf(part)} value`];
    }
  }

  /** Addresses and codes that let a device in. */
  const DATA = /https?:\/\/\S+|\b[0-9A-Z]{4}-[0-9A-Z]{4}\b/g;

  /** Words in plain letters, two or more; `known` are none. A letter with an accent above is not plain. */
  function plain(known) {
    const found = new Set();
    for (const [text, where] of told()) {
      const words = text.replace(DATA, "").match(/(?<!\p{L})[A-Za-z]{2,}(?![\p{L}\p{M}])/gu) ?? [];
      const unknown = words.filter((word) => !known.includes(word));
      if (unknown.length > 0) found.add(`“${unknown.join(" ")}” did not pass the door: ${where}: ${text.trim()}`);
    }
    return [...found];
  }

  // ---- room -------------------------------------------------------------------------------------

  /** Nearest part that has a box of its own. */
  function boxOf(part) {
    let box = part;
    while (/^(inline|contents)$/.test(getComputedStyle(box).display)) box = box.parentElement;
    return box;
  }

  /** What can be scrolled sideways shows all of itself. */
  function canBeScrolled(part) {
    for (let up = part; up !== null && up !== document.documentElement; up = up.parentElement) {
      if (/auto|scroll/.test(getComputedStyle(up).overflowX) && up.scrollWidth > up.clientWidth) return true;
    }
    return false;
  }

  const isHidden = (overflow) => overflow === "hidden" || overflow === "clip";

  /** What of a part is out of its room. */
  function* troublesOf(part) {
    const style = getComputedStyle(part);
    if (part.textContent.trim()) {
      const [wide, high] = [part.scrollWidth - part.clientWidth, part.scrollHeight - part.clientHeight];
      if (isHidden(style.overflowX) && wide > 1) yield `is cut by ${wide} px`;
      if (isHidden(style.overflowY) && high > 1) yield `is cut below by ${high} px`;
    }
    if (part.placeholder && !part.value) {
      const pen = document.createElement("canvas").getContext("2d");
      pen.font = style.font;
      const room = part.clientWidth - Number.parseFloat(style.paddingLeft) - Number.parseFloat(style.paddingRight);
      const over = Math.round(pen.measureText(part.placeholder).width - room);
      if (over > 1) yield `shows a part of its placeholder: ${over} px are missing`;
    }
    const box = boxOf(part).getBoundingClientRect();
    const width = document.scrollingElement.clientWidth;
    for (const text of textsIn(part)) {
      const range = document.createRange();
      range.selectNodeContents(text);
      for (const line of range.getClientRects()) {
        if (line.width < 1) continue;
        const off = Math.max(-line.left, line.right - width);
        if (off > 0.5 && !canBeScrolled(part)) yield `leaves the screen by ${Math.round(off)} px`;
        const out = Math.max(box.left - line.left, line.right - box.right);
        if (out > 1 && part.localName !== "text") yield `leaves its box by ${Math.round(out)} px`;
      }
    }
  }

  /** Where a name that she gave is cut if it is too long, by design: pour and vessel at the head of the board, and
   * the pours of other jugs. A closed select is the platform's, which opens to all of its words. */
  const NAMES = ".head [data-slot=place], body[data-screen=pour] #strip a > span > span:first-child, .alarm > a";
  const NOT_LOOKED_AT = `.sr, select, svg:not(.curve), ${NAMES}`;

  /** Texts that are not to be seen whole. */
  function cut() {
    const found = new Set();
    const page = document.scrollingElement;
    const over = page.scrollWidth - page.clientWidth;
    if (over > 0) found.add(`the page scrolls sideways by ${over} px`);
    for (const part of parts()) {
      if (part.closest(NOT_LOOKED_AT)) continue;
      for (const trouble of troublesOf(part)) found.add(`${nameOf(part)} ${trouble}: ${part.textContent.trim()}`);
    }
    return [...found];
  }

  /** The look has followed a change of the screen's size. */
  const settled = async () => {
    for (let frame = 0; frame < 3; frame += 1) await new Promise((resolve) => requestAnimationFrame(resolve));
  };

  return { plain, cut, settled };
})();
