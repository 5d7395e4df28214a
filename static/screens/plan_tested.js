/**
 * At a plan: that what is to be poured was never tested, or was changed since it was. The plan keeps a place for it,
 * `<bench-tested>`.
 */
import { materials } from "../bench/materials.js";
import * as store from "../records/store.js";
import { InputError, t } from "../words/door.js";
import { h, replaceKeepingFocus } from "./dom.js";
import { ofKinds } from "./screen.js";
import { livingRecipe, readTested, TESTED_BY } from "./tested_words.js";

export class PlanTested extends HTMLElement {
  /** @type {() => void} */
  #leave = () => undefined;

  connectedCallback() {
    // The plan's address names its recipe.
    const id = decodeURIComponent(location.hash.split("/")[2] ?? "");
    const draw = store.oneAtATime(() => this.#draw(id));
    const concerns = ofKinds(...TESTED_BY);
    this.#leave = store.onChange((changes) => {
      if (changes.some(concerns)) draw();
    });
    draw();
  }

  disconnectedCallback() {
    this.#leave();
  }

  /** @param {string} id */
  async #draw(id) {
    const recipe = await livingRecipe(id);
    if (recipe === null) return;
    const told = await readTested(recipe, await materials()).catch((error) => {
      // What is wrong with the recipe, the plan says itself.
      if (!(error instanceof InputError)) throw error;
      return null;
    });
    const isQuiet = told === null || told.stands === "tested";
    const links = told?.test ? [h("a", { href: `#/test/${told.test}` }, t("See the test"))] : [];
    if (told?.stands !== "open") links.push(h("a", { href: `#/new_test/${id}` }, t("Plan a test")));
    const level = told?.stands === "changed" || told?.stands === "wrong" ? "beware notice" : "help";
    replaceKeepingFocus(
      this,
      ...(isQuiet ? [] : [h("p", { class: `${level} untested` }, told.text, ...links.flatMap((link) => [" ", link]))]),
    );
  }
}
