/**
 * What happens on the phones of `make_v1.py`, told with that version's own modules. Everything is
 * invented.
 */
const room = (path) => import(`/static/${path}.js`);
const [
  store,
  bench,
  folding,
  { promptFor },
  { makeSheet },
  { hers },
  dues,
  { excess },
  { roundTo },
  { EARLIEST },
  talk,
  outbox,
  { localDate },
] = await Promise.all(
  [
    "records/store",
    "bench/bench",
    "bench/fold",
    "bench/prompt",
    "bench/sheet",
    "bench/hers",
    "bench/due",
    "formulas/cooling",
    "formulas/rounding",
    "records/stamp",
    "records/exchange",
    "records/outbox",
    "bench/days",
  ].map(room),
);

const DAY_MS = 86_400_000;
const BEGUN_MS = Date.parse("2024-12-02T10:05:00Z");

// ---- records -----------------------------------------------------------------------------------

/** Records of every kind: those of an invented workshop as they came with it, and some of her own. */
export async function keepMaterials(invented) {
  const fieldsOf = (fields) =>
    Object.fromEntries(Object.entries(fields).map(([name, value]) => [name, { value, stamp: EARLIEST }]));
  await store.bringIn(
    invented.map(({ kind, id, fields }) => ({ kind, id, fields: fieldsOf(fields) })),
    [],
  );
  const own = [
    [
      "wax",
      "own-wax-fen",
      {
        name: "Fen, rapeseed ½ & beeswax ½",
        highest_load: 0.06,
        molten_density: 0.89,
        fragrance_low_c: 65,
        fragrance_high_c: 65,
        pour_low_c: 52,
        pour_high_c: 58,
        cure_least_days: 0,
        cure_best_days: 30,
        burn_days: 45,
        notes: "crack’d lid\nsecond line “quoted” <b>not bold</b> 蝋 🕯️",
      },
    ],
    ["fragrance", "own-oil-rain", { name: "Rain on chalk" }],
    [
      "vessel",
      "own-box",
      { name: "box 90", method: "box", length_mm: 60, width_mm: 50, height_mm: 45.5, headspace_mm: 8 },
    ],
    ["vessel", "own-label", { name: "jar “250”", method: "label", label_ml: 250, fill_fraction: 0.8, line: "set" }],
    ["vessel", "own-weight", { name: "mould, by weight", method: "weight", wax_g: 77.7 }],
    ["wick", "own-wick", { name: "flat cotton, 6", series: "flat cotton", size: "6", fits: "jar “250”" }],
    ["wick", "own-wick-gone", { name: "wick that was deleted" }],
    ["scale", "own-scale-oz", { name: "ounces", step_g: 2.8349523125, capacity_g: 3000 }],
    ["jug", "own-jug", { name: "small jug", empty_g: 200, volume_ml: 700 }],
    ["jug", "own-jug-back", { name: "jug that came back", empty_g: 333.3, volume_ml: 900 }],
    ["heater", "own-oven", { name: "microwave", way: "microwave", power_w: 800, burst_s: 45 }],
    ["thermometer", "own-glass", { name: "glass", step_c: 1 }],
    [
      "recipe",
      "own-recipe-blend",
      {
        name: "Fen & dune",
        vessel: "own-box",
        waxes: [
          { wax: "own-wax-fen", share: 0.35 },
          { wax: "demo-wax-dune", share: 0.65 },
        ],
        oils: [
          { fragrance: "own-oil-rain", share: 0.5 },
          { fragrance: "demo-oil-kelp", share: 0.5 },
        ],
        load: 0.05,
        load_of: "total",
        additives: [
          { name: "dye, moss", rate: 0.4, per: "kilo" },
          { name: "stearin", rate: 1.5, per: "percent" },
        ],
        wick: "own-wick",
        fragrance_c: 66,
        pour_c: 55,
        stir_s: 90,
        trim_days: 2,
        label_days: 3,
        cure_least_days: 1,
        cure_best_days: 10,
        burn_test: "yes",
        burn_days: 12,
      },
    ],
    [
      "recipe",
      "own-recipe-bare",
      {
        name: "bare, no scent",
        vessel: "own-weight",
        waxes: [{ wax: "demo-wax-lantern", share: 1 }],
        oils: [],
        load: 0,
        burn_test: "no",
      },
    ],
    [
      "workshop",
      "workshop",
      { name: "workshop", time_zone: "Europe/Lisbon", remind_at: 555, room_c: 18.5, mass_unit: "g" },
    ],
  ];
  for (const [kind, id, fields] of own) await store.save(kind, id, fields);
  await store.save("wax", "own-wax-fen", { highest_load: 0.07 });
  await store.save("wax", "own-wax-fen", { highest_load: 0.08, notes: null });
  await store.remove("wick", "own-wick-gone");
  await store.remove("jug", "own-jug-back");
  await store.save("jug", "own-jug-back", { deleted: false });
}

