/**
 * An invented business of some years, put into this phone's store: pours as the demo's are played, again and again,
 * each from its own deliveries, of which the last few are still open.
 */
async ([count, deliveriesCount]) => {
  const [{ playPour }, { EARLIEST }, store, { tidy }] = await Promise.all(
    ["bench/played_pour", "records/stamp", "records/store", "shelf/tidy"].map((name) => import(`/static/${name}.js`)),
  );

  const DAY_MS = 86_400_000;
  const YEARS_MS = 5 * 365 * DAY_MS;
  const MOST_POURS = 2000;
  const OPEN_LOTS = 8;

  const stampOf = (at_ms, n, by) =>
    `${String(Math.floor(at_ms)).padStart(15, "0")}.${String(n).padStart(4, "0")}.${by}`;
  const dayOf = (at_ms) => new Date(at_ms).toISOString().slice(0, 10);

  function wrapped(kind, id, fields) {
    const versions = Object.entries(fields).map(([name, value]) => [name, { value, stamp: EARLIEST }]);
    return { kind, id, fields: Object.fromEntries(versions) };
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
      records.push(wrapped("lot", id, { name: `lot ${n}`, material, ...bought }));
      const at = Math.floor(came_ms + 20 * DAY_MS);
      const happened = [
        { type: "noted", text: "dry shelf" },
        { type: "counted", amount: 0 },
      ];
      happened.slice(0, n < count - OPEN_LOTS ? 2 : 1).forEach((event, k) => {
        events.push({ ...event, at, of: ["lot", id], id: stampOf(at + k, n % 10_000, "lot") });
      });
    }
    return { records, events };
  }

  /** One pour as it was played, some time later, and from which deliveries. */
  function later({ record, events }, n, shift_ms, lots) {
    const id = `grown-${n}`;
    const { sheet, name, started_at } = record.fields;
    const from = (kind, material, lot) => {
      const drawn = [{ id: `grown-lot-${lot}`, name: `lot ${lot}`, amount: 100 }];
      return { kind, id: material, name: material, lots: drawn };
    };
    const pinned = [from("wax", "demo-wax-dune", lots.wax), from("fragrance", "demo-oil-slate", lots.oil)];
    return {
      record: wrapped("pour", id, { name, sheet, started_at: started_at + shift_ms, lots: pinned }),
      events: events.map((event, k) => {
        const at = event.at + shift_ms;
        const on = event.on && { on: dayOf(Date.parse(event.on) + shift_ms) };
        return { ...event, at, ...on, of: ["pour", id], id: stampOf(at, k, `g${n}`) };
      }),
    };
  }

  /** Its candle was sold a month later, or is set aside today. */
  function soldLater({ record: { id }, events }, now_ms) {
    const at = events.at(-1).at + 30 * DAY_MS;
    const sold = { type: "sold", n: 1, price: 1450, currency: "EUR", at };
    const what = at < now_ms ? sold : { type: "set_aside", n: 1, at: Math.floor(now_ms) };
    return { ...what, of: ["batch", id], id: stampOf(what.at, 0, id.replace("-", "")) };
  }

  /** @returns {Promise<number>} how many events there are */
  async function grow(pours, lots) {
    const { records } = await (await fetch("/demo.json")).json();
    const now_ms = Date.now();
    const first_ms = now_ms - (YEARS_MS * pours) / MOST_POURS;
    const past = { recipe: "demo-recipe-slate", count: 1, start_c: 83.5, rate: 1.3e-4, tops: "smooth" };
    const played = playPour({ ...past, id: "grown", begun_at: Math.floor(first_ms) }, records);
    const kept = deliveries(lots, first_ms, now_ms);
    for (let n = 0; n < pours; n += 1) {
      const shift_ms = Math.round(((now_ms - 3 * DAY_MS - first_ms) * n) / pours);
      const at = Math.floor((n * lots) / pours);
      const pour = later(played, n, shift_ms, { wax: at % 3 ? at : at + 1, oil: at - (at % 3) });
      kept.records.push(pour.record);
      kept.events.push(...pour.events, soldLater(pour, now_ms));
    }
    for (let at = 0; at < kept.records.length; at += 500) await store.bringIn(kept.records.slice(at, at + 500), []);
    for (let at = 0; at < kept.events.length; at += 2000) await store.bringIn([], kept.events.slice(at, at + 2000));
    // What a phone does by itself while it lies there; it is done once a day, and here at once.
    localStorage.removeItem("tidied");
    await tidy(now_ms, dayOf(now_ms), async () => undefined);
    return kept.events.length;
  }

  return grow(count, deliveriesCount);
};
