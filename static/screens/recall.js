/** Calling candles back: before it begins, and while it goes on. */

/** @param {HTMLElement} place @param {string[]} path the id of a recall; or 'new', what it is of and its id; or nothing: all
 * @param {import("./screen.js").Context} context */
export async function show(place, [id, what, of], context) {
  if (id === "new" && of) {
    const { showNew } = await import("./recall_new.js");
    return showNew(place, what, of, context);
  }
  if (id) {
    const { showOne } = await import("./recall_one.js");
    return showOne(place, id, context);
  }
  const { showAll } = await import("./recall_all.js");
  return showAll(place, context);
}
