/** What the burn board says of a candle: one thing to do, one number, the cautions for the hand. Pure: `now` is given. */
import { capital } from "../bench/cues.js";
import { clockText, timeText } from "../words/dates.js";
import { message, plural, t, worded } from "../words/door.js";
import { DANGEROUS, GRADED, HOUR_MS } from "./burn_fold.js";
import { candleName, flameLimit, hoursText, NAMES, seenWords, whyText } from "./burn_words.js";
import { FLAME, RESIDUE, WICK } from "./limits.js";
import { clockOf, countBurning, MOST_AT_ONCE, markNow, outAt } from "./tests.js";

/** @typedef {import("./burn_fold.js").TestSheet} TestSheet */
/** @typedef {import("./burn_fold.js").TestState} TestState */
/** @typedef {import("./burn_fold.js").CandleState} CandleState */
/** @typedef {import("./burn_fold.js").Sitting} Sitting */
/** @typedef {import("./burn_fold.js").Graded} Graded */
/** @typedef {import("./burn_fold.js").Seen} Seen */
/** @typedef {import("./burn_fold.js").Clash} Clash */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../records/event_types.js").NewBurnTestEvent} NewBurnTestEvent */
/** @typedef {"before" | "after" | "pool" | "across" | "depth" | "flame" | "hottest"} Pad what is read */
/**
 * @typedef {object} Action what a button does: keep an event, open the pad for a reading, ask how much of something there
 *   is, let some events not count, or offer what is done seldom
 * @property {string} label
 * @property {NewBurnTestEvent} [event] @property {Pad} [pad] @property {Graded} [grade] @property {string[]} [undo]
 * @property {Action[]} [more]
 */
/**
 * @typedef {object} BurnPrompt
 * @property {string} step
 * @property {string} title
 * @property {string} doing
 * @property {string} number @property {string} unit
 * @property {string[]} lines
 * @property {string[]} cautions
 * @property {Action[]} stops what ends the burn at once, and is kept as a failure
 * @property {Action | null} main
 * @property {Action[]} others
 * @property {string} asks what is asked of her, as it is called; "": it is what is done
 */

/** @param {Partial<BurnPrompt> & {step: string, title: string}} said @returns {BurnPrompt} */
function prompt(said) {
  return {
    doing: "",
    number: "",
    unit: "",
    lines: [],
    cautions: [],
    stops: [],
    main: null,
    others: [],
    asks: "",
    ...said,
  };
}

/** @param {{sheet: TestSheet, state: TestState}} test @param {number} index of the candle @param {number} now_ms
 * @param {DisplayUnits} units @returns {BurnPrompt} */
export function burnPrompt({ sheet, state }, index, now_ms, units) {
  const candle = state.candles[index];
  const clash = state.clashes.find((each) => each.candle === index);
  if (clash) return clashPrompt(clash, units, sheet);
  const at = { candle: index, burn: candle.sitting };
  const sitting = candle.sittings[candle.sitting];
  switch (candle.step) {
    case "trim":
      return trim(sheet, candle, at, units);
    case "light":
      return light(state, sitting, at, units, sheet);
    case "burning":
      return burning(sheet, sitting, at, now_ms, units);
    case "smoke":
      return smoke(sitting, at, now_ms);
    case "rest":
      return rest(candle, at, now_ms);
    default:
      return over(candle, index);
  }
}

/** @typedef {{candle: number, burn: number}} At */

// ---- before it burns ---------------------------------------------------------------------------------

/** Where a candle stands while it burns (the usual cautions; the supplier's and local ones come first). */
const PLACE = message("Stand it level on what does not burn, out of the draught, with nothing near that burns.");
const WATCH = message("Stay with it. Keep children and animals away.");
const OUT = message("A lid puts it out. Never water.");

