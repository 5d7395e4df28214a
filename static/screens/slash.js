/** A keyboard goes to the box of a screen by '/'. */

/** @param {HTMLElement} box @returns {() => void} end it */
export function onSlash(box) {
  /** @param {KeyboardEvent} event */
  const listener = (event) => {
    const isTyping = event.target instanceof Element && event.target.closest("input, select, textarea, dialog");
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || isTyping) return;
    event.preventDefault();
    box.focus();
  };
  document.addEventListener("keydown", listener);
  return () => document.removeEventListener("keydown", listener);
}
