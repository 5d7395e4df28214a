/**
 * What the board says at each step: one thing to do, one number, and why. Pure: state and `now` in,
 * words out. In a line, **…** marks what stands out.
 */
import { ready } from "../formulas/cure.js";
import { bounds } from "../formulas/load.js";
import { vesselBand } from "../formulas/weigh.js";
import { clockText, dayText, localDate } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { clashPrompt } from "./clash_prompt.js";
import { mixNow } from "./countdown.js";
import { percent } from "./display_units.js";
import { coolsAgain, filledOf, stageOf } from "./fold.js";
import { prompt } from "./prompt_shape.js";
import { vesselsOfJug } from "./sheet.js";
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
    ["ready", t("Make ready")],
    ["wax", t("Weigh wax")],
    ["melt", t("Melt")],
    sheet.extras.length > 0 && ["extras", t("Dye and additives")],
    ["cool", scented ? t("Cool to fragrance") : t("Cool to pour")],
    scented && ["fragrance", t("Weigh fragrance")],
    scented && ["add", t("Add fragrance")],
    scented && ["stir", t("Stir")],
    coolsAgain(sheet) && ["settle", t("Cool to pour")],
    ["pour", t("Pour")],
    ["set", t("Leave to set")],
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
  const clashing = clashingJug(state, jugIndex);
  if (clashing !== null) return clashPrompt(sheet, clashing, units);
  if (stage === "set") return leaveToSet(sheet, state, jugIndex, now_ms);
  const said = stepOf(sheet, state, jugIndex, now_ms, units, { ahead, whole });
  if (state.jugs[jugIndex].step === "done" || said.others.some(({ view }) => view === "countdown")) return said;
  return { ...said, others: [...said.others, { label: t("More"), view: "more" }] };
}

/** The jug of which two phones say it differently: this one, or once all are poured, any.
 * @param {PourState} state @param {number} jugIndex */
export function clashingJug(state, jugIndex) {
  const asked = stageOf(state) === "set" ? state.jugs : [state.jugs[jugIndex]];
  return asked.find(({ clashes }) => clashes.length > 0) ?? null;
}

/** @param {Sheet} sheet @param {PourState} state @param {number} jugIndex @param {number} now_ms
 * @param {DisplayUnits} units @param {{ahead: boolean, whole: boolean}} way @returns {Prompt} */
function stepOf(sheet, state, jugIndex, now_ms, units, { ahead, whole }) {
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
      return whole ? pourAll(sheet, jug, jugIndex, now_ms, units) : pour(sheet, jug, jugIndex, now_ms, units);
    default:
      return jugDone(sheet, jug, jugIndex, units);
  }
}

/** @param {Prompt} weighed @returns {Prompt} */
function aheadOf(weighed) {
  return { ...weighed, others: [...weighed.others, { label: t("Countdown"), view: "countdown" }] };
}

/** @param {Sheet} sheet */
function makeReady(sheet) {
  return prompt({
    step: "ready",
    title: t("Make ready"),
    doing: t("Before the wax goes on"),
    checks: [
      ...sheet.sizes.map(({ count, name }) =>
        t("{count} × {vessel}: clean, dry, at room temperature, level", { count, vessel: name }),
      ),
      sheet.wick ? t("Wick stuck and centred: {wick}", { wick: sheet.wick.name }) : t("Wicks stuck and centred"),
      plural(
        sheet.jugs.length,
        "Jug, scale and thermometer clean and dry",
        "Jugs, scale and thermometer clean and dry",
      ),
      t("Room aired; children and pets out"),
      t("A lid and a fire blanket within reach"),
    ],
    cautions: [
      t("These are the usual cautions. Your supplier's sheets and your local rules come first."),
      t("Never pour water on burning wax."),
    ],
    main: { label: t("All ready"), event: { type: "ready" } },
  });
}