// ---- pours -------------------------------------------------------------------------------------

async function sheetFor(recipeId, count, changed = {}) {
  const of = async (kind) => new Map((await store.all(kind)).map((each) => [each.id, each]));
  const [waxes, oils, vessels, wicks] = await Promise.all(["wax", "fragrance", "vessel", "wick"].map(of));
  const recipe = await store.get("recipe", recipeId);
  const tool = (kind, id) => store.get(kind, id);
  const tools = {
    scale: await tool("scale", "demo-scale"),
    fine: await tool("scale", "demo-fine"),
    jug: await tool("jug", "demo-jug"),
    heater: await tool("heater", "demo-bath"),
    thermometer: await tool("thermometer", "demo-probe"),
    room_c: 18.5,
    allowance_g: 5,
    ...changed,
  };
  return makeSheet(recipe, vessels.get(recipe.vessel), waxes, oils, wicks.get(recipe.wick), tools, count);
}

/** A pour at the bench, whose clock is set by hand. */
class Pour {
  constructor(id, sheet, begun_ms) {
    Object.assign(this, { id, sheet, at: begun_ms, events: [] });
  }
  static async begin(id, sheet, day) {
    const pour = new Pour(id, sheet, BEGUN_MS + day * DAY_MS);
    await store.save("pour", id, { name: sheet.title, sheet, started_at: pour.at });
    return pour;
  }
  get state() {
    return folding.fold(this.sheet, this.events);
  }
  async keep(event, after_s = 40) {
    this.at += after_s * 1000;
    const kept = await store.append(this.id, { ...event, at: this.at });
    this.events.push(kept);
    return kept;
  }
  /** Do what the board says until `until` is true. */
  async honest(until = () => false, read_g = (_weighing, target_g) => target_g) {
    for (let turn = 0; turn < 500; turn += 1) {
      const { state } = this;
      if (folding.stageOf(state) === "setting" || until(state)) return this;
      const index = Math.max(
        0,
        state.jugs.findIndex(({ step }) => step !== "done"),
      );
      const jug = state.jugs[index];
      const { main } = promptFor(this.sheet, state, index, this.at, hers({}));
      if (main.pad === "temperature") {
        this.at += 150_000;
        const since_s = (this.at - jug.melted_at) / 1000;
        const temp_c = roundTo(this.sheet.room_c + excess(65, 1.2e-4, since_s), this.sheet.thermometer_step_c);
        await this.keep({ type: "read", jug: index, temp_c });
      } else if (main.pad === "weigh") {
        const { part, index: which, target_g } = jug.current;
        await this.keep({ type: "weighed", jug: index, part, index: which, read_g: read_g(jug.current, target_g) });
      } else if (main.pad === "vessel") {
        await this.keep({ type: "poured", jug: index, read_g: main.expected });
      } else {
        await this.keep(main.event.type === "set" ? { ...main.event, on: localDate(this.at) } : main.event);
      }
    }
    throw new Error(`${this.id} did not end`);
  }
  last(type) {
    return this.events.findLast((each) => each.type === type);
  }
}