/** @param {TestSheet} sheet @param {CandleState} candle @param {At} at @param {DisplayUnits} units */
function trim(sheet, { sittings }, at, units) {
  const before = sittings.at(-1);
  const length = units.text(WICK.value, "length", 1);
  return prompt({
    step: "trim",
    title: t("Trim and weigh"),
    doing: t("Trim the wick to {length}. Then weigh {candle}, without a lid.", {
      length,
      candle: candleName(at.candle),
    }),
    lines: [
      t("Wick: **{wick}**", { wick: sheet.wicks[sheet.candles[at.candle].wick].name }),
      ...(before ? burnedWords(before, units, sheet) : []),
    ],
    cautions: [t("Cut only a cold wick, and let nothing fall into the wax.")],
    main: { label: t("What the scale shows"), pad: "before" },
    others: before
      ? [
          {
            label: t("{left} or less are left", { left: units.text(RESIDUE.value, "length", 1) }),
            event: { type: "burned_down", candle: at.candle },
          },
        ]
      : [],
  });
}

/** What a sitting told, once it was weighed. @param {Sitting} sitting @param {DisplayUnits} units @param {TestSheet} sheet */
function burnedWords({ before_g, after_g, hours }, units, { step_g }) {
  if (before_g === null || after_g === null || !hours) return [];
  const grams = (/** @type {number} */ value) => units.text(value, "mass", step_g);
  const given = {
    grams: grams(before_g - after_g),
    time: clockText(hours * 3600).replace(/:\d\d$/, ""),
    after: grams(after_g),
  };
  return [t("It burned **{grams}** in {time} h, and weighed {after} then.", given)];
}

/** @param {TestState} state @param {Sitting} sitting @param {At} at @param {DisplayUnits} units @param {TestSheet} sheet */
function light(state, { before_g }, at, units, { step_g }) {
  const burning = countBurning(state);
  const base = { step: "light", title: t("Light it"), cautions: [PLACE, WATCH, OUT].map(worded) };
  if (burning >= MOST_AT_ONCE) {
    return prompt({
      ...base,
      doing: plural(burning, "{n} candle burns.", "{n} candles burn."),
      lines: [
        t("Nobody watches more at once: put one out before you light {candle}.", { candle: candleName(at.candle) }),
      ],
    });
  }
  return prompt({
    ...base,
    doing: t("Light {candle}, and touch as it burns.", { candle: candleName(at.candle) }),
    lines: before_g === null ? [] : [t("It weighs {weight}.", { weight: units.text(before_g, "mass", step_g) })],
    main: { label: t("It is lit"), event: { type: "lit", ...at } },
  });
}

// ---- while it burns ----------------------------------------------------------------------------------

/** What ends a burn at once. @param {At} at @returns {Action[]} */
function stopsOf(at) {
  const stop = (/** @type {string} */ label, /** @type {import("./burn_fold.js").Why} */ why) => ({
    label,
    event: /** @type {NewBurnTestEvent} */ ({ type: "stopped", ...at, why }),
  });
  return [
    stop(t("Flame too high"), "flame"),
    stop(t("Second flame"), "second_flame"),
    stop(t("Vessel cracked"), "cracked"),
    stop(t("Heavy soot"), "soot"),
  ];
}

/** @param {TestSheet} sheet @param {Sitting} sitting @param {At} at @param {number} now_ms @param {DisplayUnits} units */
function burning(sheet, sitting, at, now_ms, units) {
  const cautions = [WATCH, OUT].map(worded);
  const stops = stopsOf(at);
  const out = {
    label: t("It is out"),
    event: /** @type {NewBurnTestEvent} */ ({ type: "stopped", ...at, why: "out" }),
  };
  const early = { label: t("Put out early"), event: /** @type {NewBurnTestEvent} */ ({ ...out.event, why: "other" }) };
  const gone = {
    label: t("Went out by itself"),
    event: /** @type {NewBurnTestEvent} */ ({ ...out.event, why: "went_out" }),
  };
  const high = sitting.marks.find(({ seen }) => (seen.flame_mm ?? 0) > FLAME.value);
  if (high) {
    return prompt({
      step: "out",
      title: t("Put it out now"),
      doing: t("The flame is higher than {limit}: put {candle} out.", {
        limit: flameLimit(units),
        candle: candleName(at.candle),
      }),
      cautions,
      stops,
      main: { label: t("It is out"), event: { type: "stopped", ...at, why: "flame" } },
    });
  }
  const mark = markNow(sitting, now_ms);
  const isDue = mark >= 0 && sitting.marks[mark].due_ms <= now_ms;
  if (isDue) {
    const asked = atMark(sheet, sitting, { ...at, mark }, units);
    const isLast = mark === sitting.marks.length - 1;
    const more = [...asked.more, isLast ? out : early, gone];
    return prompt({ ...asked, cautions, stops, others: [...asked.others, { label: t("More"), more }] });
  }
  if (mark < 0) {
    const late_s = (now_ms - outAt(sitting)) / 1000;
    return prompt({
      step: "out",
      title: t("Put it out"),
      doing: t("Put {candle} out. It has burned for", { candle: candleName(at.candle) }),
      number: clockText((now_ms - /** @type {number} */ (sitting.lit_at)) / 1000),
      lines: late_s >= 0 ? [] : [t("All its marks are seen.")],
      cautions,
      stops,
      main: out,
      others: [{ label: t("More"), more: [gone] }],
    });
  }
  return prompt({
    step: "burning",
    title: t("It burns"),
    doing: t("Until the mark at {time}", { time: hoursText(sheet.marks_h[mark]) }),
    number: clockText((sitting.marks[mark].due_ms - now_ms) / 1000),
    lines: [
      t("Lit at {time}.", { time: timeText(/** @type {number} */ (sitting.lit_at)) }),
      ...marksWords(sheet, sitting, now_ms, units),
    ],
    cautions,
    stops,
    others: [{ label: t("More"), more: [early, gone] }],
  });
}

