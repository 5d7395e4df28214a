/** One label: put together from what is kept, laid out by the desk, and kept as it is made. */

import { now } from "../bench/clock.js";
import { allPours, ofEach } from "../bench/pours.js";
import { answersTo, keyOf } from "../labels/answers.js";
import { labelSpec, languagesOf } from "../labels/label_spec.js";
import { ask, NoSignal, ServerError } from "../records/exchange.js";
import { findings, keepFinding } from "../records/findings.js";
import { isSame } from "../records/merge.js";
import * as store from "../records/store.js";
import { codeOf } from "../shelf/batches.js";
import { dayText, localDate } from "../words/dates.js";
import { listed, t } from "../words/door.js";
import { askInBox } from "./ask_in_box.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, showFacts, slot } from "./dom.js";
import { headOf, restOf, saidText } from "./label_report.js";
import { drawSentences } from "./label_sentences.js";
import { LABELLED_BY, readSources } from "./label_sources.js";
import { drawMade, ownSize } from "./labels.js";
import { languageName } from "./languages.js";
import { readLogo } from "./logo.js";
import { drawOnChange, ofKinds, tryToKeep } from "./screen.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {Awaited<ReturnType<typeof readSources>>} Read */

/** @param {HTMLElement} place @param {string[]} path the label's id; then a pour's, for its batch
 * @param {import("./screen.js").Context} context */
export async function show(place, [id, asked], { units, go }) {
  place.append(cloneTemplate("screen-label"));
  slot(place, "edit").href = `#/edit/label/${id}`;
  const batch = /** @type {HTMLSelectElement} */ (slot(place, "batch"));
  /** @type {Read} */
  let read;
  /** What was laid out, and of what. @type {{spec: Fields, found: import("./label_report.js").Found} | null} */
  let laid = null;
  let laying = false;
  let chosen = asked ?? "";

  const say = (/** @type {string} */ text) => {
    setText(slot(place, "problem"), text);
    slot(place, "problem").hidden = text === "";
  };
  const isLaid = () => laid !== null && isSame(laid.spec, labelSpec(read));

  const draw = () => {
    const { label } = read;
    // What she has just changed is laid out anew: until then the page stays as it is.
    if (!laying && !isLaid()) laid = null;
    const can = {
      choose: (/** @type {import("./label_report.js").Way} */ { way, second }) =>
        change({
          way,
          ...(second && way !== "fold_out" && { second_width_mm: second.width_mm, second_height_mm: second.height_mm }),
        }),
      enlarge: (/** @type {import("./label_report.js").Size} */ { width_mm, height_mm }) =>
        change(label.shape === "round" ? { diameter_mm: width_mm } : { width_mm, height_mm }),
      answer: (/** @type {import("../words/door.js").Message} */ asked) => void answer(asked),
    };
    const found = laid && { ...laid.found, answers: label.answers ?? {} };
    replaceKeepingFocus(slot(place, "report"), ...(found ? [...headOf(found), ...restOf(found, can)] : []));
    drawSentences(slot(place, "sentences"), laid?.found.report.sentences ?? [], label, (sentences) =>
      change({ sentences }),
    );
    const fits = laid?.found.report.fits === true;
    slot(place, "again").hidden = laid === null || !fits;
    setText(slot(place, "go"), fits ? t("Keep it, to print") : t("Lay it out"));
  };

  const layOut = async () => {
    say("");
    const spec = labelSpec(read);
    slot(place, "go").disabled = true;
    place.setAttribute("aria-busy", "true");
    setText(slot(place, "busy"), t("The desk is laying it out."));
    slot(place, "busy").hidden = false;
    try {
      const { report, pictures } = await ask("/api/desk/label", { label: spec, print: null });
      laid = { spec, found: { report, pictures } };
      draw();
    } catch (error) {
      if (error instanceof ServerError) say(error.message);
      else if (error instanceof NoSignal)
        say(
          t("{why} The desk lays labels out: try again when it answers. What was made is below.", {
            why: error.message,
          }),
        );
      else throw error;
    } finally {
      laying = false;
      if (!isLaid()) draw();
      slot(place, "busy").hidden = true;
      slot(place, "go").disabled = false;
      place.removeAttribute("aria-busy");
    }
  };

  /** What the desk can't know, she says. @param {import("../words/door.js").Message} asked */
  const answer = async (asked) => {
    const { label } = read;
    const key = keyOf(asked);
    const said = await askInBox(saidText(asked), label.answers?.[key]?.text ?? "", (text) => text);
    if (said === null) return;
    const answers = { ...label.answers, [key]: { text: said, at: Math.round(now()) } };
    await tryToKeep(() => store.save("label", id, { answers }));
  };

  /** What she chose of what would do. @param {Fields} values */
  const change = async (values) => {
    laying = true;
    if (await tryToKeep(() => store.save("label", id, values))) {
      await redraw();
      await layOut();
    }
    laying = false;
  };

  slot(place, "go").addEventListener("click", async () => {
    if (laid === null || !laid.found.report.fits) {
      await layOut();
      return;
    }
    slot(place, "go").disabled = true;
    const made = store.newId();
    const { name, answers = {} } = read.label;
    const { report, pictures } = laid.found;
    const fields = {
      ...{ name, label: id, pour: read.pour?.id ?? null, made_at: Math.round(now()) },
      ...{ asked: laid.spec, found: { report, answers: answersTo(report, answers) } },
    };
    const isKept = await tryToKeep(async () => {
      await keepFinding("label_picture", made, { name, drawn: { pictures } });
      await keepFinding("made_label", made, fields);
    });
    if (isKept) go(`made_label/${made}`);
    slot(place, "go").disabled = false;
  });
  slot(place, "again").addEventListener("click", layOut);
  batch.addEventListener("change", async () => {
    chosen = batch.value;
    await redraw();
  });
  takeLogo(place, say);

  async function redraw() {
    const label = await store.get("label", id);
    if (label === undefined || label.deleted) {
      go("labels");
      return;
    }
    read = await readSources(label, chosen);
    setText(slot(place, "name"), label.name);
    await drawBatches(batch, label.recipe, chosen);
    showFacts(slot(place, "facts"), factsOf(read, units));
    slot(place, "sources").replaceChildren(...noticesOf(read));
    slot(place, "net").hidden = read.pour === null || !label.states_g || verdictOn(read.net, label.states_g) !== null;
    slot(place, "net").href = `#/net/${read.pour?.id}`;
    drawLogo(place, read.maker);
    draw();
    const made = (await findings("made_label")).filter((each) => each.label === id);
    await drawMade(place, made);
  }
  return drawOnChange(ofKinds("made_label", ...LABELLED_BY), redraw);
}

