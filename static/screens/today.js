/** What is on the bench, setting, curing and cured. */
import { allPours, clocks, isOnBench, ofEach } from "../bench/bench.js";
import { clockText, dayText, localDate } from "../bench/hers.js";
import { wayOf } from "../bench/prompt.js";
import { now } from "../bench/clock.js";
import { daysLeft, ready } from "../formulas/cure.js";
import * as store from "../records/store.js";
import { card, copy, h, say, slot } from "./dom.js";
import { offline } from "./offline_state.js";
import { aboutKind, KINDS } from "./workshop.js";

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(copy("screen-today"));
  let kept = await readKept();
  const draw = () => drawToday(place, kept);
  draw();
  drawFirsts(place, kept);
  // The store is read when something changes; the clocks only need what was read.
  const timer = setInterval(draw, 1000);
  const deaf = store.onChange(
    store.oneAtATime(async () => {
      kept = await readKept().catch(() => kept);
      draw();
      drawFirsts(place, kept);
    }),
  );
  const hushed = offline.hear(draw);
  return () => {
    clearInterval(timer);
    deaf();
    hushed();
  };
}

/** @typedef {Awaited<ReturnType<typeof readKept>>} Kept */

async function readKept() {
  const [pours, vessels, waxes, oils, recipes] = await Promise.all([
    allPours(),
    ...["vessel", "wax", "fragrance", "recipe"].map(store.all),
  ]);
  const apart = (await Promise.all([...KINDS, "recipe", "workshop"].map(store.clashing))).flat();
  return { pours: /** @type {import("../bench/bench.js").Pour[]} */ (pours), vessels, waxes, oils, recipes, apart };
}

let drawn = "";

/** @param {HTMLElement} place @param {Kept} kept */
function drawToday(place, { pours, apart }) {
  const now_ms = now();
  const today = localDate(now_ms);
  say(slot(place, "date"), dayText(today));
  const notice = offline.state === "ready" ? "" : offline.text();
  slot(place, "notices").replaceChildren(...(notice ? [h("p", { class: "beware notice" }, notice)] : []));
  const clashes = apart.map(({ kind, id, name }) => ({
    href: `#/history/${kind}/${id}`,
    over: "changed on two devices",
    name: kind === "workshop" ? (aboutKind(kind).many ?? "") : String(name),
    right: "choose",
  }));
  const [here, away] = [pours.filter(isOnBench), pours.filter((pour) => !isOnBench(pour))];
  const inLines = (/** @type {typeof pours} */ some) => ofEach(some, (pour) => lineOf(pour, today, now_ms));
  const lines = [...inLines(here), ...clashes, ...inLines(away)];
  const cards = slot(place, "cards");
  const text = JSON.stringify(lines);
  // Redrawn every second for the clocks: only where something reads differently.
  if (text !== drawn || !cards.hasChildNodes()) cards.replaceChildren(...lines.map(card));
  drawn = text;
}

/** @param {import("../bench/bench.js").Pour} pour @param {string} today @param {number} now_ms */
function lineOf(pour, today, now_ms) {
  const { sheet, state, stage, id } = pour;
  const name = `${sheet.title}, ${sheet.count} × ${sheet.vessel.name}`;
  if (isOnBench(pour)) {
    const clock = clocks([pour], now_ms)[0];
    const step = stage === "jugs" ? state.jugs.map((jug) => nameOf(sheet, jug.step)).find((each) => each !== "") ?? "" : "";
    return [
      {
        href: `#/pour/${id}`,
        over: "on the bench",
        name,
        right: clock ? clockText((clock.at_ms - now_ms) / 1000) : "go on",
        under: clock ? (clock.what === "stir" ? "stirring" : `to ${nameOf(sheet, state.jugs[clock.jug].step).toLowerCase()}`) : step,
      },
    ];
  }
  const poured = state.set_on ?? today;
  if (stage === "setting") {
    const tomorrow = ready(poured, 1);
    return [
      {
        href: `#/finish/${id}`,
        over: "setting",
        name,
        right: today >= tomorrow ? "now" : "tomorrow",
        under: "trim and label",
      },
    ];
  }
  const left = daysLeft(poured, sheet.cure_least_days, today);
  const best = daysLeft(poured, sheet.cure_best_days, today);
  if (best < -30) return [];
  return [
    left > 0
      ? { href: `#/entry/${id}`, over: "curing", name, right: left === 1 ? "1 day" : `${left} days`, under: `ready ${dayText(ready(poured, sheet.cure_least_days))}` }
      : {
          href: `#/entry/${id}`,
          over: "cured",
          name,
          right: best > 0 ? "ready" : "at its best",
          under: best > 0 ? `best from ${dayText(ready(poured, sheet.cure_best_days))}` : `since ${dayText(ready(poured, sheet.cure_best_days))}`,
        },
  ];
}

/** @param {import("../bench/sheet.js").Sheet} sheet @param {string} step */
function nameOf(sheet, step) {
  return wayOf(sheet).find(([each]) => each === (step === "over" ? "fragrance" : step))?.[1] ?? "";
}

/** @param {HTMLElement} place @param {Kept} kept */
function drawFirsts(place, { vessels, waxes, oils, recipes }) {
  const section = slot(place, "first");
  section.hidden = recipes.length > 0;
  slot(place, "start").hidden = recipes.length === 0;
  if (section.hidden) return;
  const steps = [
    { done: vessels.length, href: "#/edit/vessel/new", text: "A vessel, and how much it takes" },
    { done: waxes.length, href: "#/edit/wax/new", text: "A wax" },
    { done: oils.length, href: "#/edit/fragrance/new", text: "A fragrance" },
    { done: 0, href: "#/edit/recipe/new", text: "A recipe: those three, and a load" },
  ];
  const key = steps.map(({ done }) => Boolean(done)).join();
  if (section.dataset.drawn === key) return;
  section.dataset.drawn = key;
  slot(place, "firsts").replaceChildren(
    ...steps.map(({ done, href, text }) => h("li", { class: done ? "done" : "" }, h("a", { href }, text), done ? " ✓" : "")),
  );
}