/** What was seen at the marks that are over, the last first; one that was missed is said to be. @param {TestSheet} sheet
 * @param {Sitting} sitting @param {number} now_ms @param {DisplayUnits} units */
function marksWords({ marks_h }, { marks }, now_ms, units) {
  return marks
    .map(({ due_ms, seen, at_ms }, index) => {
      if (due_ms > now_ms) return "";
      const time = hoursText(marks_h[index]);
      if (at_ms === null) return t("{time}: **not looked at**", { time });
      return t("{time}: {seen}", { time, seen: seenWords(seen, units).join(", ") });
    })
    .filter(Boolean)
    .reverse();
}

/** What is asked at a mark, one thing after the other: the pool, the flame, and what else there is to see.
 * @param {TestSheet} sheet @param {Sitting} sitting @param {At & {mark: number}} at @param {DisplayUnits} units
 * @returns {Pick<BurnPrompt, "step" | "title" | "lines" | "doing" | "asks" | "main" | "others"> & {more: Action[]}} */
function atMark(sheet, { marks }, at, units) {
  const { seen, due_ms } = marks[at.mark];
  const time = hoursText(sheet.marks_h[at.mark]);
  const told = seenWords(seen, units);
  const base = {
    step: "mark",
    title: t("Mark at {time}", { time }),
    lines: [...(told.length > 0 ? [told.join(", ")] : []), t("It was due at {time}.", { time: timeText(due_ms) })],
    more: [{ label: t("Leave out the rest"), event: /** @type {NewBurnTestEvent} */ ({ type: "looked", ...at }) }],
  };
  if (!seen.pool_full && seen.pool_mm === undefined) {
    const asks = t("How far is the pool?");
    return {
      ...base,
      doing: asks,
      asks,
      main: said(t("To the wall all round"), { type: "saw", ...at, what: "pool_full", grade: 0 }),
      others: [measured("pool")],
    };
  }
  if (seen.pool_mm !== undefined && seen.across_mm === undefined) {
    const asks = t("How wide is it the other way?");
    return { ...base, doing: asks, asks, main: measured("across"), others: [] };
  }
  if (!seen.flame_low && seen.flame_mm === undefined) {
    const asks = t("How high is the flame?");
    return {
      ...base,
      lines: [...base.lines, t("Only a measured flame tells how near the limit is.")],
      doing: asks,
      asks,
      main: said(t("Lower than {limit}", { limit: flameLimit(units) }), {
        type: "saw",
        ...at,
        what: "flame_low",
        grade: 0,
      }),
      others: [measured("flame")],
    };
  }
  const asks = t("What else is there to see?");
  const rest = /** @type {Pad[]} */ (["depth", "hottest"]).filter(
    (pad) => (pad === "depth" ? seen.depth_mm : seen.hottest_c) === undefined,
  );
  const something = [
    ...GRADED.filter((what) => seen[what] === undefined).map((what) => ({ label: worded(NAMES[what]), grade: what })),
    ...rest.map((pad) => ({ label: pad === "depth" ? t("Depth of the pool") : t("Hottest place"), pad })),
  ];
  return {
    ...base,
    doing: asks,
    asks,
    main: said(t("Nothing else"), { type: "nothing_else", ...at }),
    others: [{ label: t("Something"), more: something }],
  };
}

