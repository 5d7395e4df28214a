"""What is wanted, resolved from records: the invented workshop's, with what a test changes."""

from datetime import date
from typing import Any

import pytest

from tests.bench.conftest import WORKSHOP, Bench
from tests.shelf.conftest import Json

TODAY = date(2026, 11, 25)
MARKET = {"kind": "wanted", "id": "w", "name": "Market", "recipe": "demo-recipe-slate"}
MARKET |= {"count": 24, "by": "2026-12-30", "cured": "best", "done": "no"}

#: Works out what is wanted of `g.records`, with the pours of `g.poured`.
WORK = """
  const names = ['wanted', 'shopping', 'bench_day', 'stock', 'supply', 'lots'];
  const modules = Promise.all(names.map((name) => import(`/shelf/${name}.js`)));
  return modules.then(([wanted, shopping, benchDay, stock, supply, { MATERIALS }]) => {
    const of = (kind) => g.records.filter((each) => each.kind === kind);
    const byId = (kind) => new Map(of(kind).map((each) => [each.id, each]));
    const materials = {
      ...{ vessels: byId('vessel'), waxes: byId('wax'), oils: byId('fragrance') },
      ...{ additives: byId('additive'), wicks: byId('wick') },
    };
    const tool = (kind) => of(kind);
    const tools = {
      ...{ scales: tool('scale'), jugs: tool('jug').length ? tool('jug') : [{ id: '' }] },
      ...{ thermometers: tool('thermometer'), heaters: [] },
    };
    const recipes = byId('recipe');
    const pours = g.poured.map(({ id, recipe, count, set_on, after = [], until }) => {
      const usual = { ...tools, jug: tools.jugs[0], scale: tools.scales[0], fine: tools.scales[1] };
      const given = { ...usual, thermometer: tools.thermometers[0], room_c: 20, allowance_g: 5 };
      const sheet = b.makeSheet(recipes.get(recipe), materials, given, count);
      const play = new b.Play(sheet);
      if (until) play.to(until);
      else if (set_on) {
        play.honest();
        const { event } = play.events.find(({ type }) => type === 'set');
        play.keep({ type: 'corrected', event: play.events.at(-1).id, field: 'on', value: set_on });
      }
      for (const event of after) play.keep(event, 60);
      const state = b.fold(sheet, play.events);
      const record = { id, started_at: b.BEGUN_MS, lots: [] };
      return { id, sheet, state, events: play.events, record, stage: b.stageOf(state) };
    });
    const kinds = MATERIALS.flatMap(of);
    const [lots, today] = [of('lot'), g.today];
    const shelf = stock.shelfOf({ lots, events: [], materials: kinds, uses: [], today });
    const workshop = { ...of('workshop')[0] };
    const suppliers = byId('supplier');
    const kept = { today, wanted: of('wanted'), recipes, suppliers, materials, tools, workshop };
    Object.assign(kept, { pours, shelf, used_up: new Set(g.used_up ?? []) });
    const orders = wanted.workOut(kept);
    BODY
  });
"""


def records(*added: Json, without: tuple[str, ...] = (), **changed: Json) -> list[Json]:
    """The workshop's without what is wanted; `changed`: fields by id, with '_' for '-'."""
    found = []
    for each in WORKSHOP:
        if each["kind"] in ("pour", "wanted", *without) or each["id"] in without:
            continue
        more = changed.get(each["id"].replace("-", "_"), {})
        found.append({"kind": each["kind"], "id": each["id"], **each["fields"], **more})
    return [*found, *added]


def work(
    bench: Bench, kept: list[Json], *poured: Json, body: str = "return orders;", **given: Any
) -> Any:
    asked = {"records": kept, "poured": poured, "today": str(TODAY), **given}
    return bench.ask(WORK.replace("BODY", body), asked)


def lot(id_: str, kind: str, material: str, **fields: Any) -> Json:
    usual = {"name": id_, "received_on": "2026-11-01"}
    by = "pieces" if "pieces" in fields else "weight"
    return {"kind": "lot", "id": id_, "material": [kind, material], "by": by, **usual, **fields}


def missing(order: Json) -> dict[str, float]:
    return {each["id"]: round(each["amount"], 3) for each in order["missing"]}