/** The batches of its recipe, the newest first. @param {HTMLSelectElement} box @param {string} recipe @param {string} chosen */
async function drawBatches(box, recipe, chosen) {
  const pours = (await allPours()).filter(({ sheet }) => sheet.recipe === recipe);
  const options = ofEach(pours, (pour) => {
    const code = codeOf(pour);
    if (code === null) return [];
    const day = dayText(localDate(pour.record.started_at));
    return [h("option", { value: pour.id, selected: pour.id === chosen }, t("{code}, poured on {day}", { code, day }))];
  });
  box.replaceChildren(h("option", { value: "" }, t("none: to look at it")), ...options);
  box.value = options.some((each) => /** @type {HTMLOptionElement} */ (each).value === chosen) ? chosen : "";
}

/** @param {Read} read @param {import("../bench/display_units.js").DisplayUnits} units @returns {[string, string][]} */
function factsOf({ label, recipe, claim_h, net }, units) {
  const languages = languagesOf(label).map(languageName);
  /** @type {[string, string][]} */
  const facts = [
    [t("Recipe"), recipe.name],
    [t("In"), listed(languages)],
    [t("Size"), ownSize(label) || t("none yet")],
  ];
  if (label.states_g) facts.push([t("It states"), netText(label, net, units)]);
  else if (net?.found.highest) {
    const mass = units.text(net.found.highest.g, "mass", 0.1);
    facts.push([t("It states"), t("nothing yet; this batch may carry **{mass}**", { mass })]);
  }
  if (label.burning === "tested")
    facts.push([
      t("Burning time"),
      claim_h ? t("{n} h, by your burn tests", { n: claim_h }) : t("not tested: left out"),
    ]);
  return facts;
}

/** Whether a batch may carry a weight, as far as that was checked; null: it was not. @param {Fields | null} net
 * @param {number} states_g */
const verdictOn = (net, states_g) => (net?.found.stated?.g === states_g ? net.found.stated.verdict : null);

/** @param {Fields} label @param {Fields | null} net @param {import("../bench/display_units.js").DisplayUnits} units */
function netText({ states_g }, net, units) {
  const stated = units.text(states_g, "mass", 0.1);
  if (net === null) return t("**{mass}**; not checked for this batch", { mass: stated });
  switch (verdictOn(net, states_g)) {
    case null:
      return t("**{mass}**; another weight was checked for this batch", { mass: stated });
    case "yes":
      return t("**{mass}**; this batch may carry it", { mass: stated });
    case "no":
      return t("**{mass}**; this batch may not carry it", { mass: stated });
    default:
      return t("**{mass}**; whether this batch may carry it is undecided", { mass: stated });
  }
}

/** What of its sources is not as it should be. @param {Read} read */
function noticesOf({ label, maker, finding, older, net }) {
  const notice = (/** @type {string} */ text, /** @type {string} */ href, /** @type {string} */ link) =>
    h("p", { class: "beware notice" }, text, " ", h("a", { href }, link));
  const found = [];
  if (!maker?.called)
    found.push(notice(t("A label needs to say who you are."), "#/edit/maker/maker", t("Write your name and address")));
  if (label.market !== "us" && finding === null && !label.no_hazard)
    found.push(notice(t("Its hazard class was not worked out yet."), `#/hazard/${label.recipe}`, t("Work it out")));
  if (older)
    found.push(
      notice(t("Its hazard class is older than what it rests on."), `#/hazard/${label.recipe}`, t("Look at it")),
    );
  if (net && verdictOn(net, label.states_g) === "no")
    found.push(notice(t("This batch may not carry the weight that it states."), `#/net/${net.pour}`, t("See why")));
  return found;
}

// ---- the logo ----------------------------------------------------------------------------------

/** @param {HTMLElement} place @param {Fields | null} maker */
function drawLogo(place, maker) {
  slot(place, "no_logo").hidden = !maker?.logo;
  setText(slot(place, "logo_said"), maker?.logo ? t("Your logo stands on it.") : t("It has no logo."));
}

/** @param {HTMLElement} place @param {(text: string) => void} say */
function takeLogo(place, say) {
  const file = /** @type {HTMLInputElement} */ (slot(place, "file"));
  slot(place, "pick").addEventListener("click", () => file.click());
  slot(place, "no_logo").addEventListener("click", () =>
    tryToKeep(() => store.save("maker", "maker", { name: "maker", logo: null })),
  );
  file.addEventListener("change", async () => {
    const [picked] = file.files ?? [];
    file.value = "";
    if (picked === undefined) return;
    say("");
    const { logo, problem } = await readLogo(picked);
    if (problem) say(problem);
    else await tryToKeep(() => store.save("maker", "maker", { name: "maker", logo }));
  });
}