/** @param {string} label @param {NewBurnTestEvent} event @returns {Action} */
const said = (label, event) => ({ label, event });

/** @param {Pad} pad @returns {Action} */
const measured = (pad) => ({ label: t("Measure it"), pad });

// ---- after it burned ---------------------------------------------------------------------------------

/** A wick that smokes longer than this was not watched (our choice, s). */
const LONG_SMOKE_S = 300;

/** @param {Sitting} sitting @param {At} at @param {number} now_ms */
function smoke({ stopped_at }, at, now_ms) {
  const since_s = Math.max(0, Math.round((now_ms - /** @type {number} */ (stopped_at)) / 1000));
  const ended = (/** @type {number} */ seconds) =>
    /** @type {NewBurnTestEvent} */ ({ type: "smoke_ended", ...at, seconds });
  const isLong = since_s > LONG_SMOKE_S;
  return prompt({
    step: "smoke",
    title: t("Does it smoke?"),
    doing: t("Touch as {candle} stops smoking.", { candle: candleName(at.candle) }),
    number: isLong ? "" : String(since_s),
    unit: isLong ? "" : t("s"),
    cautions: [t("A wick that glows can light again: watch it until it is dark.")],
    main: isLong ? null : { label: t("It smokes no more"), event: ended(since_s) },
    others: [
      { label: t("It did not smoke"), event: ended(0) },
      { label: t("I did not look"), event: { type: "smoke_not_seen", ...at } },
    ],
  });
}

/** @param {CandleState} candle @param {At} at @param {number} now_ms */
function rest(candle, at, now_ms) {
  const clock = clockOf(candle, now_ms);
  const left_s = clock === null ? 0 : (clock.at_ms - now_ms) / 1000;
  const name = candleName(at.candle);
  if (left_s > 0) {
    return prompt({
      step: "rest",
      title: t("Let it rest"),
      doing: t("Until {candle} may be weighed", { candle: name }),
      number: clockText(left_s),
      cautions: [t("Its wax is hot and liquid, and its vessel hot: leave it where it is.")],
      others: [{ label: t("Weigh it now"), pad: "after" }],
    });
  }
  return prompt({
    step: "weigh",
    title: t("Weigh it again"),
    doing: t("Zero the scale. Then weigh {candle}, without a lid.", { candle: name }),
    lines: [t("It has rested for an hour.")],
    cautions: [t("Is the wax set? Liquid wax spills.")],
    main: { label: t("What the scale shows"), pad: "after" },
  });
}

/** @param {CandleState} candle @param {number} index */
function over({ failed, burned_down, set_aside }, index) {
  const name = candleName(index);
  const isFailed = failed !== null && DANGEROUS.includes(failed);
  const why = isFailed ? whyText(String(failed)) : "";
  return prompt({
    step: "over",
    title: t("Done"),
    doing: isFailed
      ? t("{candle} failed: {why}. Don't light it again.", { candle: capital(name), why })
      : burned_down
        ? t("{candle} is burned down.", { candle: capital(name) })
        : t("{candle} is out of the test. {why}", { candle: capital(name), why: set_aside ?? "" }).trim(),
    cautions: isFailed ? [t("Is the flame out, and is nothing else alight? Let it cool where it stands.")] : [],
  });
}

// ---- two phones --------------------------------------------------------------------------------------

/** @param {Clash} clash @param {DisplayUnits} units @param {TestSheet} sheet */
function clashPrompt({ candle, question, answers }, units, sheet) {
  const said = (/** @type {typeof answers.standing[number]} */ { event }) => answerText(event, units, sheet);
  const [main, ...others] = answers.standing.map((answer) => ({ label: said(answer), undo: answers.against(answer) }));
  const asks = t("Which is right of {candle}, {what}?", {
    candle: candleName(candle),
    what: questionText(question, sheet),
  });
  return prompt({
    step: "clash",
    title: t("Two phones differ"),
    doing: asks,
    asks,
    lines: answers.standing.map((answer) => {
      const { at, by } = answer.event;
      const told = { answer: said(answer), time: timeText(at), who: by ?? "" };
      return by ? t("**{answer}**, says {who}, {time}", told) : t("**{answer}**, {time}", told);
    }),
    main,
    others,
  });
}