export async function keepPours() {
  // Two jugs, a blend, everything that can be said of a finished pour.
  const whole = await Pour.begin(
    "pour-whole",
    await sheetFor("own-recipe-blend", 9, { jug: await store.get("jug", "own-jug") }),
    0,
  );
  await whole.honest((state) => state.jugs[0].step === "cool");
  const wrong = await whole.keep({ type: "read", jug: 0, temp_c: 17.3, source: "probe in the drawer" });
  await whole.keep({ type: "undone", event: wrong.id });
  await whole.honest((state) => state.jugs[0].step === "pour");
  await whole.keep({ type: "noted", text: "frosted, “a little”\n=1+1 <script>alert(1)</script> 🕯️" });
  await whole.honest();
  const first = whole.events.find(({ type }) => type === "weighed");
  await whole.keep({
    type: "corrected",
    event: first.id,
    field: "read_g",
    value: first.read_g + 0.4,
    why: "the lid lay on it",
  });
  const regretted = await whole.keep({ type: "corrected", event: whole.last("poured").id, field: "read_g", value: 1 });
  await whole.keep({ type: "undone", event: regretted.id });
  await whole.keep({
    type: "corrected",
    event: whole.events.find(({ type }) => type === "read").id,
    field: "temp_c",
    value: 81.5,
  });
  await whole.keep({ type: "corrected", event: whole.last("set").id, field: "on", value: "2024-12-01" });
  await whole.keep(
    { type: "finished", tops: "smooth", done: ["set", "trimmed", "labelled"], text: "put on the top shelf" },
    80_000,
  );
  await whole.keep({ type: "seen_to", reminder: "cured", on: "2024-12-02" });
  await whole.keep({ type: "put_off", reminder: "best", on: "2024-12-11", until: "2024-12-20" });
  await whole.keep({ type: "burned", text: "tunnels a little", next_on: "2024-12-28" }, 12 * 86_400);
  const burned = await whole.keep({ type: "burned", text: "for nothing", next_on: "2025-03-01" });
  await whole.keep({ type: "undone", event: burned.id });

  // Too much fragrance: wax is added.
  const over = await Pour.begin("pour-over", await sheetFor("demo-recipe-plum", 4), 5);
  await over.honest(undefined, ({ part }, target_g) =>
    part === "fragrance" ? roundTo(target_g * 1.1, 0.1) : target_g,
  );

  // Not counted vessel by vessel, and a reading off the mark that is kept.
  const emptied = await Pour.begin("pour-emptied", await sheetFor("demo-recipe-slate", 6), 8);
  await emptied.keep({ type: "ready" });
  await emptied.keep({
    type: "weighed",
    jug: 0,
    part: "wax",
    index: 0,
    read_g: emptied.sheet.jugs[0].waxes[0].target_g - 40,
  });
  await emptied.keep({ type: "accepted", jug: 0, part: "wax", index: 0 });
  await emptied.honest((state) => state.jugs[0].poured.length === 2);
  await emptied.keep({ type: "emptied", jug: 0 });
  await emptied.honest();

  // Back on the heat, on the bench still.
  const open = await Pour.begin("pour-open", await sheetFor("demo-recipe-slate", 12), 33);
  await open.honest((state) => state.jugs[0].dips.length === 3);
  await open.keep({ type: "warmed", jug: 0 });
  await open.keep({ type: "read", jug: 0, temp_c: 70.1 });
  await open.keep({ type: "read", jug: 0, temp_c: 76.4 }, 300);
  await open.keep({ type: "read", jug: 0, temp_c: 74.9, source: "probe" }, 300);

  await Pour.begin("pour-untouched", await sheetFor("own-recipe-bare", 3), 34);
  const bare = await Pour.begin(
    "pour-bare",
    await sheetFor("own-recipe-bare", 3, { thermometer: await store.get("thermometer", "own-glass") }),
    12,
  );
  await bare.honest();

  // As older versions wrote a sheet: without what came later.
  const { trim_days, label_days, burn_days, heater, history, family, wick, ...old } = await sheetFor(
    "demo-recipe-slate",
    2,
  );
  const older = await Pour.begin("pour-older", old, -40);
  await older.honest();

  // What no board offers, and what a newer version may have made.
  const odd = await Pour.begin("pour-odd", await sheetFor("demo-recipe-slate", 3), 20);
  await odd.keep({ type: "ready" });
  await odd.keep({ type: "ready" });
  await odd.honest((state) => state.jugs[0].poured.length === 1);
  for (const event of [
    { type: "weighed", jug: 7, part: "wax", index: 0, read_g: 1 },
    { type: "weighed", jug: 0, part: "additive", index: 99, read_g: 0 },
    { type: "weighed", part: "restore", index: 0, read_g: 3.25 },
    { type: "read", jug: 0, temp_c: -12.5 },
    { type: "read", jug: 0, temp_c: 399.9 },
    { type: "undone", event: "001733000000000.0000.nobody" },
    { type: "corrected", event: "001733000000000.0001.nobody", field: "temp_c", value: 40 },
    { type: "weighed_twice", jug: 0, read_g: 3, deep: { list: [1, null, "a", { b: true }] } },
    { type: "lit", at_once: true, of_what: ["batch", "b1"], ratio: 1e-7 },
    { type: "noted", text: "long ".repeat(60) },
    { type: "seen_to", reminder: "trim", on: "2024-12-24" },
    { type: "seen_to", reminder: "trim", on: "2024-12-23" },
    { type: "put_off", reminder: "cured", on: "2024-12-30", until: "2024-01-01" },
    { type: "poured", jug: 0, read_g: 0 },
    { type: "poured", jug: 0, read_g: 118.123456789 },
    { type: "melted", jug: 0 },
    { type: "set", on: "2024-12-22" },
    { type: "set", on: "2024-12-23" },
    { type: "burned", next_on: "2025-02-03" },
  ])
    await odd.keep(event);

  // Events of a pour whose record is deleted, and of one that never came.
  const gone = await Pour.begin("pour-gone", await sheetFor("demo-recipe-slate", 1), 3);
  await gone.honest((state) => state.jugs[0].step === "melt");
  await store.remove("pour", "pour-gone");
  await store.append("pour-unknown", { type: "noted", text: "whose?", at: BEGUN_MS });

  // The one that two phones work on.
  const shared = await Pour.begin("pour-shared", await sheetFor("demo-recipe-slate", 2), 25);
  await shared.honest((state) => state.jugs[0].poured.length === 1);
}