/** @param {Sheet} sheet @param {JugState} jug @param {Weighing} weighed @param {number} jugIndex @param {DisplayUnits} units */
function weighing(sheet, jug, weighed, jugIndex, units) {
  const { part, index, target_g, low_g, high_g, read_g, verdict } = weighed;
  const step_g = part === "wax" ? sheet.step_g : sheet.fine_step_g;
  const text = (/** @type {number} */ grams) => units.text(grams, "mass", step_g);
  const several = jug.weighings.filter((each) => each.part === part).length > 1;
  const { number, unit } = units.amount(target_g, "mass", step_g);
  const lines = [];
  let doing = zeroThen(weighed, several);
  /** @type {Action} */
  let main = { label: t("Scale shows"), pad: "weigh", expected: target_g };
  /** @type {Action} */
  const reading = { label: t("Another number"), pad: "weigh" };
  let others = [reading];
  /** @type {Action} */
  const keep = {
    label: t("Keep {weight}", { weight: text(read_g ?? 0) }),
    event: { type: "accepted", jug: jugIndex, part, index },
  };
  if (verdict === "low" && read_g !== null) {
    doing = t("{weight} more, to", { weight: text(target_g - read_g) });
    lines.push(t("The scale showed **{weight}**.", { weight: text(read_g) }));
    if (part === "wax" && !several) lines.push(shortFill(sheet, jug, jugIndex, read_g, text));
    others = [keep, reading];
  } else if (verdict === "high" && read_g !== null) {
    doing = t("{weight} over. Take some out, to", { weight: text(read_g - target_g) });
    lines.push(part === "fragrance" ? moreWax(sheet, jug, text(read_g), units) : followed(text(read_g)));
    if (part === "wax") lines.push(...roomFor(sheet, jug, jugIndex, read_g - target_g, units));
    // Out of a cup it is easily taken.
    if (part === "fragrance") others = [keep, reading];
    else main = keep;
  } else {
    lines.push(goodEnough(sheet, part, low_g, high_g, text));
  }
  if (part === "fragrance" && verdict === "open") {
    lines.push(t("For the **{weight}** of wax in the jug.", { weight: units.text(jug.wax_g, "mass", sheet.step_g) }));
  }
  return prompt({
    step: part === "additive" ? "extras" : part,
    title: titleOf(part),
    doing,
    number,
    unit,
    lines,
    beam: { low_g, target_g, high_g, read_g },
    say: weighed.in_cup ? inCup(sheet, jug) : unzeroed(text(weighed.reads_g)),
    cautions: part === "fragrance" ? fragranceCautions(sheet, units) : [],
    main,
    others,
  });
}

/** @param {string} read */
function followed(read) {
  return t("The scale showed **{weight}**. Keep it, and the fragrance follows what is there.", { weight: read });
}

/** What too much fragrance in the cup asks for, where it is kept.
 * @param {Sheet} sheet @param {JugState} jug @param {string} read @param {DisplayUnits} units */
function moreWax(sheet, jug, read, units) {
  const { restored } = jug;
  if (!restored) return t("The scale showed **{weight}**. Keep it, and it takes more wax.", { weight: read });
  return t("The scale showed **{weight}**. Keep it, and it takes {wax} more wax.", {
    weight: read,
    wax: units.text(restored.wax_to_add_g, "mass", sheet.step_g),
  });
}

/** Why it is weighed in a cup of its own. @param {Sheet} sheet @param {JugState} jug */
function inCup(sheet, jug) {
  const scale = sheet.fine.name;
  return jug.step === "cool"
    ? t("In a cup, on {scale}: the wax is too hot", { scale })
    : t("In a cup, on {scale}: with the jug it would be too heavy for it", { scale });
}

/** @param {Weighing["part"]} part */
function titleOf(part) {
  if (part === "wax") return t("Weigh wax");
  return part === "additive" ? t("Dye and additives") : t("Weigh fragrance");
}

/** What goes on the scale, and what of; of a part that is one alone, what it is. @param {Weighing} weighed @param {boolean} several */
function zeroThen({ part, index, name, in_cup }, several) {
  const first = index === 0 && part === "wax";
  if (several || part === "additive") {
    if (first) return t("Jug on, zero, then {material} to", { material: name });
    return in_cup
      ? t("Cup on, zero, then {material} to", { material: name })
      : t("Zero, then {material} to", { material: name });
  }
  if (part === "wax") return first ? t("Jug on, zero, then wax to") : t("Zero, then wax to");
  return in_cup ? t("Cup on, zero, then fragrance to") : t("Zero, then fragrance to");
}

