/** What the board says while wax is heated and while it cools to a temperature. */

import { afterFragrance, meltBursts, meltTimeS, warmTo } from "../formulas/heat.js";
import { clockText, timeText } from "../words/dates.js";
import { InputError, t } from "../words/door.js";
import { mixNow, riseOf, tooHot, waitOf } from "./countdown.js";
import { coolsAgain } from "./fold.js";
import { prompt } from "./prompt_shape.js";
import { meltEnergyOf } from "./sheet.js";

/** @typedef {import("./sheet.js").Sheet} Sheet */
/** @typedef {import("./fold.js").JugState} JugState */
/** @typedef {import("./display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("./prompt_shape.js").Action} Action */
/** @typedef {import("./prompt_shape.js").Prompt} Prompt */
/** @typedef {import("./countdown.js").Wait} Wait */

/** So long before the highest temperature the heat is to be turned down. */
const TURN_DOWN_MS = 3 * 60_000;

/** A reading older than this says little of what the next will be. */
const RECENT_MS = 10 * 60_000;

/** Of the button that asks for a reading first, and takes one that an instrument or she herself tells. @returns {Action} */
const read = () => ({ label: t("Thermometer shows…"), pad: "temperature", expected: null });

/** Where an instrument tells one: what she reads herself. @returns {Action} */
const another = () => ({ label: t("Another number"), pad: "temperature" });

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {number} now_ms @param {DisplayUnits} units
 * @returns {Prompt} */
export function melt(sheet, jug, jugIndex, now_ms, units) {
  const round = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const hot = tooHot(sheet, jug);
  if (hot) return overheated(sheet, hot, units, { step: "melt", title: t("Melt"), others: [melted(jugIndex)] });
  const rise = riseOf(sheet, jug, sheet.highest_c);
  const cautions = onHeat();
  const lines = meltTime(sheet, jug);
  const last = jug.dips[jug.dips.length - 1];
  if (last)
    lines.push(
      t("It showed **{temperature}** at {time}.", {
        temperature: fine(sheet, units, last.temp_c),
        time: timeText(last.at),
      }),
    );
  if (rise !== null && rise.at_ms !== null) {
    lines.push(
      t("It rises **{rate}** a minute: {highest} at {time}.", {
        rate: difference(units, rise.rate_c_per_min),
        highest: round(sheet.highest_c),
        time: timeText(rise.at_ms),
      }),
    );
    if (rise.at_ms - now_ms < TURN_DOWN_MS) {
      cautions.unshift(
        t("Heat down now: {highest} in about {time}.", {
          highest: round(sheet.highest_c),
          time: clockText((rise.at_ms - now_ms) / 1000),
        }),
      );
    }
  }
  return prompt({
    step: "melt",
    title: t("Melt"),
    doing: t("Gently, until clear. Never over"),
    ...units.amount(sheet.highest_c, "temperature", 1),
    lines,
    cautions,
    main: melted(jugIndex),
    others: [{ ...another(), label: t("Thermometer shows…") }],
  });
}

const neverLeave = () => t("Never leave melting wax.");
const noFlame = () => t("No flame under the jug: use a water bath or a melter.");
const ifItSmokes = () => t("If it smokes: heat off, lid on. Never water.");

const onHeat = () => [neverLeave(), noFlame(), ifItSmokes()];

/** @param {number} jugIndex @returns {Action} */
function melted(jugIndex) {
  return { label: t("All melted"), event: { type: "melted", jug: jugIndex } };
}

/** Wax that was read to be too hot: nothing else matters until it reads less.
 * @param {Sheet} sheet @param {import("./fold.js").Dip} hot @param {DisplayUnits} units
 * @param {{step: string, title: string, others: Action[]}} at */
function overheated(sheet, hot, units, at) {
  return prompt({
    ...at,
    doing: t("Too hot. Heat off, lid on. It showed"),
    ...units.amount(hot.temp_c, "temperature", Math.max(0.1, sheet.thermometer_step_c)),
    lines: [
      t("This wax may not get hotter than **{highest}**. Read it again, until it shows less.", {
        highest: units.text(sheet.highest_c, "temperature", 1),
      }),
    ],
    cautions: [ifItSmokes(), neverLeave(), noFlame()],
    main: read(),
  });
}