// ---- two phones --------------------------------------------------------------------------------

/** What one of two phones does with no signal. */
export async function writeApart(name, load, room_c) {
  await store.save("recipe", "demo-recipe-slate", { load, notes: `by the ${name}` });
  await store.save("wax", "demo-wax-dune", { highest_c: 80 + 10 * load });
  await store.save("workshop", "workshop", { room_c });
  await store.append("pour-shared", {
    type: "poured",
    jug: 0,
    read_g: 119.5 + load,
    at: BEGUN_MS + 25 * DAY_MS + 3_600_000,
  });
}

export async function settleOne() {
  const { fields } = await store.getStored("recipe", "demo-recipe-slate");
  await store.settle("recipe", "demo-recipe-slate", "load", fields.load.past[0].value);
}

export async function setShared() {
  await store.append("pour-shared", { type: "set", on: "2024-12-27", at: BEGUN_MS + 25 * DAY_MS + 4_000_000 });
}

/** What the server will not take. */
export async function keepRefused() {
  await store.save("wax", "own-wax-refused", { name: "too much of it", highest_load: 5 });
}

/** What waits for the server when the phone is put away. */
export async function keepWaiting() {
  await store.save("vessel", "own-waiting", { name: "made with no signal", method: "weight", wax_g: 55 });
  await store.save("recipe", "own-recipe-blend", { load: 0.045 });
  await store.append("pour-open", { type: "noted", text: "no signal in the shed", at: BEGUN_MS + 34 * DAY_MS });
  await store.append("pour-bare", { type: "finished", tops: "sunk", at: BEGUN_MS + 34 * DAY_MS });
}

export async function pair(code, name) {
  await talk.joined(await talk.ask("/api/pair", { code, name }));
}

export async function settle() {
  for (let turn = 0; turn < 100; turn += 1) {
    await talk.exchangeNow();
    const { count, refused } = await outbox.waiting();
    if (talk.standing.state === "resting" && count === refused.length) return;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  throw new Error(`It did not settle: ${JSON.stringify(talk.standing)}`);
}

// ---- what it amounts to ------------------------------------------------------------------------

/** The main results of every pour's fold, by id. */
export async function foldAll() {
  const { records } = await store.everything();
  const found = {};
  for (const { id, fields } of records.filter(({ kind }) => kind === "pour")) {
    const sheet = fields.sheet.value;
    const state = folding.fold(sheet, await store.events(id));
    found[id] = {
      stage: folding.stageOf(state),
      ready_at: state.ready_at,
      set_at: state.set_at,
      set_on: state.set_on,
      finished_at: state.finished_at,
      tops: state.tops,
      notes: state.notes,
      seen_to: state.seen_to,
      put_off: state.put_off,
      burns: state.burns.map(({ at, text, next_on }) => ({ at, text: text ?? null, next_on: next_on ?? null })),
      counted: state.counted.map((event) => event.id),
      jugs: state.jugs.map((jug) => ({
        vessels: jug.vessels,
        step: jug.step,
        wax_g: jug.wax_g,
        extras_g: jug.extras_g,
        fragrance_g: jug.fragrance_g,
        load: jug.load,
        left_g: jug.left_g,
        melted_at: jug.melted_at,
        added_at: jug.added_at,
        stirred_at: jug.stirred_at,
        dips: jug.all_dips.map(({ at, temp_c }) => [at, temp_c]),
        poured: jug.poured.map(({ at, read_g }) => [at, read_g]),
        weighed: jug.weighings.map(({ part, index, target_g, read_g }) => [part, index, target_g, read_g]),
      })),
    };
  }
  return found;
}

/** What each pour reminds of, as the phone reckons it in the workshop's time zone. */
export async function remindAll() {
  const settings = dues.settingsOf(await store.get("workshop", "workshop"));
  return Object.fromEntries((await bench.allPours()).map((pour) => [pour.id, dues.remindersOf(pour, settings)]));
}

/** The pours of the log, the newest first. */
export async function logged() {
  return (await bench.allPours()).map(({ id }) => id);
}