/** @param {string} weight */
function unzeroed(weight) {
  return t("Didn't zero? It should show **{weight}**", { weight });
}

/** @param {Sheet} sheet @param {DisplayUnits} units */
function fragranceCautions(sheet, units) {
  const usual = t("Gloves on, room aired, no flame near. The oil's safety sheet says more.");
  if (typeof sheet.flash_c !== "number" || sheet.flash_c >= sheet.fragrance.high_c) return [usual];
  return [
    t("Its vapour can catch fire from {flash} on, and the wax is hotter: no spark.", {
      flash: units.text(sheet.flash_c, "temperature", 1),
    }),
    usual,
  ];
}

/** What is near enough to the mark, and why. @param {Sheet} sheet @param {string} part
 * @param {number} low_g @param {number} high_g @param {(grams: number) => string} text */
function goodEnough(sheet, part, low_g, high_g, text) {
  const [low, high, load] = [text(low_g), text(high_g), percent(sheet.load)];
  if (low_g === high_g) {
    const exact = { weight: low, step: text(part === "wax" ? sheet.step_g : sheet.fine_step_g) };
    return part === "additive"
      ? t("Exactly **{weight}**: {step} is more than 2 % of it.", exact)
      : t("Exactly **{weight}**: {step} changes the load.", exact);
  }
  if (part === "additive") return t("Anything from **{low}** to **{high}** is within 2 %.", { low, high });
  if (part === "wax" && sheet.load === 0)
    return t("Anything from **{low}** to **{high}** keeps every vessel within 1 %.", { low, high });
  return t("Anything from **{low}** to **{high}** keeps the load at **{load}**.", { low, high, load });
}

/** What a shortage of wax does to the vessels. @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex
 * @param {number} wax_g @param {(grams: number) => string} text */
function shortFill(sheet, jug, jugIndex, wax_g, text) {
  const added = sheet.extras.reduce((sum, { fraction }) => sum + fraction, sheet.load);
  const free_g = Math.max(0, wax_g * (1 + added) - sheet.allowance_g);
  if (sheet.sizes.length > 1) {
    const part = Math.min(1, free_g / plannedG(sheet, jugIndex));
    return t("Keep it, and each vessel gets about {part} of its fill.", { part: percent(part, 1) });
  }
  return t("Keep it, and each vessel gets about {weight} instead of {planned}.", {
    weight: text(free_g / jug.vessels),
    planned: text(sheet.each_g),
  });
}

/** What the vessels of a jug take together by the plan, g. @param {Sheet} sheet @param {number} jugIndex */
function plannedG(sheet, jugIndex) {
  return vesselsOfJug(sheet, jugIndex).reduce((sum, { each_g }) => sum + each_g, 0);
}

/** What becomes of wax over the mark. @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex
 * @param {number} over_g @param {DisplayUnits} units */