/** How long it should take with her heater. @param {Sheet} sheet @param {JugState} jug */
function meltTime(sheet, jug) {
  const { heater } = sheet;
  if (!heater || jug.wax_g <= 0) return [];
  const energy_j = meltEnergyOf(sheet, jug.wax_g);
  if (heater.way === "microwave") {
    const [whole, rest_s] = meltBursts(energy_j, heater.power_w, heater.efficiency, heater.burst_s);
    const bursts = { count: whole, burst: clockText(heater.burst_s), last: clockText(rest_s) };
    return [
      rest_s >= 1
        ? t("It takes about **{count}** bursts of {burst} and one of {last}. Stir between them.", bursts)
        : t("It takes about **{count}** bursts of {burst}. Stir between them.", bursts),
    ];
  }
  const took_s = meltTimeS(energy_j, heater.power_w, heater.efficiency);
  const time = clockText(Math.round(took_s / 60) * 60);
  if (jug.weighed_at === null) return [t("It takes about **{time}** with {heater}.", { time, heater: heater.name })];
  return [
    t("It takes about **{time}** with {heater}, until {ready}.", {
      time,
      heater: heater.name,
      ready: timeText(jug.weighed_at + took_s * 1000),
    }),
  ];
}

/** @param {Sheet} sheet @param {JugState} jug @param {number} jugIndex @param {number} now_ms @param {DisplayUnits} units
 * @returns {Prompt} */
export function cool(sheet, jug, jugIndex, now_ms, units) {
  const forFragrance = jug.step === "cool" && sheet.load > 0;
  const wait = waitOf(sheet, jug, now_ms);
  const { low_c, target_c, high_c } = wait.window;
  const round = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const goOn = (/** @type {string} */ label) => ({
    label,
    event: { type: /** @type {const} */ ("went_on"), jug: jugIndex },
  });
  /** @type {Partial<Prompt> & {step: string, title: string}} */
  const base = {
    step: jug.step,
    title: forFragrance ? t("Cool to fragrance") : t("Cool to pour"),
    chart: jug.dips.length > 0,
    say: forFragrance
      ? t("Fragrance goes in from **{high}** down to **{low}**", { high: round(high_c), low: round(low_c) })
      : t("Pour from **{high}** down to **{low}**", { high: round(high_c), low: round(low_c) }),
    main: read(),
  };
  const hot = tooHot(sheet, jug);
  if (hot) return overheated(sheet, hot, units, { step: base.step, title: base.title, others: [] });
  const odd = oddLine(wait, units);
  const trouble = wait.problem === null ? [] : [wait.problem.message];
  switch (wait.phase) {
    case "unread":
      return prompt({
        ...base,
        doing: jug.warming ? t("Low heat, stirring, back to") : t("Off the heat. Stir, dip. Waiting for"),
        ...units.amount(target_c, "temperature", 1),
        lines: [
          jug.warming
            ? t("No hotter than {highest}. Read it as it rises.", { highest: round(sheet.highest_c) })
            : t("Dip in the middle of the jug. The countdown starts from what it shows."),
        ],
        cautions: jug.warming ? onHeat() : [],
        others: [goOn(t("Skip measuring")), another()],
      });
    case "warming":
      return warmingUp(base, sheet, jug, wait, now_ms, units);
    case "cold": {
      const now_c = /** @type {number} */ (wait.temp_c);
      return prompt({
        ...base,
        doing: t("Too cool. Warm it back by"),
        ...units.amount(degrees(units, target_c) - degrees(units, now_c), "temperature difference", 0.1),
        lines: [
          ...trouble,
          ...odd,
          t("It is at about **{temperature}**.", { temperature: fine(sheet, units, now_c) }),
          t("Low heat, stirring, no hotter than {highest}.", { highest: round(sheet.highest_c) }),
        ],
        cautions: [noFlame()],
        others: [
          { label: t("On the heat"), event: { type: "warmed", jug: jugIndex } },
          goOn(forFragrance ? t("Add it anyway") : t("Pour anyway")),
          another(),
        ],
      });
    }
    case "open": {
      // A forecast is not a reading, and is not told as one.
      const isRead = jug.dips[jug.dips.length - 1].temp_c <= high_c;
      const left_s = wait.closes_ms === null ? null : (wait.closes_ms - now_ms) / 1000;
      const closing =
        left_s === null
          ? []
          : [
              t("It is too cool in about **{time}**, at {clock}.", {
                time: clockText(left_s),
                clock: timeText(/** @type {number} */ (wait.closes_ms)),
              }),
            ];
      return prompt({
        ...base,
        doing: isRead
          ? forFragrance
            ? t("Fragrance now, at")
            : t("Pour now, at")
          : t("Dip to be sure. It should be at about"),
        ...units.amount(/** @type {number} */ (wait.temp_c), "temperature", 0.1),
        lines: [...trouble, ...odd, ...closing, ...(forFragrance ? landing(sheet, jug, now_ms, units) : [])],
        main: goOn(forFragrance ? t("Fragrance now") : t("Pour now")),
        others: [{ ...another(), label: t("Dip again") }],
      });
    }
    case "hot":
      return countingDown(base, sheet, jug, wait, now_ms, units);
    default:
      return prompt({
        ...base,
        doing: t("No forecast yet. Waiting for"),
        ...units.amount(target_c, "temperature", 1),
        lines: [wait.problem?.message ?? ""],
        others: [another()],
      });
  }
}