/** @param {string} question @param {TestSheet} sheet */
function questionText(question, { marks_h }) {
  const [mark, what] = question.split(" ");
  if (what === undefined) {
    /** @type {Record<string, string>} */
    const names = {
      before: t("its weight before"),
      after: t("its weight after"),
      lit: t("when it was lit"),
      stopped: t("why it is out"),
      smoke: t("how long it smoked"),
    };
    return names[question] ?? question;
  }
  return t("{what} at {time}", {
    what: PARTS[what] ? worded(PARTS[what]) : what,
    time: hoursText(marks_h[Number(mark)]),
  });
}

/** @type {Record<string, import("../words/door.js").Message>} */
const PARTS = {
  pool: message("the pool"),
  across: message("the pool the other way"),
  depth: message("the depth of the pool"),
  flame: message("the flame"),
  hottest: message("the hottest place"),
  ...Object.fromEntries(GRADED.map((what) => [what, NAMES[what]])),
};

/** @param {import("./burn_fold.js").BurnTestEvent} event @param {DisplayUnits} units @param {TestSheet} sheet */
function answerText(event, units, { step_g }) {
  switch (event.type) {
    case "weighed":
      return units.text(event.read_g, "mass", step_g);
    case "measured":
      return units.text(event.mm, "length", 1);
    case "hottest":
      return units.text(event.temp_c, "temperature", 1);
    case "smoke_ended":
      return plural(event.seconds, "{n} second", "{n} seconds");
    case "saw":
      return seenWords(seenOf(event), units).join(", ") || t("none");
    case "stopped":
      return whyText(event.why);
    default:
      return timeText(event.at);
  }
}

/** @param {Extract<import("./burn_fold.js").BurnTestEvent, {type: "saw"}>} event @returns {Seen} */
function seenOf({ what, grade }) {
  return what === "pool_full" || what === "flame_low" ? { [what]: true } : { [what]: grade };
}

/** What a button does as things stand now: a mark may have come since it was drawn. @param {BurnPrompt} prompt
 * @param {string} label @returns {Action | null} null: it is no longer offered */
export function actionNow({ main, others, stops }, label) {
  const all = [...(main ? [main] : []), ...others, ...others.flatMap(({ more }) => more ?? []), ...stops];
  return all.find((action) => action.label === label) ?? null;
}

// ---- what comes next -----------------------------------------------------------------------------------

/** The candle that wants her hands while this one burns or rests: one that is due, else one to weigh and light, unless
 * enough of them burn; null: none. @param {{sheet: TestSheet, state: TestState}} test @param {number} index @param {number} now_ms */
export function nextCandle({ state }, index, now_ms) {
  const { candles } = state;
  const burning = countBurning({ candles });
  const wants = (/** @type {CandleState} */ candle) => {
    const clock = clockOf(candle, now_ms);
    if (clock && clock.at_ms <= now_ms) return 3;
    if (candle.step === "smoke") return 2;
    if (candle.step === "light" && burning < MOST_AT_ONCE) return 2;
    return candle.step === "trim" && burning < MOST_AT_ONCE && !restsToday(candle, now_ms) ? 1 : 0;
  };
  const mine = candles[index];
  const isFree =
    mine.step === "over" || mine.step === "trim" ? wants(mine) < 1 || mine.step === "over" : wants(mine) === 0;
  if (!isFree) return null;
  const order = candles.map((_, step) => (index + 1 + step) % candles.length).filter((each) => each !== index);
  const best = order.reduce(
    (found, each) => (found === null || wants(candles[each]) > wants(candles[found]) ? each : found),
    /** @type {number | null} */ (null),
  );
  return best !== null && wants(candles[best]) > 0 ? best : null;
}

/** Who has burned a candle is not sent back to it so soon (our choice). */
const AGAIN_H = 12;

/** @param {CandleState} candle @param {number} now_ms */
function restsToday({ sittings }, now_ms) {
  const stopped_at = sittings.at(-1)?.stopped_at ?? null;
  return stopped_at !== null && now_ms - stopped_at < AGAIN_H * HOUR_MS;
}
