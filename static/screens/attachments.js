/**
 * The photos and papers of a record, on any page: `<bench-attachments data-kind="lot" data-id="…" data-what="receipt">`.
 * `data-what` says what is mostly added there. They are shown by the small pictures in their records, so no bytes are
 * read before one is opened.
 */
import { attach, attachmentsOf, KIND } from "../attachments/attachments.js";
import { allHeld } from "../attachments/bytes.js";
import * as store from "../records/store.js";
import { dayText, localDate } from "../words/dates.js";
import { InputError, t } from "../words/door.js";
import { showLarge, showsText } from "./attachment.js";
import { h, replaceKeepingFocus, showToast, slot } from "./dom.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";

/** @typedef {import("../attachments/attachments.js").Attachment} Attachment */
/** @typedef {import("../attachments/attachments.js").What} What */

export class Attachments extends HTMLElement {
  #living = h("ul", { class: "photos" });
  #gone = h("ul", { class: "photos" });
  /** What she has opened stays open, whatever changes. */
  #deleted = h("details", { hidden: true }, h("summary", {}, t("What was deleted")), this.#gone);
  #problem = h("p", { class: "beware notice", role: "alert", hidden: true });
  #busy = h("p", { class: "hint", role: "status", hidden: true });
  /** @type {(() => void) | null} */
  #leave = null;

  static observedAttributes = ["data-id"];

  attributeChangedCallback() {
    if (this.isConnected) void this.#begin();
  }

  connectedCallback() {
    if (this.childElementCount === 0) {
      const camera = this.#input({ accept: "image/*", capture: "environment" });
      const file = this.#input({ accept: "image/*,application/pdf", multiple: true });
      const button = (/** @type {string} */ text, /** @type {HTMLElement} */ input, more = "") =>
        h("button", { type: "button", class: `quiet ${more}`, onclick: () => input.click() }, text);
      this.append(
        h("h2", {}, t("Photos and papers")),
        this.#living,
        this.#busy,
        this.#problem,
        h(
          "p",
          { class: "links" },
          button(t("Take a photo"), camera, "camera"),
          button(t("Choose a photo or PDF"), file),
        ),
        this.#deleted,
        camera,
        file,
      );
    }
    if (this.dataset.id) void this.#begin();
  }

  disconnectedCallback() {
    this.#leave?.();
    this.#leave = null;
  }

  get #of() {
    return /** @type {[string, string]} */ ([this.dataset.kind ?? "", this.dataset.id ?? ""]);
  }

  async #begin() {
    this.#leave?.();
    this.#leave = null;
    const leave = await drawOnChange(ofKinds(KIND), () => this.#draw());
    if (this.isConnected && this.#leave === null) this.#leave = leave;
    else leave();
  }

  async #draw() {
    const [{ living, gone }, held] = await Promise.all([attachmentsOf(...this.#of), allHeld().catch(() => [])]);
    const here = new Set(held.map(({ sha256 }) => sha256));
    replaceKeepingFocus(this.#living, ...living.map((each) => h("li", {}, thumb(each, here.has(each.sha256)))));
    this.#living.hidden = living.length === 0;
    replaceKeepingFocus(this.#gone, ...gone.map((each) => h("li", {}, thumb(each, true), bringBack(each))));
    this.#deleted.hidden = gone.length === 0;
  }

  /** @param {Record<string, any>} attributes */
  #input(attributes) {
    const input = /** @type {HTMLInputElement} */ (
      h("input", { type: "file", hidden: true, tabindex: "-1", ...attributes })
    );
    input.addEventListener("change", () => {
      const files = [...(input.files ?? [])];
      // The same file may be chosen again.
      input.value = "";
      void this.#add(files);
    });
    return input;
  }

  /** Keep what she chose, one after the other: what can't be kept does not hold up the rest. @param {File[]} files */
  async #add(files) {
    const problems = [];
    let known = 0;
    this.#say("");
    for (const [index, file] of files.entries()) {
      this.#busy.textContent = t("{n} of {all} is being made ready.", { n: index + 1, all: files.length });
      this.#busy.hidden = false;
      try {
        const isNew = await attach(...this.#of, file, /** @type {What} */ (this.dataset.what || "other"));
        if (!isNew) known += 1;
      } catch (error) {
        if (!(error instanceof InputError || error instanceof store.StoreError)) console.error(error);
        problems.push(
          error instanceof InputError || error instanceof store.StoreError
            ? error.message
            : t("“{name}” could not be kept. Try it again.", { name: file.name }),
        );
      }
    }
    this.#busy.hidden = true;
    this.#say(problems.join(" "));
    if (known > 0) showToast(t("It was here already."));
  }

  /** @param {string} text */
  #say(text) {
    this.#problem.textContent = text;
    this.#problem.hidden = text === "";
  }
}

/** One of them as a button. @param {Attachment} attachment @param {boolean} isHere its bytes are on this phone */
function thumb(attachment, isHere) {
  const { type, small, taken_at } = attachment;
  const day = dayText(localDate(taken_at));
  const picture = small
    ? h("img", { src: `data:image/jpeg;base64,${small}`, alt: "" })
    : h("span", { class: "paper", "aria-hidden": "true" }, type === "application/pdf" ? t("PDF") : "…");
  return h(
    "button",
    { type: "button", class: "thumb", "data-key": attachment.id, onclick: () => void showLarge(attachment) },
    picture,
    h("span", { class: "shows" }, showsText(attachment)),
    h("span", { class: "under" }, isHere ? day : t("{day}, on the server", { day })),
  );
}

/** @param {Attachment} attachment that was deleted */
function bringBack({ id }) {
  const back = () => void tryToKeep(() => store.save(KIND, id, { deleted: false }));
  return h(
    "button",
    { type: "button", class: "quiet small", "data-key": `back ${id}`, onclick: back },
    t("Bring it back"),
  );
}

customElements.define("bench-attachments", Attachments);

/** Show the attachments of a record in the place that its page keeps for them. @param {HTMLElement} place of the page
 * @param {string} id */
export function showAttachments(place, id) {
  slot(place, "attachments").dataset.id = id;
}

/** Put a record's attachments at the end of a place. @param {Element} place @param {string} kind @param {string} id
 * @param {What} what is mostly added there */
export function addAttachments(place, kind, id, what) {
  place.append(h("bench-attachments", { "data-kind": kind, "data-id": id, "data-what": what }));
}