/** @param {Partial<Prompt> & {step: string, title: string}} base @param {Sheet} sheet @param {JugState} jug
 * @param {Wait} wait @param {number} now_ms @param {DisplayUnits} units */
function countingDown(base, sheet, jug, wait, now_ms, units) {
  const forecast = /** @type {import("../formulas/cooling/forecast.js").Forecast} */ (wait.forecast);
  const at_ms = /** @type {number} */ (wait.at_ms);
  const [low_ms, high_ms] = [/** @type {number} */ (wait.low_ms), /** @type {number} */ (wait.high_ms)];
  const lines = [
    ...oddLine(wait, units),
    t("At {time}, ± {doubt}.", { doubt: clockText((high_ms - low_ms) / 2000), time: timeText(at_ms) }),
    t("It is at about **{temperature}** and falls {rate} a minute.", {
      temperature: fine(sheet, units, /** @type {number} */ (wait.temp_c)),
      rate: difference(units, forecast.rate_c_per_min),
    }),
  ];
  const forFragrance = jug.step === "cool" && sheet.load > 0;
  if (wait.opens_ms !== null && wait.closes_ms !== null) {
    const times = { opens: timeText(wait.opens_ms), closes: timeText(wait.closes_ms) };
    lines.push(
      forFragrance ? t("Add between {opens} and {closes}.", times) : t("Pour between {opens} and {closes}.", times),
    );
  }
  if (forecast.restarted) lines.push(t("It rose in between: only what came after that counts."));
  /** @type {Action[]} */
  const meanwhile = forFragrance && nextFragrance(jug) ? [{ label: t("Weigh fragrance"), view: "fragrance" }] : [];
  return prompt({
    ...base,
    doing: t("{temperature} in", { temperature: units.text(wait.window.target_c, "temperature", 1) }),
    number: clockText((at_ms - now_ms) / 1000),
    lines,
    say: dipAgain(wait, now_ms),
    others: [...meanwhile, another()],
  });
}

/** When another dip is worth the trouble. @param {Wait} wait @param {number} now_ms */
function dipAgain(wait, now_ms) {
  if (wait.dip_ms === null) return t("No need to dip again before it rings");
  const left_s = (wait.dip_ms - now_ms) / 1000;
  const time = clockText(left_s);
  if (wait.forecast?.guessed) {
    return left_s > 0
      ? t("A first guess. Dip again in **{time}**", { time })
      : t("A first guess. **Dip now**: it tightens the countdown");
  }
  return left_s > 0 ? t("Dip again in **{time}**", { time }) : t("**Dip now**: it tightens the countdown");
}

/** @param {Partial<Prompt> & {step: string, title: string}} base @param {Sheet} sheet @param {JugState} jug
 * @param {Wait} wait @param {number} now_ms @param {DisplayUnits} units */
function warmingUp(base, sheet, jug, wait, now_ms, units) {
  const round = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  const said = {
    ...base,
    say: t("No hotter than **{highest}**", { highest: round(sheet.highest_c) }),
    cautions: onHeat(),
    others: [another()],
  };
  const rise = riseOf(sheet, jug, wait.window.target_c);
  if (rise === null || rise.at_ms === null) {
    return prompt({
      ...said,
      doing: t("On the heat, waiting for"),
      ...units.amount(wait.window.target_c, "temperature", 1),
      lines: [rise?.problem?.message ?? ""],
    });
  }
  if (rise.at_ms <= now_ms) {
    return prompt({
      ...said,
      doing: t("Heat off now, and read it. It should be over"),
      ...units.amount(wait.window.target_c, "temperature", 1),
    });
  }
  return prompt({
    ...said,
    doing: t("Warming. {temperature} in", { temperature: round(wait.window.target_c) }),
    number: clockText((rise.at_ms - now_ms) / 1000),
    lines: [
      t("It rises **{rate}** a minute.", { rate: difference(units, rise.rate_c_per_min) }),
      t("Then off the heat, and read it again."),
    ],
  });
}

