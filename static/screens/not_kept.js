/** Why an event was not kept, in words. */
import { MovedOn, StoreError } from "../records/store.js";
import { showToast } from "./dom.js";

/** Say that the pour has moved on, or what is wrong with the store; any other error is a bug, and thrown on.
 * @param {unknown} error @param {string} movedOn the words for a pour that has moved on elsewhere */
export function showNotKept(error, movedOn) {
  if (error instanceof MovedOn) showToast(movedOn);
  else if (error instanceof StoreError) showToast(error.message);
  else throw error;
}
