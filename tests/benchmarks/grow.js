/**
 * An invented business of some years, put into this phone's store: pours as the demo's are played, again and again,
 * each of one of many recipes and from its own deliveries, of which the last few are still open; what became of their
 * candles, one by one, who bought them, and notes. In it are words that a search has to tell from one another.
 */
async ({ pours: poursCount, lots: lotsCount, years }) => {
  const [{ playPour }, { EARLIEST }, { write }, { putEvent, putRecord }, { tidy }, found] = await Promise.all(
    [...["bench/played_pour", "records/stamp", "records/database", "records/settled", "shelf/tidy", "find/index"]].map(
      (name) => import(`/static/${name}.js`),
    ),
  );

  const DAY_MS = 86_400_000;
  const OPEN_LOTS = 8;
  const CANDLES = 15;
  /** Of a lot, used for other things; so many that ten years come to 300,000 events. */
  const USED_OFTEN = 20;
  const FIRSTS =
    "amber aniseed barley bramble cedar clove dune elder fennel fig gorse hazel heather juniper kelp larch linden moss " +
    "myrtle nettle oak peat plum quince rowan saffron sage salt sloe thyme violet willow wren yarrow";
  const SECONDS = "ash brook cellar crème façade fjord garden hearth Łąka marsh meadow Øre quay smoke Straße tide";
  const NOTES = [
    "tops a little rough",
    "poured by the window",
    "new jug",
    "très bien",
    "smells of rain",
    "for the fair",
  ];
  const MARKETS = ["harbour market", "autumn fair", "church hall", "Brackwater quay"];

  const firsts = FIRSTS.split(" ");
  const seconds = SECONDS.split(" ");
  const nameOf = (n) => `${firsts[n % firsts.length]} & ${seconds[Math.floor(n / firsts.length + n) % seconds.length]}`;
  const stampOf = (at_ms, n, by) =>
    `${String(Math.floor(at_ms)).padStart(15, "0")}.${String(n).padStart(4, "0")}.${by}`;
  const dayOf = (at_ms) => new Date(at_ms).toISOString().slice(0, 10);

  function wrapped(kind, id, fields) {
    const versions = Object.entries(fields).map(([name, value]) => [name, { value, stamp: EARLIEST }]);
    return { kind, id, fields: Object.fromEntries(versions) };
  }

  /** What happened to a record, one thing a second. */
  function stream(kind, id, by, from_ms, events) {
    return events.map((event, k) => {
      const at = Math.floor(from_ms) + k * 1000;
      return { at, ...event, of: [kind, id], id: stampOf(at, k, by) };
    });
  }

  /** Deliveries, one after another; all but the last were used up. */
  function deliveries(count, first_ms, now_ms) {
    const records = [];
    const events = [];
    for (let n = 0; n < count; n += 1) {
      const came_ms = first_ms + ((now_ms - first_ms) * n) / count - 9 * DAY_MS;
      const material = n % 3 ? ["wax", "demo-wax-dune"] : ["fragrance", "demo-oil-slate"];
      const bought = { by: "weight", amount_g: 5000, paid: 4200, received_on: dayOf(came_ms) };
      const id = `grown-lot-${n}`;
      records.push(wrapped("lot", id, { name: `Q${1000 + n}`, material, ...bought }));
      const used = Array.from({ length: USED_OFTEN }, () => ({ type: "used", amount: 1 }));
      const happened = [{ type: "noted", text: "dry shelf" }, ...used, { type: "counted", amount: 0 }];
      const isOpen = n >= count - OPEN_LOTS;
      events.push(...stream("lot", id, `l${n}`, came_ms + 20 * DAY_MS, isOpen ? happened.slice(0, 1) : happened));
    }
    return { records, events };
  }

  /** One pour as it was played, some time later, and from which deliveries; and what became of its candles. */
  function later({ record, events }, n, shift_ms, lots, recipe, buyers) {
    const id = `grown-${n}`;
    const { sheet, started_at } = record.fields;
    const from = (kind, material, lot) => {
      const drawn = [{ id: `grown-lot-${lot}`, name: `lot ${lot}`, amount: 100 }];
      return { kind, id: material, name: material, lots: drawn };
    };
    const pinned = [from("wax", "demo-wax-dune", lots.wax), from("fragrance", "demo-oil-slate", lots.oil)];
    const moved = events.map((event, k) => {
      const at = event.at + shift_ms;
      const on = event.on && { on: dayOf(Date.parse(event.on) + shift_ms) };
      return { ...event, at, ...on, of: ["pour", id], id: stampOf(at, k, `g${n}`) };
    });
    const end_ms = moved.at(-1).at;
    const set_on = moved.find(({ type }) => type === "set").on;
    const seen = ["trim", "label", "cured", "best"].map((reminder) => ({ type: "seen_to", reminder, on: set_on }));
    const noted = [NOTES[n % NOTES.length], `${nameOf(n * 7)} next time`].map((text) => ({ type: "noted", text }));
    const labelled = Array.from({ length: CANDLES }, () => ({ type: "labelled", n: 1 }));
    // One every other day; the last batches are not all sold yet.
    const sold = Array.from({ length: CANDLES }, (_, k) => ({
      ...{ type: "sold", n: 1, price: 1400, currency: "EUR", at: Math.floor(end_ms + (2 * k + 8) * DAY_MS) },
      ...(k % 2 ? { where: MARKETS[n % MARKETS.length] } : { buyer: `grown-buyer-${(n + k) % buyers}` }),
    })).filter(({ at }) => at < Date.now());
    const title = recipe.name;
    return {
      record: wrapped("pour", id, {
        ...{ name: title, started_at: started_at + shift_ms, lots: pinned },
        sheet: { ...sheet, title, recipe: recipe.id },
      }),
      events: [
        ...moved,
        ...stream("pour", id, `h${n}`, end_ms + 3600_000, [...seen, ...noted]),
        ...stream("batch", id, `b${n}`, end_ms + 2 * 3600_000, [...labelled, ...sold]),
      ],
    };
  }

  /** As the server would have sent them: nothing of it waits to be sent. */
  async function putAll(items, put) {
    for (let at = 0; at < items.length; at += 5000) {
      await write(["records", "events"], async (stores) => {
        for (const item of items.slice(at, at + 5000)) put(stores, item);
      });
    }
  }

  /** @returns {Promise<number>} how many events there are */
  async function grow(pours, lots) {
    const { records } = await (await fetch("/demo.json")).json();
    const now_ms = Date.now();
    const first_ms = now_ms - years * 365 * DAY_MS;
    const past = { recipe: "demo-recipe-slate", count: CANDLES, start_c: 83.5, rate: 1.3e-4, tops: "smooth" };
    const played = playPour({ ...past, id: "grown", begun_at: Math.floor(first_ms) }, records);
    const kept = deliveries(lots, first_ms, now_ms);
    const slate = records.find(({ id }) => id === "demo-recipe-slate").fields;
    const recipes = Array.from({ length: Math.ceil(pours / 40) }, (_, n) => ({
      id: `grown-recipe-${n}`,
      name: nameOf(n),
    }));
    for (const { id, name } of recipes) kept.records.push(wrapped("recipe", id, { ...slate, name }));
    const buyers = Math.ceil(pours / 8);
    for (let n = 0; n < buyers; n += 1) {
      const name = `${firsts[n % firsts.length]} ${seconds[(n * 5) % seconds.length]} ${n}`;
      kept.records.push(wrapped("buyer", `grown-buyer-${n}`, { name, what: "person", notes: "likes it strong" }));
    }
    for (let n = 0; n < pours / 20; n += 1) {
      const by = dayOf(first_ms + ((now_ms - first_ms) * 20 * n) / pours);
      const wanted = { name: `order ${n}`, recipe: recipes[n % recipes.length].id, count: 12, by, done: "yes" };
      kept.records.push(wrapped("wanted", `grown-wanted-${n}`, wanted));
    }
    for (let n = 0; n < pours; n += 1) {
      const shift_ms = Math.round(((now_ms - 3 * DAY_MS - first_ms) * n) / pours);
      const at = Math.floor((n * lots) / pours);
      const of = { wax: at % 3 ? at : at + 1, oil: at - (at % 3) };
      const pour = later(played, n, shift_ms, of, recipes[(n * 13) % recipes.length], buyers);
      kept.records.push(pour.record);
      kept.events.push(...pour.events);
    }
    await putAll(kept.records, putRecord);
    await putAll(kept.events, putEvent);
    // What a phone does by itself while it lies there; it is done once a day, and here at once.
    localStorage.removeItem("tidied");
    await tidy(now_ms, dayOf(now_ms), async () => undefined);
    await found.catchUp(await found.behind());
    return kept.events.length;
  }

  return grow(poursCount, lotsCount);
};
