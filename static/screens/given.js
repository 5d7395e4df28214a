/** Elements of the app's own that a page holds before their class has come. */

/** What was told to such an element by then. @param {HTMLElement} element @param {string} name of what is told */
export function takeGiven(element, name) {
  if (!Object.hasOwn(element, name)) return;
  const any = /** @type {any} */ (element);
  const given = any[name];
  delete any[name];
  any[name] = given;
}
