/**
 * What the board says at each step: one thing to do, one number, and why. Pure: state and `now` in,
 * words out. In a line, **…** marks what stands out.
 */
import { ready } from "../formulas/cure.js";
import { bounds } from "../formulas/load.js";
import { vesselBand } from "../formulas/weigh.js";
import { clockText, dayText, localDate } from "../words/dates.js";
import { mixNow } from "./countdown.js";
import { percent } from "./display_units.js";
import { coolsAgain, stageOf } from "./fold.js";
import { prompt } from "./prompt_shape.js";
import { cool, landing, melt, nextFragrance } from "./temperature_prompt.js";

/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("./fold.js").PourState} PourState */
/** @typedef {import("./fold.js").JugState} JugState */
/** @typedef {import("./fold.js").Weighing} Weighing */
/** @typedef {import("./display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("./prompt_shape.js").Action} Action */
/** @typedef {import("./prompt_shape.js").Prompt} Prompt */

/** What a jug goes through, in order, with the names of the steps. @param {Sheet} sheet @returns {[string, string][]} */
export function stepsOf(sheet) {
  const scented = sheet.load > 0;
  /** @type {([string, string] | false)[]} */
  const steps = [
    ["ready", "Make ready"],
    ["wax", "Weigh wax"],
    ["melt", "Melt"],
    sheet.extras.length > 0 && ["extras", "Dye and additives"],
    ["cool", scented ? "Cool to fragrance" : "Cool to pour"],
    scented && ["fragrance", "Weigh fragrance"],
    scented && ["add", "Add fragrance"],
    scented && ["stir", "Stir"],
    coolsAgain(sheet) && ["settle", "Cool to pour"],
    ["pour", "Pour"],
    ["set", "Leave to set"],
  ];
  return steps.filter((step) => step !== false);
}

/**
 * @param {Sheet} sheet @param {PourState} state @param {number} jugIndex @param {number} now_ms
 * @param {DisplayUnits} units
 * @param {{ahead?: boolean, whole?: boolean}} [way] ahead: weighing the fragrance while the wax cools;
 *   whole: a jug is poured in one go, its vessels not counted
 * @returns {Prompt}
 */
export function promptFor(sheet, state, jugIndex, now_ms, units, { ahead = false, whole = false } = {}) {
  const stage = stageOf(state);
  if (stage === "ready") return makeReady(sheet);
  if (stage === "set") return leaveToSet(sheet, now_ms);
  const jug = state.jugs[jugIndex];
  if (ahead && jug.step === "cool") {
    const weighed = nextFragrance(jug);
    if (weighed) return aheadOf(weighing(sheet, jug, weighed, jugIndex, units));
  }
  switch (jug.step) {
    case "wax":
    case "extras":
    case "fragrance":
      return weighing(sheet, jug, /** @type {Weighing} */ (jug.current), jugIndex, units);
    case "melt":
      return melt(sheet, jug, jugIndex, now_ms, units);
    case "cool":
    case "settle":
      return cool(sheet, jug, jugIndex, now_ms, units);
    case "over":
      return tooMuch(sheet, jug, jugIndex, units);
    case "add":
      return add(sheet, jug, jugIndex, now_ms, units);
    case "stir":
      return stir(sheet, jug, jugIndex, now_ms);
    case "pour":
      return whole ? pourAll(sheet, jug, jugIndex, now_ms, units) : pour(sheet, jug, now_ms, units);
    default:
      return jugDone(jugIndex);
  }
}

/** @param {Prompt} weighed @returns {Prompt} */
function aheadOf(weighed) {
  return { ...weighed, others: [...weighed.others, { label: "Countdown", view: "countdown" }] };
}

/** @param {Sheet} sheet */
function makeReady(sheet) {
  return prompt({
    step: "ready",
    title: "Make ready",
    doing: "Before the wax goes on",
    checks: [
      `${sheet.count} × ${sheet.vessel.name}: clean, dry, at room temperature, level`,
      sheet.wick ? `Wick stuck and centred: ${sheet.wick.name}` : "Wicks stuck and centred",
      `Jug${sheet.jugs.length > 1 ? "s" : ""}, scale and thermometer clean and dry`,
      "Room aired; children and pets out",
      "A lid and a fire blanket within reach",
    ],
    cautions: [
      "These are the usual cautions. Your supplier's sheets and your local rules come first.",
      "Never pour water on burning wax.",
    ],
    main: { label: "All ready", event: { type: "ready" } },
  });
}