# ---- the days ------------------------------------------------------------------------------------


def test_the_recipes_cure_and_her_jug_give_the_days(bench: Bench) -> None:
    """14 days of cure before 30 Dec; the jug of 1800 ml takes 15 of 118 ml: two jugs of 12."""
    (order,) = work(bench, records(MARKET))
    assert order["problem"] is None
    assert [(each["day"], each["n"]) for each in order["days"]] == [
        ("2026-12-15", 12),
        ("2026-12-16", 12),
    ]
    (order,) = work(bench, records(MARKET, workshop={"jugs_a_day": 2}))
    assert [(each["day"], each["jugs"], each["n"]) for each in order["days"]] == [
        ("2026-12-16", 2, 24)
    ]
    (order,) = work(bench, records({**MARKET, "cured": "least"}, without=("jug",)))
    # Without a jug of hers the usual one of two litres takes 16.
    assert [each["day"] for each in order["days"]] == ["2026-12-22", "2026-12-23"]
    # Of two jugs that differ a day holds what both take: 15 and 5.
    small = {"kind": "jug", "id": "small", "name": "small", "empty_g": 200.0, "volume_ml": 700.0}
    (order,) = work(bench, records(MARKET, small))
    assert [(each["day"], each["jugs"], each["n"]) for each in order["days"]] == [
        *(("2026-12-15", 1, 8), ("2026-12-16", 2, 16))
    ]
    own = {"demo_recipe_slate": {"cure_best_days": 20}}
    (order,) = work(bench, records(MARKET, **own))
    assert order["days"][-1]["day"] == "2026-12-10"


def poured(id_: str, count: int, set_on: str | None, *after: Json, **given: Any) -> Json:
    slate = {"id": id_, "recipe": "demo-recipe-slate", "count": count}
    return {**slate, "set_on": set_on, "after": list(after), **given}


FINISHED = {"type": "finished", "good": 9, "seconds": 1, "spoiled": 2}


def test_candles_that_stand_cure_or_are_on_the_bench_count(bench: Bench) -> None:
    body = """
        const days = { best_days: 14, least_days: 7, label_days: 2 };
        const slate = recipes.get('demo-recipe-slate');
        return supply.batchesOf(pours, slate, days, today);
    """
    cases = {
        "curing": (poured("a", 12, "2026-11-20", FINISHED), 10, "2026-12-04"),
        "handed out": (
            poured("a", 12, "2026-11-20", FINISHED, {"type": "handed_out", "n": 4}),
            *(6, "2026-12-04"),
        ),
        "setting": (poured("a", 12, "2026-11-24"), 12, "2026-12-08"),
        "on the bench": (poured("a", 12, None, until="melt"), 12, "2026-12-09"),
    }
    for name, (pour, n, best_on) in cases.items():
        (batch,) = work(bench, records(), pour, body=body)
        assert (batch["n"], batch["best_on"]) == (n, best_on), name
    none = [
        poured("a", 12, "2026-11-20", {"type": "abandoned"}),
        poured("a", 12, "2026-11-20", FINISHED, {"type": "candles_counted", "n": 0}),
        {**poured("a", 4, "2026-11-20"), "recipe": "demo-recipe-plum"},
    ]
    assert [work(bench, records(), pour, body=body) for pour in none] == [[], [], []]
    # Poured into another vessel than the recipe now has, they are not what is wanted.
    body = body.replace("recipes.get('demo-recipe-slate')", "{ id: slateId, vessel: 'other' }")
    body = "const slateId = 'demo-recipe-slate';" + body
    assert work(bench, records(), poured("a", 12, "2026-11-20"), body=body) == []


def test_what_went_out_for_it_is_no_longer_wanted(bench: Bench) -> None:
    out = {"type": "handed_out", "n": 7, "wanted": "w"}
    (order,) = work(bench, records(MARKET), poured("a", 12, "2026-11-20", FINISHED, out))
    # 24 - 7 are still wanted; 3 of the 10 good ones are left, the others must be poured.
    assert (order["given"], order["worked"]["met"], order["worked"]["pour"]) == (7, 3, 14)
    out = {**out, "n": 24}
    (order,) = work(bench, records(MARKET), poured("a", 12, "2026-11-20", FINISHED, out))
    assert order["problem"].startswith("All of them went out.")