/**
 * About what the thermometer should show now, °C: by the curve, or by what was read or wanted before the first dip; null
 * where nothing tells. It says where to look on a ladder, and is never taken for a reading.
 * @param {Sheet} sheet @param {JugState} jug @param {number} now_ms
 */
export function expectedC(sheet, jug, now_ms) {
  const last = jug.all_dips[jug.all_dips.length - 1];
  const recent = last && now_ms - last.at < RECENT_MS ? last.temp_c : null;
  if (jug.step === "melt") return recent;
  const wait = waitOf(sheet, jug, now_ms);
  if (jug.warming) {
    const rise = riseOf(sheet, jug, wait.window.target_c);
    if (rise === null || rise.at_ms === null) return wait.temp_c;
    const since_ms = Math.max(now_ms, jug.dips[jug.dips.length - 1].at);
    return wait.window.target_c - Math.max(0, (rise.at_ms - since_ms) / 60_000) * rise.rate_c_per_min;
  }
  if (wait.temp_c !== null) return wait.temp_c;
  return jug.added_at === null ? recent : (mixNow(sheet, jug, now_ms)?.temp_c ?? null);
}

/** The fragrance that can be weighed while the wax cools: in a cup of its own, as the wax is too hot for it, and what is
 * too much can still be taken out. @param {JugState} jug @returns {import("./fold.js").Weighing | null} */
export function nextFragrance(jug) {
  const next = jug.weighings.find(
    ({ part, verdict }) => part === "fragrance" && (verdict === "open" || verdict === "low" || verdict === "high"),
  );
  return next ? { ...next, in_cup: true } : null;
}

/**
 * Where the wax lands once fragrance at room temperature is in, and whether that is still warm
 * enough to pour.
 * @param {Sheet} sheet @param {JugState} jug @param {number} now_ms @param {DisplayUnits} units @returns {string[]}
 */
export function landing(sheet, jug, now_ms, units) {
  const before = jug.step === "cool" || jug.dips.length > 0 ? jug.dips : jug.mixed_at;
  if (before.length === 0 || jug.wax_g <= 0 || coolsAgain(sheet)) return [];
  const { temp_c } = waitOf(sheet, { ...jug, step: "cool", dips: before }, now_ms);
  const fragrance_g = jug.fragrance_g > 0 ? jug.fragrance_g : jug.wax_g * sheet.load;
  const round = (/** @type {number} */ celsius) => units.text(celsius, "temperature", 1);
  if (temp_c === null || temp_c <= sheet.room_c || fragrance_g <= 0) return [];
  try {
    const lands_c = afterFragrance(jug.wax_g, temp_c, fragrance_g, sheet.room_c);
    const temperature = round(lands_c);
    if (lands_c >= sheet.pour.low_c)
      return [t("With the fragrance in, it is at about **{temperature}**.", { temperature })];
    const wanted_c = warmTo(sheet.pour.low_c, jug.wax_g, fragrance_g, sheet.room_c);
    return [
      t(
        "With the fragrance in, it is at about **{temperature}**: under the {low} for pouring. " +
          "It would have to go in at {wanted}.",
        { temperature, low: round(sheet.pour.low_c), wanted: round(wanted_c) },
      ),
    ];
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return [];
  }
}

/** @param {Wait} wait @param {DisplayUnits} units */
function oddLine(wait, units) {
  if (wait.odd_c === null) return [];
  const off = { difference: difference(units, Math.abs(wait.odd_c)) };
  return [
    wait.odd_c < 0
      ? t("The last dip was **{difference}** lower than expected. Stir and read again.", off)
      : t("The last dip was **{difference}** higher than expected. Stir and read again.", off),
  ];
}

/** @param {Sheet} sheet @param {DisplayUnits} units @param {number} celsius */
function fine(sheet, units, celsius) {
  return units.text(celsius, "temperature", Math.max(0.1, sheet.thermometer_step_c));
}

/** A temperature in her degrees, for differences. @param {DisplayUnits} units @param {number} celsius */
function degrees(units, celsius) {
  return units.units.temperature === "°F" ? celsius * 1.8 : celsius;
}

/** @param {DisplayUnits} units @param {number} celsius */
function difference(units, celsius) {
  const { number, unit } = units.amount(degrees(units, celsius), "temperature difference", 0.1);
  return `${number}\u00a0${unit}`;
}