/** @param {Sheet} sheet @param {JugState} jug @param {Weighing} weighed @param {number} jugIndex @param {DisplayUnits} units */
function weighing(sheet, jug, weighed, jugIndex, units) {
  const { part, index, target_g, low_g, high_g, read_g, verdict } = weighed;
  const step_g = part === "wax" ? sheet.step_g : sheet.fine_step_g;
  const text = (/** @type {number} */ grams) => units.text(grams, "mass", step_g);
  const title = { wax: "Weigh wax", additive: "Dye and additives", fragrance: "Weigh fragrance", restore: "" }[part];
  const several = jug.weighings.filter((each) => each.part === part).length > 1;
  const name = several || part === "additive" ? weighed.name : part === "wax" ? "wax" : "fragrance";
  const { number, unit } = units.amount(target_g, "mass", step_g);
  const lines = [];
  const first = index === 0 && part === "wax";
  let doing = `${first ? "Jug on, zero" : weighed.in_cup ? "Cup on, zero" : "Zero"}, then ${name} to`;
  /** @type {Action} */
  let main = { label: "It reads", pad: "weigh", expected: target_g };
  /** @type {Action} */
  const reading = { label: "It reads…", pad: "weigh" };
  let others = [reading];
  const keep = { label: `Keep ${text(read_g ?? 0)}`, event: { type: "accepted", jug: jugIndex, part, index } };
  if (verdict === "low" && read_g !== null) {
    doing = `${text(target_g - read_g)} more, to`;
    lines.push(`It read **${text(read_g)}**.`);
    if (part === "wax" && !several) lines.push(shortFill(sheet, jug, read_g, text));
    others = [keep, reading];
  } else if (verdict === "high" && read_g !== null) {
    doing = `${text(read_g - target_g)} over. Take some out, to`;
    lines.push(`It read **${text(read_g)}**. Kept as it is, the fragrance follows what is really there.`);
    if (part === "wax") lines.push(...roomFor(sheet, jug, read_g - target_g, units));
    main = keep;
  } else {
    lines.push(goodEnough(sheet, part, low_g, high_g, text));
  }
  if (part === "fragrance" && verdict === "open") {
    lines.push(`For the **${units.text(jug.wax_g, "mass", sheet.step_g)}** of wax that is really in.`);
  }
  return prompt({
    step: part === "additive" ? "extras" : part,
    title,
    doing,
    number,
    unit,
    lines,
    beam: { low_g, target_g, high_g, read_g },
    say: weighed.in_cup
      ? `In a cup, on ${sheet.fine.name}: with the jug it would be too heavy for it`
      : `Nothing zeroed? Then **${text(weighed.reads_g)}**`,
    cautions: part === "fragrance" ? fragranceCautions(sheet, units) : [],
    main,
    others,
  });
}

/** @param {Sheet} sheet @param {DisplayUnits} units */
function fragranceCautions(sheet, units) {
  const usual = "Gloves on, room aired, no flame near: the oil's safety data sheet says what else.";
  if (typeof sheet.flash_c !== "number" || sheet.flash_c >= sheet.fragrance.high_c) return [usual];
  const flash = units.text(sheet.flash_c, "temperature", 1);
  return [`Its vapour can catch fire from ${flash} on, and the wax is hotter: no flame, no spark.`, usual];
}

/** @param {Sheet} sheet @param {string} part @param {number} low_g @param {number} high_g
 * @param {(grams: number) => string} text */
function goodEnough(sheet, part, low_g, high_g, text) {
  if (low_g === high_g) {
    const why = part === "additive" ? "is more than 2 % of it" : "already shows in the load";
    return `**${text(low_g)}** exactly: one step of the scale ${why}.`;
  }
  const why = {
    wax: sheet.load > 0 ? `keeps the load at **${percent(sheet.load)}**` : "keeps every vessel within 1 %",
    fragrance: `keeps the load at **${percent(sheet.load)}**`,
    additive: "is within 2 %",
  }[part];
  return `Anything from **${text(low_g)}** to **${text(high_g)}** ${why ?? "will do"}.`;
}

/** What a shortage of wax does to the vessels. @param {Sheet} sheet @param {JugState} jug @param {number} wax_g
 * @param {(grams: number) => string} text */
