/** Whether the browser has promised not to clear what is kept, and asking it to. */

/** @typedef {"kept" | "may be cleared" | "unknown"} Keeping */

/** @returns {Promise<Keeping>} */
export async function keeping() {
  if (!navigator.storage?.persist) return "unknown";
  return (await navigator.storage.persisted()) ? "kept" : "may be cleared";
}

/** Ask the browser to keep the records; it decides by itself, mostly without asking her.
 * @returns {Promise<Keeping>} */
export async function askToKeep() {
  if (!navigator.storage?.persist) return "unknown";
  return (await navigator.storage.persist()) ? "kept" : "may be cleared";
}