function roomFor(sheet, jug, jugIndex, over_g, units) {
  const planned_g = plannedG(sheet, jugIndex) + sheet.allowance_g;
  const mix_g = planned_g * (1 + over_g / Math.max(1, jug.wax_g - over_g));
  const hot_ml = mix_g / sheet.molten_density;
  if (sheet.jug.volume_ml !== null && hot_ml > sheet.jug.volume_ml) {
    return [
      t("The jug would hold more than its **{volume}**: take some out.", {
        volume: units.text(sheet.jug.volume_ml, "volume"),
      }),
    ];
  }
  return [t("What the vessels do not need stays in the jug.")];
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {DisplayUnits} units */
function tooMuch(sheet, jug, jugIndex, units) {
  const restored = /** @type {import("../formulas/weigh.js").Restored} */ (jug.restored);
  const weighed = /** @type {Weighing} */ (jug.current);
  const text = (/** @type {number} */ grams) => units.text(grams, "mass", sheet.step_g);
  const lines = [
    t("**{weight}** of fragrance makes **{load}**; you asked for {asked}.", {
      weight: units.text(jug.fragrance_g, "mass", sheet.fine_step_g),
      load: percent(jug.load),
      asked: percent(sheet.load),
    }),
  ];
  if (!restored.jug_holds) {
    lines.push(
      t("The jug does not hold that much more: it takes {volume}.", {
        volume: units.text(sheet.jug.volume_ml ?? 0, "volume"),
      }),
    );
  } else if (restored.vessels_hold) {
    const each = { part: percent(restored.growth - 1) };
    lines.push(
      sheet.sizes.some(({ most_g }) => most_g === null)
        ? t("The jug holds it. Each vessel takes **{part}** more: look whether they hold it.", each)
        : t(
            "Jug and vessels hold it: each takes **{part}** more, higher than the line. " +
              "Melt it in, back to temperature.",
            each,
          ),
    );
  } else {
    lines.push(t("The jug holds it, the vessels do not: what is over stays in the jug."));
  }
  if (jug.load > sheet.highest_load + 1e-9) {
    lines.push(
      t("Leave it, and it is over the {highest} that this wax holds.", { highest: percent(sheet.highest_load) }),
    );
  }
  const { read_g, verdict } = weighed;
  const low = verdict === "low" && read_g !== null;
  return prompt({
    step: "fragrance",
    title: t("Too much fragrance"),
    doing: low
      ? t("{weight} more wax, to", { weight: text(weighed.target_g - read_g) })
      : t("To put it right, zero and add wax to"),
    ...units.amount(weighed.target_g, "mass", sheet.step_g),
    lines,
    beam: { low_g: weighed.low_g, target_g: weighed.target_g, high_g: weighed.high_g, read_g },
    say: unzeroed(text(weighed.reads_g)),
    main: { label: t("Scale shows"), pad: "weigh", expected: weighed.target_g },
    others: [
      { label: t("Another number"), pad: "weigh" },
      {
        label:
          read_g === null
            ? t("Leave it at {load}", { load: percent(jug.load) })
            : t("Keep {weight}", { weight: text(read_g) }),
        event: { type: "accepted", jug: jugIndex, part: "restore", index: 0 },
      },
    ],
  });
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {number} now_ms @param {DisplayUnits} units */
function add(sheet, jug, jugIndex, now_ms, units) {
  const said = addNow(sheet, jug, jugIndex, now_ms, units);
  if (!jug.reads.has("restore:0")) return said;
  const text = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const { low_c, high_c } = sheet.fragrance;
  const window = { low: text(low_c), high: text(high_c) };
  const last = jug.dips[jug.dips.length - 1];
  return {
    ...said,
    lines: [
      last
        ? t("It showed **{temperature}**. Fragrance goes in from {high} down to {low}.", {
            ...window,
            temperature: text(last.temp_c),
          })
        : t("The wax you added was cold. Melt it in on low heat, and read it: {high} down to {low}.", window),
      ...said.lines,
    ],
    cautions: [t("Never leave it on the heat."), ...said.cautions],
    others: [{ label: t("Thermometer shows…"), pad: /** @type {const} */ ("temperature") }],
  };
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {number} now_ms @param {DisplayUnits} units */
function addNow(sheet, jug, jugIndex, now_ms, units) {
  return prompt({
    step: "add",
    title: t("Add fragrance"),
    doing: t("Into the wax, slowly, stirring"),
    ...units.amount(jug.fragrance_g, "mass", sheet.fine_step_g),
    lines: [loadLine(sheet, jug), ...landing(sheet, jug, now_ms, units)],
    say: t("Touch the button to start {time} of stirring", { time: clockText(sheet.stir_s) }),
    cautions: fragranceCautions(sheet, units),
    main: { label: t("It's in: stir"), event: { type: "added", jug: jugIndex } },
  });
}

/** The load reached, and what the scale leaves open. @param {Sheet} sheet @param {JugState} jug */
export function loadLine(sheet, jug) {
  if (jug.wax_g <= sheet.step_g / 2) return t("There is no wax in the jug, as far as the scale can tell.");
  const [low, high] = bounds(jug.wax_g, jug.fragrance_g, sheet.step_g, sheet.fine_step_g);
  return t("Load **{load}** of the wax (the scale leaves {low} to {high})", {
    load: percent(jug.load),
    low: percent(low, 0.01),
    high: percent(high, 0.01),
  });
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {number} now_ms */
function stir(sheet, jug, jugIndex, now_ms) {
  const left_s = /** @type {number} */ (jug.added_at) / 1000 + sheet.stir_s - now_ms / 1000;
  return prompt({
    step: "stir",
    title: t("Stir"),
    doing: left_s > 0 ? t("Gently, all through, no bubbles") : t("Stirred long enough"),
    number: clockText(left_s),
    lines: [loadLine(sheet, jug)],
    main: { label: t("Stirred"), event: { type: "stirred", jug: jugIndex } },
  });
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {number} now_ms @param {DisplayUnits} units */
function pour(sheet, jug, jugIndex, now_ms, units) {
  const [vessel] = jug.open;
  const { name, each_g } = vesselsOfJug(sheet, jugIndex)[vessel];
  const target_g = jug.vessel_targets_g[vessel];
  const text = (/** @type {number} */ grams) => units.text(grams, "mass", sheet.step_g);
  const [low_g, high_g] = target_g > 0 ? vesselBand(target_g, sheet.step_g) : [0, 0];
  const round = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const lessThanPlanned =
    target_g < each_g * 0.97
      ? [t("It gets less than the planned {weight}: the jug holds less.", { weight: text(each_g) })]
      : [];
  return prompt({
    step: "pour",
    title: t("Pour · {vessel} of {vessels}", { vessel: vessel + 1, vessels: jug.vessels }),
    doing:
      sheet.sizes.length > 1 ? t("Put {vessel} on, zero, fill to", { vessel: name }) : t("Vessel on, zero, fill to"),
    ...units.amount(target_g, "mass", sheet.step_g),
    lines: [
      t("Then **{weight}** is left in the jug.", { weight: text(Math.max(0, jug.left_g - target_g)) }),
      t("{low} to {high} is good enough.", { low: text(low_g), high: text(high_g) }),
      ...lessThanPlanned,
      ...warmEnough(sheet, jug, now_ms, units),
    ],
    beam: { low_g, target_g, high_g, read_g: null },
    say: t("Pour between **{high}** and **{low}**", {
      high: round(sheet.pour.high_c),
      low: round(sheet.pour.low_c),
    }),
    cautions: [t("Pour slowly, hands and sleeves clear.")],
    main: { label: t("Scale shows"), pad: "vessel", expected: target_g },
    others: [
      { label: t("Another number"), pad: "vessel" },
      { label: t("Dip"), pad: "temperature" },
    ],
  });
}

/** All that is left of a jug, without a reading of each vessel.
 * @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {number} now_ms @param {DisplayUnits} units */
function pourAll(sheet, jug, jugIndex, now_ms, units) {
  const one = pour(sheet, jug, jugIndex, now_ms, units);
  const [first, ...then] = runsOf(sheet, jug, jugIndex);
  /** @type {Action} */
  const main = { label: t("All poured"), event: { type: "emptied", jug: jugIndex } };
  return {
    ...one,
    title: t("Pour"),
    doing:
      sheet.sizes.length > 1
        ? t("{count} × {vessel}, each to", first)
        : plural(first.count, "{n} vessel to", "{n} vessels, each to"),
    lines: [
      ...then.map(({ target_g, ...run }) =>
        t("Then {count} × {vessel}, each to **{weight}**.", {
          ...run,
          weight: units.text(target_g, "mass", sheet.step_g),
        }),
      ),
      ...one.lines.slice(1),
    ],
    main,
    others: one.others.slice(1),
  };
}

/** The vessels of a jug that are still to be filled, size by size. @param {Sheet} sheet @param {JugState} jug
 * @param {number} jugIndex */
export function runsOf(sheet, jug, jugIndex) {
  /** @type {{vessel: string, count: number, target_g: number}[]} */
  const runs = [];
  for (const [at, size] of vesselsOfJug(sheet, jugIndex).entries()) {
    const last = runs[runs.length - 1];
    if (!jug.open.includes(at)) continue;
    if (last?.vessel === size.name) last.count += 1;
    else runs.push({ vessel: size.name, count: 1, target_g: jug.vessel_targets_g[at] });
  }
  return runs;
}

/** How warm the mix is, and for how many more vessels that will do.
 * @param {Sheet} sheet @param {JugState} jug @param {number} now_ms @param {DisplayUnits} units */
function warmEnough(sheet, jug, now_ms, units) {
  const mix = mixNow(sheet, jug, now_ms);
  if (mix === null) return [];
  const round = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const remaining = jug.open.length;
  const temperature = round(mix.temp_c);
  if (mix.temp_c < sheet.pour.low_c) {
    return [
      t("The wax is at about **{temperature}**, under the {low} for pouring: warm it back.", {
        temperature,
        low: round(sheet.pour.low_c),
      }),
    ];
  }
  if (mix.enough_for >= remaining)
    return [t("The wax is at about **{temperature}**: warm enough to the last.", { temperature })];
  return [
    t("The wax is at about **{temperature}**: at this pace warm enough for **{enough}** more of {remaining}.", {
      temperature,
      enough: mix.enough_for,
      remaining,
    }),
  ];
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {DisplayUnits} units */
function jugDone(sheet, jug, jugIndex, units) {
  return prompt({
    step: "set",
    title: t("Jug done"),
    doing: jug.stopped
      ? t("Jug {number} is put aside. Go on with the other one.", { number: jugIndex + 1 })
      : t("Jug {number} is poured. Go on with the other one.", { number: jugIndex + 1 }),
    lines: [
      jug.left_g >= sheet.step_g
        ? t("About {weight} is left in it.", { weight: units.text(jug.left_g, "mass", sheet.step_g) })
        : t("Wipe it while it is warm."),
    ],
    others: another(sheet, jug),
  });
}

/** What is left can go into a vessel that was not planned. @param {Sheet} sheet @param {JugState} jug @returns {Action[]} */
function another(sheet, jug) {
  return jug.left_g >= sheet.step_g ? [{ label: t("Fill another vessel"), pad: "other" }] : [];
}

/** @param {Sheet} sheet @param {PourState} state @param {number} jugIndex @param {number} now_ms */
function leaveToSet(sheet, state, jugIndex, now_ms) {
  const today = localDate(now_ms);
  const counts = filledOf(state);
  if (counts.filled + counts.others === 0) return nothingPoured(sheet, state.jugs[jugIndex]);
  return prompt({
    step: "set",
    title: t("Leave to set"),
    doing:
      counts.filled < counts.planned
        ? t("{filled} of {planned} poured. Leave them level, out of draughts", counts)
        : t("All poured. Leave them level, out of draughts"),
    others: another(sheet, state.jugs[jugIndex]),
    number: t("overnight"),
    lines: [
      t("Trim, look at the tops and label **tomorrow**."),
      t("It is cured from **{cured}**, fully cured from **{best}**.", {
        cured: dayText(ready(today, sheet.cure_least_days)),
        best: dayText(ready(today, sheet.cure_best_days)),
      }),
    ],
    cautions: [t("Heat off. Do not move them while they are liquid.")],
    main: { label: t("Set aside"), event: { type: "set", on: today } },
  });
}

/** Every jug was put aside before a vessel was filled. @param {Sheet} sheet @param {JugState} jug */
function nothingPoured(sheet, jug) {
  return prompt({
    step: "set",
    title: t("Nothing poured"),
    doing: t("No vessel is filled. Close this pour"),
    cautions: [t("Heat off. Never pour wax down a drain.")],
    main: { label: t("Close it"), event: { type: "abandoned" } },
    others: another(sheet, jug),
  });
}