# ---- what is missing -----------------------------------------------------------------------------

SHEET = """
    const slate = recipes.get('demo-recipe-slate');
    const given = { scale: tools.scales[0], fine: tools.scales[1], jug: tools.jugs[0] };
    Object.assign(given, { thermometer: tools.thermometers[0], room_c: 20, allowance_g: 5 });
    const sheet = b.makeSheet(slate, materials, given, g.count);
    return [sheet.wax_g, sheet.fragrance_g];
"""


def test_what_is_not_on_the_shelf_is_missing_and_must_be_ordered_in_time(bench: Bench) -> None:
    wax_g, oil_g = work(bench, records(), body=SHEET, count=24)
    lots = (
        lot("l1", "wax", "demo-wax-dune", amount_g=1000.0),
        lot("l2", "wax", "demo-wax-dune", amount_g=500.0, best_before="2026-12-01"),
        lot("l3", "fragrance", "demo-oil-slate", amount_g=1000.0),
        lot("l4", "vessel", "demo-tin", pieces=20),
        lot("l5", "packaging", "demo-lid", pieces=30),
        lot("l6", "wick", "demo-wick-a", pieces=30),
    )
    made = {
        "workshop": {"jugs_a_day": 2},
        "demo_wax_dune": {"supplier": "demo-supplier-fen"},
        "demo_tin": {"supplier": "demo-supplier-tin", "lead_days": 3},
    }
    (order,) = work(bench, records(MARKET, *lots, without=("lot",), **made))
    # What expires before the day is not there on it.
    assert missing(order) == {"demo-wax-dune": round(wax_g - 1000, 3), "demo-tin": 4}
    assert oil_g < 1000
    by = {each["id"]: (each["order_by"], each["lead_days"]) for each in order["missing"]}
    # Poured on 16 Dec: four days before, as the supplier has it; three, as the tin itself has it.
    assert by == {"demo-wax-dune": ("2026-12-12", 4), "demo-tin": ("2026-12-13", 3)}
    assert [each["id"] for each in order["missing"]] == ["demo-wax-dune", "demo-tin"]
    # The labels have never been counted; or all of them were used up long ago.
    assert [(each["id"], each["amount"]) for each in order["uncounted"]] == [("demo-label", 24)]
    kept = records(MARKET, *lots, without=("lot",), **made)
    (order,) = work(bench, kept, used_up=["packaging,demo-label"])
    assert (order["uncounted"], missing(order)["demo-label"]) == ([], 24)


def test_the_shelf_is_promised_once_and_the_earlier_day_is_served_first(bench: Bench) -> None:
    early = {**MARKET, "id": "e", "by": "2026-12-20", "count": 10}
    lots = (lot("l1", "vessel", "demo-tin", pieces=15),)
    kept = records(MARKET, early, *lots, without=("lot",))
    first, second = work(bench, kept)
    assert (first["record"]["id"], missing(first)) == ("e", {})
    assert missing(second) == {"demo-tin": 24 - 5}
    # A pour on the bench takes its tins first.
    first, second = work(bench, kept, poured("p", 10, None, until="melt"))
    assert missing(second)["demo-tin"] == 24 - 5
    assert first["worked"]["met"] == 10


