/** What is on the bench, due, overdue and coming. */

import { now, phoneNow } from "../bench/clock.js";
import { remindersOf, settingsOf } from "../bench/due.js";
import { isOnBench, ofEach, openPours } from "../bench/pours.js";
import { putOff, seenTo } from "../bench/reminder_events.js";
import { session } from "../bench/session.js";
import { KINDS } from "../records/kinds.js";
import { clashes, plainRecord } from "../records/merge.js";
import * as store from "../records/store.js";
import { dayText, localDate } from "../words/dates.js";
import { t, worded } from "../words/door.js";
import { card, chip, cloneTemplate, cureBar, h, replaceKeepingFocus, setText, showToast, slot } from "./dom.js";
import { offline } from "./offline_state.js";
import { FIRSTS, leadTo, nextOf } from "./onboarding.js";
import { stationOf } from "./stations.js";
import { awayLines } from "./today_lines.js";

/** @typedef {import("../bench/pours.js").Pour} Pour */
/** @typedef {import("../bench/due.js").Reminder} Reminder */
/** @typedef {import("./today_lines.js").Line} Line */
/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {{heading?: string, name?: string, lines: Line[]}} Group */

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-today"));
  /** Batches that left the bench, by id; null: deleted. @type {Map<string, Pour | null>} */
  const away = new Map();
  const take = (/** @type {string} */ id, /** @type {Pour | null} */ pour) =>
    void away.set(id, pour !== null && isOnBench(pour) ? null : pour);
  const unsubscribes = [
    session.onChange((changed) => {
      for (const { kind, id, item } of changed) if (kind === "pour") take(id, /** @type {Pour | null} */ (item));
    }),
  ];
  // Of deliveries, which are many, those that are used up ask for nothing.
  const [pours, lots] = await Promise.all([openPours(), store.unsettled("lot")]);
  // What changed meanwhile is newer.
  for (const pour of pours) if (!away.has(pour.id)) take(pour.id, pour);
  const desk = new Desk();
  const others = KINDS.filter((kind) => kind !== "lot").map(store.ofKind);
  await desk.read([...others, ...lots.map(({ id }) => /** @type {[string, string]} */ (["lot", id]))]);
  const batches = () =>
    batchesOf(
      [...away.values()].flatMap((pour) => pour ?? []),
      desk,
    );
  let kept = batches();
  const draw = () => drawToday(place, desk, kept);
  unsubscribes.push(
    session.onChange(() => {
      kept = batches();
      draw();
    }),
    session.onTick(draw),
    onDeskChange(async (changed) => {
      await desk.read(changed);
      kept = batches();
      draw();
      drawOnboarding(place, desk);
    }),
    offline.onChange(draw),
  );
  draw();
  drawOnboarding(place, desk);
  return () => unsubscribes.forEach((unsubscribe) => unsubscribe());
}

/** What is shown or counted here of what is kept at the desk: each record is read once, and when it changed. */
class Desk {
  /** @type {Map<string, {kind: string, id: string, lives: boolean, clash: Plain | false}>} */
  #seen = new Map();
  /** Records that two devices have changed apart. @type {Plain[]} */
  clashes = [];
  settings = settingsOf({});