function shortFill(sheet, jug, wax_g, text) {
  const added = sheet.extras.reduce((sum, { fraction }) => sum + fraction, sheet.load);
  const each_g = Math.max(0, wax_g * (1 + added) - sheet.allowance_g) / jug.vessels;
  return `Kept as it is, each vessel gets about ${text(each_g)} instead of ${text(sheet.each_g)}.`;
}

/** What becomes of wax over the mark. @param {Sheet} sheet @param {JugState} jug @param {number} over_g @param {DisplayUnits} units */
function roomFor(sheet, jug, over_g, units) {
  const mix_g = (sheet.each_g * jug.vessels + sheet.allowance_g) * (1 + over_g / Math.max(1, jug.wax_g - over_g));
  const hot_ml = mix_g / sheet.molten_density;
  if (sheet.jug.volume_ml !== null && hot_ml > sheet.jug.volume_ml) {
    return [`The jug would hold more than its **${units.text(sheet.jug.volume_ml, "volume")}**: take some out.`];
  }
  return ["What the vessels do not need stays in the jug."];
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {DisplayUnits} units */
function tooMuch(sheet, jug, jugIndex, units) {
  const restored = /** @type {import("../formulas/weigh.js").Restored} */ (jug.restored);
  const weighed = /** @type {Weighing} */ (jug.current);
  const text = (/** @type {number} */ grams) => units.text(grams, "mass", sheet.step_g);
  const lines = [
    `**${units.text(jug.fragrance_g, "mass", sheet.fine_step_g)}** of fragrance makes **${percent(jug.load)}**; ` +
      `you asked for ${percent(sheet.load)}.`,
  ];
  if (!restored.jug_holds) {
    lines.push(`The jug does not hold that much more: it takes ${units.text(sheet.jug.volume_ml ?? 0, "volume")}.`);
  } else if (restored.vessels_hold) {
    const each = `**${text(restored.each_g)}** in each instead of ${text(sheet.each_g)}`;
    lines.push(
      sheet.vessel.most_g === null
        ? `The jug holds it. ${each}: look whether the vessels do.`
        : `Jug and vessels hold it: ${each}, higher than the line. Melt it in, back to temperature.`,
    );
  } else {
    lines.push("The jug holds it, the vessels do not: what is over stays in the jug.");
  }
  if (jug.load > sheet.highest_load + 1e-9) {
    lines.push(`Left as it is, it is over the ${percent(sheet.highest_load)} that this wax holds.`);
  }
  const { read_g, verdict } = weighed;
  const low = verdict === "low" && read_g !== null;
  return prompt({
    step: "fragrance",
    title: "Too much fragrance",
    doing: low ? `${text(weighed.target_g - read_g)} more wax, to` : "To put it right, zero and add wax to",
    ...units.amount(weighed.target_g, "mass", sheet.step_g),
    lines,
    beam: { low_g: weighed.low_g, target_g: weighed.target_g, high_g: weighed.high_g, read_g },
    say: `Nothing zeroed? Then **${text(weighed.reads_g)}**`,
    main: { label: "It reads", pad: "weigh", expected: weighed.target_g },
    others: [
      { label: "It reads…", pad: "weigh" },
      {
        label: read_g === null ? `Leave it at ${percent(jug.load)}` : `Keep ${text(read_g)}`,
        event: { type: "accepted", jug: jugIndex, part: "restore", index: 0 },
      },
    ],
  });
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {number} now_ms @param {DisplayUnits} units */
function add(sheet, jug, jugIndex, now_ms, units) {
  return prompt({
    step: "add",
    title: "Add fragrance",
    doing: "Into the wax, slowly, stirring",
    ...units.amount(jug.fragrance_g, "mass", sheet.fine_step_g),
    lines: [loadLine(sheet, jug), ...landing(sheet, jug, now_ms, units)],
    say: `The clock for ${clockText(sheet.stir_s)} of stirring starts with the button`,
    cautions: fragranceCautions(sheet, units),
    main: { label: "It's in: stir", event: { type: "added", jug: jugIndex } },
  });
}

/** The load reached, and what the scale leaves open. @param {Sheet} sheet @param {JugState} jug */
export function loadLine(sheet, jug) {
  if (jug.wax_g <= sheet.step_g / 2) return "There is no wax in the jug, as far as the scale can tell.";
  const [low, high] = bounds(jug.wax_g, jug.fragrance_g, sheet.step_g, sheet.fine_step_g);
  return `Load **${percent(jug.load)}** of the wax (the scale leaves ${percent(low, 0.01)} to ${percent(high, 0.01)})`;
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {number} now_ms */
function stir(sheet, jug, jugIndex, now_ms) {
  const left_s = /** @type {number} */ (jug.added_at) / 1000 + sheet.stir_s - now_ms / 1000;
  return prompt({
    step: "stir",
    title: "Stir",
    doing: left_s > 0 ? "Gently, all through, no bubbles" : "Stirred long enough",
    number: clockText(left_s),
    lines: [loadLine(sheet, jug)],
    main: { label: "Stirred", event: { type: "stirred", jug: jugIndex } },
  });
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} now_ms @param {DisplayUnits} units */
function pour(sheet, jug, now_ms, units) {
  const vessel = jug.poured.length;
  const target_g = jug.vessel_targets_g[vessel];
  const text = (/** @type {number} */ grams) => units.text(grams, "mass", sheet.step_g);
  const [low_g, high_g] = target_g > 0 ? vesselBand(target_g, sheet.step_g) : [0, 0];
  const round = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  return prompt({
    step: "pour",
    title: `Pour · ${vessel + 1} of ${jug.vessels}`,
    doing: "Vessel on, zero, fill to",
    ...units.amount(target_g, "mass", sheet.step_g),
    lines: [
      `left in the jug after this: **${text(Math.max(0, jug.left_g - target_g))}**`,
      `${text(low_g)} to ${text(high_g)} is good enough`,
      ...warmEnough(sheet, jug, now_ms, units),
    ],
    beam: { low_g, target_g, high_g, read_g: null },
    say: `Pour between **${round(sheet.pour.high_c)}** and **${round(sheet.pour.low_c)}**, slowly, hands and sleeves clear`,
    main: { label: "It reads", pad: "vessel", expected: target_g },
    others: [
      { label: "It reads…", pad: "vessel" },
      { label: "Dip", pad: "temperature" },
    ],
  });
}

/** All that is left of a jug, without a reading of each vessel.
 * @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {number} now_ms @param {DisplayUnits} units */
function pourAll(sheet, jug, jugIndex, now_ms, units) {
  const one = pour(sheet, jug, now_ms, units);
  const remaining = jug.vessels - jug.poured.length;
  return {
    ...one,
    title: "Pour",
    doing: `${remaining} ${remaining > 1 ? "vessels, each" : "vessel"} to`,
    lines: one.lines.slice(1),
    main: { label: "All poured", event: { type: "emptied", jug: jugIndex } },
    others: one.others.slice(1),
  };
}

/** How warm the mix is, and for how many more vessels that will do.
 * @param {Sheet} sheet @param {JugState} jug @param {number} now_ms @param {DisplayUnits} units */
function warmEnough(sheet, jug, now_ms, units) {
  const mix = mixNow(sheet, jug, now_ms);
  if (mix === null) return [];
  const round = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const remaining = jug.vessels - jug.poured.length;
  if (mix.temp_c < sheet.pour.low_c) {
    return [
      `the wax is at about **${round(mix.temp_c)}**, under the ${round(sheet.pour.low_c)} for pouring: warm it back`,
    ];
  }
  if (mix.enough_for >= remaining) return [`the wax is at about **${round(mix.temp_c)}**: warm enough to the last`];
  return [
    `the wax is at about **${round(mix.temp_c)}**: at this pace warm enough for **${mix.enough_for}** more of ${remaining}`,
  ];
}

/** @param {number} jugIndex */
function jugDone(jugIndex) {
  return prompt({
    step: "set",
    title: "Jug empty",
    doing: `Jug ${jugIndex + 1} is poured. Go on with the other one.`,
    lines: ["Wipe it while it is warm."],
  });
}

/** @param {Sheet} sheet @param {number} now_ms */
function leaveToSet(sheet, now_ms) {
  const today = localDate(now_ms);
  return prompt({
    step: "set",
    title: "Leave to set",
    doing: "All poured. Leave them level, out of draughts",
    number: "overnight",
    lines: [
      "Trim, look at the tops and label **tomorrow**.",
      `Cured from **${dayText(ready(today, sheet.cure_least_days))}**, best from **${dayText(ready(today, sheet.cure_best_days))}**.`,
    ],
    cautions: ["Heat off. Do not move them while they are liquid."],
    main: { label: "Set aside", event: { type: "set", on: today } },
  });
}