def test_the_shopping_list_goes_by_supplier_and_in_packs(bench: Bench) -> None:
    second = {**MARKET, "id": "x", "count": 6}
    lots = (lot("l1", "wax", "demo-wax-dune", amount_g=100.0), lot("l2", "wick", "w", pieces=1))
    made = {"demo_wax_dune": {"pack": 1000.0, "supplier": "demo-supplier-fen"}}
    body = """
        const all = orders.flatMap(({ missing, uncounted }) => [...missing, ...uncounted]);
        return [orders, shopping.shoppingOf(all, shelf)];
    """
    kept = records(MARKET, second, *lots, without=("lot",), **made)
    orders, bought = work(bench, kept, body=body)
    assert [each["supplier"] and each["supplier"]["name"] for each in bought] == [
        *("Tin & Twine", "Fen & Furrow Waxes", None)
    ]
    wax = bought[1]["items"][0]
    assert wax["amount"] == pytest.approx(sum(missing(each)["demo-wax-dune"] for each in orders))
    assert (wax["packs"], wax["counted"]) == (-(-wax["amount"] // 1000), True)
    lid = next(each for each in bought[0]["items"] if each["id"] == "demo-lid")
    assert (lid["amount"], lid["pack"], lid["packs"], lid["counted"]) == (30, 50, 1, False)


# ---- what can't be worked out --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"recipe": "gone"}, "Its recipe was deleted."),
        ({"by": "2026-02-31"}, "“2026-02-31” is not a date"),
        ({"by": "2726-01-01"}, "2726-01-01 is too far from today to plan for: check the year."),
        ({"count": 0}, "How many are wanted must be from 1 to 100000."),
    ],
)
def test_one_that_makes_no_sense_says_so_and_keeps_no_other_from_it(
    bench: Bench, given: Json, said: str
) -> None:
    odd, market = work(bench, records({**MARKET, "id": "0", "name": "A", **given}, MARKET))
    if odd["record"]["id"] != "0":
        odd, market = market, odd
    assert said in odd["problem"]
    assert market["worked"]["pour"] == 24


def test_a_vessel_that_fits_no_jug_is_said(bench: Bench) -> None:
    (order,) = work(bench, records(MARKET, demo_jug={"volume_ml": 100.0}))
    assert "use a larger jug" in order["problem"]


def test_done_is_passed_over(bench: Bench) -> None:
    assert work(bench, records({**MARKET, "done": "yes"})) == []


# ---- a day at the bench --------------------------------------------------------------------------


def test_a_day_keeps_a_wax_together_and_pours_light_before_heavy_and_dye_last(
    bench: Bench,
) -> None:
    slate = next(each for each in WORKSHOP if each["id"] == "demo-recipe-slate")["fields"]
    dyed = [{"additive": "demo-dye", "name": "dye", "rate": 0.6, "per": "kilo"}]
    lantern = [{"wax": "demo-wax-lantern", "share": 1.0}]
    recipes = {
        "heavy": {"load": 0.09},
        "dyed": {"additives": dyed, "load": 0.01},
        "plain": {"oils": []},
        "other": {"waxes": lantern, "load": 0.05},
        "light": {"load": 0.04},
    }
    made = [{"kind": "recipe", "id": id_, **slate, **more} for id_, more in recipes.items()]
    wants = [
        {**MARKET, "id": f"w-{id_}", "recipe": id_, "count": 6, "pour_on": "2026-12-01"}
        for id_ in recipes
    ]
    twice = {**wants[0], "id": "again", "count": 4}
    body = """
        const turns = benchDay.dayOf(orders, '2026-12-01', 1000, { materials, pours });
        return turns.map(({ recipe, count, wanted, start_ms, end_ms }) =>
          [recipe.id, count, wanted.length, start_ms, end_ms]);
    """
    kept = records(*made, *wants, twice, workshop={"jugs_a_day": 9})
    found = work(bench, kept, body=body)
    assert [each[0] for each in found] == ["plain", "light", "heavy", "dyed", "other"]
    assert [each[1:3] for each in found if each[0] == "heavy"] == [[10, 2]]
    # Nobody has timed one: two hours each, one after the other.
    assert [each[3] for each in found] == [1000 + 7_200_000 * turn for turn in range(5)]
    assert all(end - begin == 7_200_000 for *_, begin, end in found)


def test_how_long_a_pour_takes_is_told_by_past_ones(bench: Bench) -> None:
    body = """
        const told = pours.map(({ state }) => (state.set_at - state.ready_at) / 1000);
        return [told, benchDay.tookOf(pours, 'demo-recipe-slate'), benchDay.tookOf([], 'x')];
    """
    past = [poured(f"p{count}", count, "2026-11-20") for count in (2, 4, 12)]
    told, took, none = work(bench, records(), *past, body=body)
    assert took == {"took_s": sorted(told)[1], "pours": 3}
    assert len(set(told)) == 3
    assert none == {"took_s": 7200, "pours": 0}
