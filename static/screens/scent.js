/** The scent of a burn test's candles is rated: by named noses, blind if she likes. */

import { now } from "../bench/clock.js";
import { capital } from "../bench/cues.js";
import { addEvent, readTest } from "../burns/tests.js";
import { shuffled } from "../formulas/shuffle.js";
import { t } from "../words/door.js";
import { sayBeside } from "./boxes.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, showFacts, showToast, slot } from "./dom.js";
import { keepDraft } from "./draft.js";
import { drawOnChange, tryToKeep } from "./screen.js";
import { scentFacts } from "./test_scent.js";
import { candleWithWick } from "./test_words.js";

/** @typedef {import("../burns/tests.js").BurnTest} BurnTest */
/** @typedef {{candle: number, letter: string}} Rated one that is rated; letter "": it is not blind */

/** Seeds are whole and below this: a signed 32-bit number holds them. */
const SEEDS = 2 ** 31;

/** @param {HTMLElement} place @param {string[]} path the test's id @param {import("./screen.js").Context} context */
export async function show(place, [id], { go }) {
  place.append(cloneTemplate("screen-scent"));
  slot(place, "back").href = `#/test/${id}`;
  /** @type {BurnTest} */
  let test;
  /** @type {Rated[]} */
  let rated = [];
  let drawnFor = "";
  let forget = () => {};
  const form = slot(place, "form");

  const drawBoxes = () => {
    const key = JSON.stringify(rated);
    // What is half chosen stays as long as the same candles are rated.
    if (key === drawnFor) return;
    drawnFor = key;
    slot(place, "candles").replaceChildren(...rated.map((each) => ratingBox(test, each)));
    forget = keepDraft(form, `draft scent ${id}`);
  };

  const end = await drawOnChange(
    ({ id: changed }) => changed === id,
    async () => {
      const found = await readTest(id);
      if (found === null) {
        go("tests");
        return;
      }
      test = found;
      setText(slot(place, "back"), test.sheet.title);
      rated = ratedOf(test);
      const { blind, ratings } = test.state;
      const isBlind = blind !== null;
      setText(
        slot(place, "how"),
        isBlind
          ? t("The candles go by letters. Which is which stays hidden until you tell it.")
          : t("You can hide which candle is which, so that nobody rates what they expect."),
      );
      slot(place, "shuffle").hidden = isBlind || rated.length < 2;
      slot(place, "show_key").hidden = !isBlind || ratings.some(({ letter }) => letter);
      slot(place, "tell").hidden = !isBlind;
      if (!isBlind) slot(place, "key").replaceChildren();
      drawBoxes();
      showFacts(slot(place, "scent"), scentFacts(test));
    },
  );

  /** @param {import("../records/event_types.js").NewBurnTestEvent[]} events */
  const keep = (events) =>
    tryToKeep(async () => {
      for (const event of events) {
        await addEvent(test, event, now());
        test = (await readTest(id)) ?? test;
      }
    }, t("This test was changed elsewhere. Look again."));

  slot(place, "shuffle").addEventListener("click", () => {
    const [drawn] = crypto.getRandomValues(new Uint32Array(1));
    void keep([{ type: "shuffled", seed: drawn % SEEDS }]);
  });
  slot(place, "tell").addEventListener("click", () => void keep([{ type: "unblinded" }]));
  slot(place, "show_key").addEventListener("click", () => {
    const lines = rated.map(({ candle, letter }) =>
      h("li", {}, t("{letter} is {candle}.", { letter, candle: candleWithWick(test.sheet, candle) })),
    );
    const hide = h(
      "button",
      { type: "button", class: "quiet", onclick: () => slot(place, "key").replaceChildren() },
      t("Hide them"),
    );
    const text = t("Put each letter beside its candle. Whoever rates must not see this.");
    replaceKeepingFocus(
      slot(place, "key"),
      h("p", { class: "beware" }, text),
      h("ul", {}, ...lines),
      h("p", { class: "links" }, hide),
    );
  });

  const save = async () => {
    const nose = slot(place, "nose").value.trim();
    sayBeside(slot(place, "nose"), slot(place, "nose_error"), nose === "" ? t("Write whose nose it is.") : "");
    const boxes = /** @type {HTMLSelectElement[]} */ ([...slot(place, "candles").querySelectorAll("select")]);
    const given = rated.flatMap(({ candle, letter }, index) => {
      const rating = Number(boxes[index].value);
      return rating > 0 ? [{ candle, letter, rating }] : [];
    });
    const error = slot(place, "error");
    error.hidden = given.length > 0;
    setText(error, t("Rate at least one candle."));
    if (nose === "" || given.length === 0) {
      (nose === "" ? slot(place, "nose") : boxes[0])?.focus();
      return;
    }
    const how = /** @type {"cold" | "hot"} */ (slot(place, "throw").value);
    const isKept = await keep(
      given.map(({ candle, letter, rating }) => ({
        ...{ type: /** @type {const} */ ("rated"), candle, throw: how, nose, rating },
        ...(letter && { letter }),
      })),
    );
    if (!isKept) return;
    for (const box of boxes) box.value = "";
    slot(place, "nose").value = "";
    forget();
    showToast(t("Saved. Hand it to the next nose."));
  };
  slot(place, "save").addEventListener("click", () => void save());
  form.addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    void save();
  });
  return end;
}

/** One candle of each wick: the first that is in the test. By letters, in their order, where it is blind.
 * @param {BurnTest} test @returns {Rated[]} */
export function ratedOf({ sheet, state }) {
  const firsts = sheet.wicks.flatMap((_, wick) => {
    const candle = sheet.candles.findIndex(
      (each, index) => each.wick === wick && state.candles[index].set_aside === null,
    );
    return candle < 0 ? [] : [candle];
  });
  if (state.blind === null) return firsts.map((candle) => ({ candle, letter: "" }));
  return shuffled(firsts.length, state.blind).map((at, index) => ({
    candle: firsts[at],
    letter: String.fromCharCode("A".charCodeAt(0) + index),
  }));
}

/** @param {BurnTest} test @param {Rated} rated */
function ratingBox({ sheet }, { candle, letter }) {
  const name = letter ? t("Letter {letter}", { letter }) : capital(candleWithWick(sheet, candle));
  const words = [t("not rated"), t("1, hardly there"), "2", "3", "4", t("5, very strong")];
  return h(
    "div",
    { class: "field" },
    h(
      "label",
      {},
      h("span", { class: "name" }, name),
      h(
        "select",
        { "data-slot": `rating ${letter || candle}` },
        ...words.map((text, rating) => h("option", { value: rating === 0 ? "" : rating }, text)),
      ),
    ),
  );
}
