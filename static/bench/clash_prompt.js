/** What the board asks where two phones say it differently: both, and which is right. Pure: state in, words out. */
import { timeText } from "../words/dates.js";
import { t } from "../words/door.js";
import { prompt } from "./prompt_shape.js";

/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("./fold.js").JugState} JugState */
/** @typedef {import("./fold.js").Clash} Clash */
/** @typedef {import("./answers.js").Answer} Answer */
/** @typedef {import("./display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("./prompt_shape.js").Action} Action */

/** What is asked of the first clash in a jug. @param {Sheet} sheet @param {JugState} jug @param {DisplayUnits} units */
export function clashPrompt(sheet, jug, units) {
  const [clash] = jug.clashes;
  const [main, ...others] = choicesOf(clash, sheet, jug, units);
  return prompt({
    step: jug.step === "done" ? "set" : jug.step === "over" ? "fragrance" : jug.step,
    title: t("Which is right?"),
    doing: askedOf(clash, jug),
    lines: [...clash.answers.standing.map((answer) => toldBy(answer, sheet, jug, units))],
    main,
    others,
  });
}

/** A button for each answer: those against it count no more. @param {Clash} clash @param {Sheet} sheet @param {JugState} jug
 * @param {DisplayUnits} units @returns {Action[]} */
export function choicesOf({ answers }, sheet, jug, units) {
  return answers.standing.map((answer) => ({
    label: answerText(answer, sheet, jug, units),
    undo: answers.against(answer),
  }));
}

/** What two phones say differently. @param {Clash} clash @param {JugState} jug @returns {string} */
export function askedOf({ question, answers }, jug) {
  const { event } = answers.standing[0];
  switch (event.type) {
    case "weighed":
    case "accepted": {
      const { part, index } = event;
      const found = jug.weighings.find((each) => each.part === part && each.index === index);
      return t("Two phones differ. What did the scale show of {material}?", { material: found?.name ?? part });
    }
    case "poured":
    case "skipped":
      return t("Two phones differ. What is in vessel {n}?", { n: Number(question.split(" ")[1]) + 1 });
    case "emptied":
    case "stopped":
      return t("Two phones differ. How many vessels are filled?");
    case "spilled":
      return t("Two phones differ. How much was left after the spill?");
    default:
      return t("Two phones differ. What is in the vessel that was not planned?");
  }
}

/** Who says what, and when. @param {Answer} answer @param {Sheet} sheet @param {JugState} jug @param {DisplayUnits} units */
export function toldBy(answer, sheet, jug, units) {
  const { at, by } = answer.event;
  const told = { answer: answerText(answer, sheet, jug, units), time: timeText(at), who: by ?? "" };
  return by ? t("**{answer}**, says {who}, {time}", told) : t("**{answer}**, {time}", told);
}

/** @param {Answer} answer @param {Sheet} sheet @param {JugState} jug @param {DisplayUnits} units */
function answerText({ event, value, kept }, sheet, jug, units) {
  if (event.type === "emptied" || event.type === "stopped") {
    return t("{filled} of {vessels}", { filled: value ?? event.vessel ?? 0, vessels: jug.vessels });
  }
  if (event.type === "skipped") return t("not filled");
  if (value === null) return t("left as it is");
  const fine = "part" in event && (event.part === "additive" || event.part === "fragrance");
  const weight = units.text(value, "mass", fine ? sheet.fine_step_g : sheet.step_g);
  return kept ? t("{weight}, kept", { weight }) : weight;
}
