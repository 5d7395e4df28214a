/** One photo or paper, large: what it shows, saving it, deleting it. */
import { KIND } from "../attachments/attachments.js";
import { fileOf } from "../attachments/fetching.js";
import { NoSignal, ServerError } from "../records/exchange.js";
import * as store from "../records/store.js";
import { dayText, localDate } from "../words/dates.js";
import { message, t, worded } from "../words/door.js";
import { ask } from "./ask.js";
import { cloneTemplate, download, h, setText, showToast, slot } from "./dom.js";
import { deleteRecord } from "./page_parts.js";
import { tryToKeep } from "./screen.js";

/** @typedef {import("../attachments/attachments.js").Attachment} Attachment */

/** What a photo may show. @type {Record<import("../attachments/attachments.js").What, import("../words/door.js").Message>} */
const WHATS = {
  top: message("The tops"),
  melt_pool: message("The melt pool"),
  label: message("A label"),
  certificate: message("A certificate"),
  sheet: message("A safety data sheet"),
  receipt: message("A receipt"),
  vessel: message("A vessel"),
  other: message("Something else"),
};

/** @param {Attachment} attachment */
const whatOf = ({ what }) => (typeof what === "string" && Object.hasOwn(WHATS, what) ? what : "other");

/** What it shows, in words; of a paper that is nothing in particular, its name. @param {Attachment} attachment */
export function showsText(attachment) {
  const what = whatOf(attachment);
  return what === "other" && attachment.type === "application/pdf" ? attachment.name : worded(WHATS[what]);
}

/** Show one, until she goes back. @param {Attachment} attachment */
export async function showLarge(attachment) {
  const { id, name, type, small, width, height, taken_at } = attachment;
  const isPdf = type === "application/pdf";
  const day = dayText(localDate(taken_at));
  let url = "";
  await ask(cloneTemplate("screen-attachment"), (dialog, /** @type {(answer: null) => void} */ end) => {
    const at = (/** @type {string} */ part) => slot(dialog, part);
    setText(at("name"), name);
    setText(at("day"), day);
    const picture = /** @type {HTMLImageElement} */ (at("picture"));
    picture.alt = showsText(attachment);
    // It keeps its place while the large one comes.
    if (width && height) Object.assign(picture, { width, height });
    if (small) picture.src = `data:image/jpeg;base64,${small}`;
    picture.hidden = !small;
    const choice = /** @type {HTMLSelectElement} */ (at("what"));
    choice.replaceChildren(...Object.entries(WHATS).map(([value, words]) => h("option", { value }, worded(words))));
    choice.value = whatOf(attachment);
    choice.addEventListener("change", () => void tryToKeep(() => store.save(KIND, id, { what: choice.value })));

    const save = /** @type {HTMLButtonElement} */ (at("save"));
    setText(save, isPdf ? t("Open the PDF") : t("Save it"));
    save.disabled = true;
    setText(at("told"), t("It is being fetched."));
    fileOf(attachment).then(
      (blob) => {
        setText(at("told"), "");
        save.disabled = false;
        save.addEventListener("click", () => download(new File([blob], fileName(attachment), { type })));
        if (isPdf || !dialog.isConnected) return;
        url = URL.createObjectURL(blob);
        picture.src = url;
        picture.hidden = false;
      },
      (error) => {
        if (!(error instanceof NoSignal || error instanceof ServerError)) throw error;
        setText(at("told"), error.message);
      },
    );

    const remove = at("remove");
    remove.addEventListener("click", async () => {
      if (remove.dataset.sure !== "yes") {
        remove.dataset.sure = "yes";
        setText(remove, t("Really delete it?"));
      } else if (await deleteRecord(KIND, id)) {
        showToast(t("Deleted. You find it under “What was deleted”."));
        end(null);
      }
    });
  });
  if (url) URL.revokeObjectURL(url);
}

/** A name that fits what the file is: photos are made anew, as JPEG. @param {Attachment} attachment */
function fileName({ name, type }) {
  const end = type === "application/pdf" ? "pdf" : "jpg";
  return `${name.replace(/\.[A-Za-z0-9]{1,5}$/, "")}.${end}`;
}
