/** Which module shows which address. */

/** By the first part of the address. @type {Record<string, () => Promise<any>>} */
const SCREENS = {
  today: () => import("./screens/today.js"),
  recipes: () => import("./screens/recipes.js"),
  recipe: () => import("./screens/recipe.js"),
  plan: () => import("./screens/plan.js"),
  pour: () => import("./screens/board.js"),
  trim: () => import("./screens/trim.js"),
  log: () => import("./screens/log.js"),
  entry: () => import("./screens/entry.js"),
  workshop: () => import("./screens/workshop.js"),
  list: () => import("./screens/list.js"),
  edit: () => import("./screens/edit.js"),
  pair: () => import("./screens/pair.js"),
  devices: () => import("./screens/devices.js"),
  history: () => import("./screens/history.js"),
  copies: () => import("./screens/copies.js"),
  reminders: () => import("./screens/reminders.js"),
  bench: () => import("./screens/bench_settings.js"),
};

/** As notifications and calendar files of earlier versions name a screen. @type {Map<string, string>} */
const FORMER = new Map([["finish", "trim"]]);

/** The screen of an address such as '#/entry/k3v9q2ax': its name, the rest of the address, and its module.
 * @param {string} hash @returns {{name: string, path: string[], load: () => Promise<any>}} */
export function screenAt(hash) {
  const [first, ...path] = hash.replace(/^#\/?/, "").split("/").map(decoded);
  const named = FORMER.get(first) ?? first;
  const name = Object.hasOwn(SCREENS, named) ? named : "today";
  return { name, path, load: SCREENS[name] };
}

/** @param {string} part */
function decoded(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}
