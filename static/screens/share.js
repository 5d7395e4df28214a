/** Handing a text to another app. */
import { t } from "../words/door.js";
import { showToast } from "./dom.js";

/** Share a text; where that can't be, it is copied. @param {string} title @param {string} text */
export async function shareText(title, text) {
  if (navigator.share) {
    // She may think better of it.
    await navigator.share({ title, text }).catch(() => undefined);
    return;
  }
  try {
    await navigator.clipboard.writeText(text);
    showToast(t("It is copied: paste it into a message or a note."));
  } catch {
    showToast(t("This browser neither shares nor copies text. Print it instead."));
  }
}