  /** @param {Parameters<typeof store.stored>[0]} which */
  async read(which) {
    for (const record of await store.stored(which)) {
      const { kind, id, fields } = record;
      const plain = plainRecord(record);
      const clash = Object.keys(fields).some((name) => clashes(fields, name).length > 0) && plain;
      this.#seen.set(`${kind} ${id}`, { kind, id, lives: !plain.deleted, clash });
      if (kind === "workshop") this.settings = settingsOf(plain);
    }
    this.clashes = [...this.#seen.values()].flatMap(({ clash }) => clash || []);
  }

  /** The ids of those that live. @param {string} kind */
  ids(kind) {
    return [...this.#seen.values()].filter((each) => each.lives && each.kind === kind).map(({ id }) => id);
  }
}

/** `work` with what changed at the desk: changes of the bench come from the session.
 * @param {(changed: [kind: string, id: string][]) => Promise<void>} work */
function onDeskChange(work) {
  /** @type {[string, string][]} */
  let changed = [];
  const begin = store.oneAtATime(async () => {
    const now = changed;
    changed = [];
    // What could not be read is read with what changes next.
    await work(now).catch(() => changed.push(...now));
  });
  return store.onChange((changes) => {
    for (const { kind, id } of changes) if (KINDS.includes(kind)) changed.push([kind, id]);
    if (changed.length > 0) begin();
  });
}

/** @typedef {{pour: Pour, reminders: Reminder[]}} Batch */

/** Batches with all that they remind of: what she does not want to be told is shown all the same.
 * @param {Pour[]} pours @param {Desk} desk @returns {Batch[]} */
function batchesOf(pours, { settings }) {
  const newestFirst = pours.sort((a, b) => b.record.started_at - a.record.started_at);
  return ofEach(newestFirst, (pour) => [{ pour, reminders: remindersOf(pour, { ...settings, off: [] }) }]);
}

let drawn = "";

/** @param {HTMLElement} place @param {Desk} desk @param {Batch[]} batches */
function drawToday(place, { clashes, settings }, batches) {
  const now_ms = now();
  const day_ms = phoneNow();
  const today = localDate(day_ms);
  setText(slot(place, "date"), dayText(today));
  const notices = slot(place, "notices");
  // Once there it stays, with the good news, or all below would jump.
  const notice = offline.state === "ready" && !offline.old && !notices.hasChildNodes() ? "" : offline.text();
  notices.replaceChildren(...(notice ? [h("p", { class: "beware notice" }, notice)] : []));
  const lines = batches.flatMap((batch) => awayLines(batch, settings.off, today, day_ms));
  const bench = ofEach(session.items(), (item) => [stationOf(item).line(item, session.clocks(), now_ms)]);
  /** @type {Group[]} */
  const groups = [
    { lines: [...clashes.map(clashLine), ...batches.flatMap(({ pour }) => toldApart(pour))] },
    { heading: t("On the bench"), name: "running", lines: bench },
    { heading: t("Due"), name: "due", lines: sooner(lines.filter(({ answerable }) => answerable)) },
    { heading: t("Coming up"), name: "coming", lines: sooner(lines.filter(({ answerable }) => !answerable)) },
  ];
  const cards = slot(place, "cards");
  // Every second the clocks read differently, and no more: what was replaced under a finger would not be heard.
  const clockless = bench.map((line) => ({ ...line, right: "" }));
  const rest = JSON.stringify([clockless, groups.filter(({ lines }) => lines !== bench)], (key, value) =>
    key === "of" ? "" : value,
  );
  if (rest === drawn && cards.hasChildNodes()) {
    const clocks = cards.querySelectorAll(".running b");
    bench.forEach(({ right = "" }, index) => setText(clocks[index], right));
    return;
  }
  drawn = rest;
  replaceKeepingFocus(cards, ...groups.flatMap(drawGroup));
  showBadge(new Set(lines.filter(({ answerable }) => answerable?.wanted).map(({ href }) => href)).size);
}

/** @param {Line[]} lines */
const sooner = (lines) => lines.sort((a, b) => (a.at_ms ?? 0) - (b.at_ms ?? 0));

/** A record that two devices have changed apart. @param {Plain} record @returns {Line} */
function clashLine({ kind, id, name }) {
  return {
    href: `#/history/${kind}/${id}`,
    name: kind === "workshop" ? t("Units and room") : String(name),
    line: t("changed on two devices"),
    state: t("choose"),
    tone: "now",
  };
}

/** A batch of which two phones said it differently. @param {Pour} pour @returns {Line[]} */
function toldApart({ id, sheet, state }) {
  if (state.jugs.every(({ clashes }) => clashes.length === 0)) return [];
  const line = t("two phones said it differently");
  return [{ href: `#/entry/${id}`, name: sheet.title, line, state: t("choose"), tone: "now" }];
}

/** @param {Group} group */
function drawGroup({ heading, name, lines }) {
  if (lines.length === 0) return [];
  /** @type {Map<string, Line[]>} */
  const batches = new Map();
  for (const line of lines) batches.set(line.href, [...(batches.get(line.href) ?? []), line]);
  const drawn = [...batches.values()].map(batchOf);
  return [h("section", { class: name }, heading && h("h2", { class: "group" }, heading), ...drawn)];
}

/** One batch, with all that it asks. @param {Line[]} lines */
function batchOf(lines) {
  const [{ cure, state, tone, ...line }] = lines;
  if (!line.answerable) return card({ ...line, chip: state && chip(state, tone), below: cure && cureBar(cure) });
  return h("div", { class: "batch" }, card({ ...line, right: "", under: "" }), ...lines.map(askOf));
}

/** @param {Line} line */
function askOf({ right, state, tone, under, answerable }) {
  const what = h(
    "span",
    { class: "what" },
    h("b", {}, right),
    " ",
    state && chip(state, tone),
    h("span", { class: "line" }, under),
  );
  return h("div", { class: "asks" }, what, answerable && answers(answerable));
}

/** @param {import("./today_lines.js").Answerable} reminder */
function answers({ pour, reminder, day, done }) {
  const button = (
    /** @type {string} */ look,
    /** @type {string} */ label,
    /** @type {() => import("../records/event_types.js").NewPourEvent} */ event,
  ) => h("button", { type: "button", class: `${look} small`, onclick: () => void keep(pour, event()) }, label);
  return h(
    "p",
    {},
    button("plain", t("Tomorrow"), () => putOff(reminder, day)),
    done && button("quiet", t("OK"), () => seenTo(reminder, day)),
    reminder.endsWith("burn") && h("a", { class: "quiet small", href: `#/test/of/${pour}` }, t("Burn")),
  );
}

/** @param {string} pour @param {import("../records/event_types.js").NewPourEvent} event */
async function keep(pour, event) {
  try {
    await store.append("pour", pour, { ...event, at: now() });
  } catch (error) {
    if (!(error instanceof store.StoreError)) throw error;
    showToast(error.message);
  }
}

/** @param {number} count */
function showBadge(count) {
  // Only what is installed has one, and not every browser knows it.
  const shown = count > 0 ? navigator.setAppBadge?.(count) : navigator.clearAppBadge?.();
  shown?.catch(() => undefined);
}

/** What a first pour needs. @param {HTMLElement} place @param {Desk} desk */
function drawOnboarding(place, desk) {
  const kinds = ["vessel", "wax", "fragrance", "recipe"].map((kind) => desk.ids(kind));
  const recipes = kinds[3];
  const section = slot(place, "first");
  const start = slot(place, "start");
  section.hidden = recipes.length > 0;
  if (section.hidden) {
    start.href = recipes.length === 1 ? `#/plan/${recipes[0]}` : "#/recipes/pour";
    setText(start, t("Start a pour"));
    return;
  }
  const there = kinds.map(({ length }) => length > 0);
  leadTo(start, /** @type {string} */ (nextOf(there)));
  if (section.dataset.drawn === there.join()) return;
  section.dataset.drawn = there.join();
  replaceKeepingFocus(
    slot(place, "firsts"),
    ...FIRSTS.map(([kind, text], index) =>
      h(
        "li",
        { class: there[index] ? "done" : "" },
        h("a", { href: `#/edit/${kind}/new` }, worded(text)),
        there[index] ? " ✓" : "",
      ),
    ),
  );
}
