"""What a pour cost: worked cases, and the same reckoned apart by Python's own fractions."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import strategies as st

from tests.bench.conftest import Bench, Json, asked, fields_of
from tests.bench.test_walks import made_up

WAX, OIL, TIN, WICK = "demo-wax-dune", "demo-oil-slate", "demo-tin", "demo-wick-a"
SLATE = fields_of("demo-recipe-slate")
DAY_MS = 86_400_000

RECKON = """
const text = (value) => JSON.parse(JSON.stringify(value, (_, each) =>
  typeof each?.n === 'bigint' ? `${each.n}/${each.d}` : each instanceof Map ? [...each] : each));
const play = new b.Play(b.sheetOf(g.asked)).honest();
for (const [event, after_s] of g.then ?? []) play.keep(event, after_s);
const record = { id: 'p', started_at: b.BEGUN_MS, lots: g.pinned ?? [] };
const { sheet, state, events } = play;
const pour = { id: 'p', sheet, state, events, record };
const materials = Object.entries({ wax: 'demo-wax-dune', fragrance: 'demo-oil-slate',
  vessel: 'demo-tin', wick: 'demo-wick-a', packaging: 'lid' })
  .map(([kind, id]) => ({ kind, id, name: id }));
return Promise.all(['cost', 'uses', 'stock'].map((name) => import(`/shelf/${name}.js`)))
  .then(([{ averagesOf, costOf, expectedOf, unpricedOf }, { usesOf }, { shelfOf, pourUses }]) => {
    const one = (asked) => {
      const lots = (asked.lots ?? []).map((lot) => ({ kind: 'lot', ...lot }));
      const kept = { lots, events: asked.lotEvents ?? [], materials, today: '2026-12-31' };
      const shelf = shelfOf({ ...kept, uses: asked.uses ? [] : pourUses(pour) });
      const uses = asked.uses ?? usesOf(pour);
      const { prices = {} } = asked;
      const averages = averagesOf([...shelf.materials.values()], prices, record.started_at);
      const known = { lots: shelf.lots, averages, prices };
      const cost = costOf({ pour, uses, ...known });
      const expected = expectedOf(sheet, { cost, pinned: record.lots, ...known });
      return text({ uses, cost, expected, lacking: unpricedOf(cost, expected) });
    };
    return g.each ? g.each.map(one) : one(g);
  });
"""


def costed(bench: Bench, *, count: int = 3, **given: Json) -> Json:
    """The cost of a slate pour of so many that went as the board says, beside what is expected."""
    found = bench.ask(RECKON, {"asked": asked(SLATE, count=count), **given})
    found["lines"] = {line["id"]: line for line in found["cost"]["lines"]}
    return found


def lot(id_: str, kind: str, material: str, amount: float, **fields: Any) -> Json:
    by = (
        {"by": "pieces", "pieces": amount}
        if kind in {"wick", "vessel", "packaging"}
        else {
            "by": "weight",
            "amount_g": amount,
        }
    )
    usual = {"id": id_, "material": [kind, material], "name": f"no. {id_}"}
    return {**usual, "received_on": "2026-11-01", "tax": "with", **by, **fields}


def use(kind: str, id_: str, amount: float, lot_id: str | None = None) -> Json:
    return {"kind": kind, "id": id_, "name": id_, "lot": lot_id, "amount": amount, "at_ms": 0}


def money(text: str | None) -> Fraction | None:
    return None if text is None else Fraction(text)


# ---- one lot -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fields", "prices", "cents"),
    [
        # 1000 g for 24.00, of which the pour took 100 g.
        ({"paid": 2400}, {}, 240),
        ({"paid": 2400, "delivery": 600}, {}, 300),
        ({"paid": 0}, {}, 0),
        # Tax is a cost where it is not had back, and comes on top where the price is without it.
        ({"paid": 2400}, {"tax_rate": 0.2}, 240),
        ({"paid": 2400, "tax": "without"}, {"tax_rate": 0.2}, 288),
        ({"paid": 2400, "tax": "without", "tax_rate": 0.1}, {"tax_rate": 0.2}, 264),
        ({"paid": 2400, "tax": "without", "tax_rate": 0}, {"tax_rate": 0.2}, 240),
        # Had back, it is no cost.
        ({"paid": 2400}, {"tax_rate": 0.2, "tax_back": "yes"}, 200),
        ({"paid": 2400, "delivery": 600}, {"tax_rate": 0.2, "tax_back": "yes"}, 250),
        ({"paid": 2400, "tax": "without"}, {"tax_rate": 0.2, "tax_back": "yes"}, 240),
        ({"paid": 2400}, {"tax_back": "yes"}, 240),
        # By volume: 1000 ml of 0.8 g/ml are 800 g.
        ({"paid": 2400, "by": "volume", "amount_ml": 1000, "density": 0.8}, {}, 300),
    ],
)
def test_a_lot_costs_what_was_paid_for_it(
    bench: Bench, fields: Json, prices: Json, cents: int
) -> None:
    found = costed(
        bench,
        uses=[use("wax", WAX, 100, "A")],
        lots=[lot("A", "wax", WAX, 1000, **fields)],
        prices=prices,
    )
    line = found["lines"][WAX]
    assert money(line["cost"]) == cents
    assert line["parts"] == [
        {"lot": "A", "name": "no. A", "amount": 100, "cost": f"{cents}/1", "averaged": False}
    ]


# ---- lots, averages and what has no price ------------------------------------------------------


def test_what_has_no_price_of_its_own_costs_the_average(bench: Bench) -> None:
    """200 g of a lot without a price and 100 g of nobody knows which, beside two with one."""
    lots = [
        lot("A", "wax", WAX, 1000, paid=1000),
        lot("B", "wax", WAX, 3000, paid=9000),
        lot("C", "wax", WAX, 500),
    ]
    uses = [use("wax", WAX, 100, "A"), use("wax", WAX, 200, "C"), use("wax", WAX, 100)]
    line = costed(bench, uses=uses, lots=lots)["lines"][WAX]
    # 10 000 for 4000 g.
    assert [(part["lot"], money(part["cost"]), part["averaged"]) for part in line["parts"]] == [
        ("A", 100, False),
        ("C", 500, True),
        (None, 250, True),
    ]
    assert money(line["cost"]) == 850


def test_the_average_is_that_of_the_day(bench: Bench) -> None:
    """What came after the pour makes it no dearer; what went out before counts."""
    before = lot("A", "wax", WAX, 1000, paid=1000)
    dear = lot("B", "wax", WAX, 1000, paid=4000, received_on="2026-11-10")
    after = lot("C", "wax", WAX, 1000, paid=90_000, received_on="2026-12-20")
    begun_ms = 1_795_600_000_000  # in November
    used = {
        **{"id": "000000000000001.0000.a", "of": ["lot", "A"], "type": "used", "amount": 500},
        "at": begun_ms - 20 * DAY_MS,
    }
    uses = [use("wax", WAX, 300)]
    found = costed(bench, uses=uses, lots=[before, dear, after], lotEvents=[used])
    # 500 g are left of the first, 5.00, beside 1000 g at 40.00.
    assert money(found["lines"][WAX]["cost"]) == 300 * Fraction(4500, 1500)
    only = costed(bench, uses=uses, lots=[after])
    assert money(only["lines"][WAX]["cost"]) == 300 * 90, "better than no price"


def test_what_has_no_price_at_all_is_told_and_not_made_up(bench: Bench) -> None:
    uses = [use("wax", WAX, 100, "A"), use("fragrance", OIL, 10, "B"), use("wick", WICK, 3)]
    lots = [lot("A", "wax", WAX, 1000, paid=1000), lot("B", "fragrance", OIL, 100)]
    found = costed(bench, uses=uses, lots=lots)
    assert [money(found["lines"][each]["cost"]) for each in (WAX, OIL, WICK)] == [100, None, None]
    assert found["cost"]["unpriced"] == [OIL, WICK]
    # The tins were planned, and have no price either.
    assert {f"fragrance,{OIL}", f"wick,{WICK}", f"vessel,{TIN}"} == set(found["lacking"])
    assert money(found["cost"]["sum"]) == 100
    assert money(found["cost"]["each"]) == Fraction(100, 3)
    assert found["cost"]["labour"]["cost"] is found["cost"]["overhead"] is None


@pytest.mark.parametrize("paid", ["12", -5, None, float("nan"), float("inf"), [3], {"a": 1}])
def test_an_odd_price_is_none(bench: Bench, paid: Json) -> None:
    odd = lot("A", "wax", WAX, 1000, paid=paid, delivery=paid, tax_rate=paid)
    found = costed(
        bench,
        uses=[use("wax", WAX, 100, "A")],
        lots=[odd],
        prices={"hour": paid, "overhead": paid, "tax_rate": paid},
    )
    assert found["lines"][WAX]["cost"] is None
    assert money(found["cost"]["sum"]) == 0
    nothing = lot("A", "wax", WAX, 0, paid=1000)
    uses = [use("wax", WAX, 100, "A")]
    assert costed(bench, uses=uses, lots=[nothing])["lines"][WAX]["cost"] is None


# ---- candles -----------------------------------------------------------------------------------

PRICED = [
    lot("wax", "wax", WAX, 5000, paid=4999, delivery=301),
    lot("oil", "fragrance", OIL, 500, paid=3333),
    lot("tins", "vessel", TIN, 60, paid=5400),
    lot("wicks", "wick", WICK, 100, paid=850),
    lot("lids", "packaging", "lid", 50, paid=1200),
]
PINNED = [
    {"kind": kind, "id": id_, "name": id_, "lots": [{"id": lot_id, "name": "", "amount": 900}]}
    for kind, id_, lot_id in [
        *[("wax", WAX, "wax"), ("fragrance", OIL, "oil"), ("vessel", TIN, "tins")],
        ("wick", WICK, "wicks"),
    ]
] + [
    {
        **{"kind": "packaging", "id": "lid", "name": "lid", "each": 1},
        "lots": [{"id": "lids", "name": "", "amount": 50}],
    }
]
NEXT_DAY = 14 * 3600


def put_away(**counts: int) -> list[Json]:
    return [[{"type": "finished", **counts}, NEXT_DAY]]


def test_all_that_was_taken_belongs_to_the_candles_that_stand(bench: Bench) -> None:
    given = {"lots": PRICED, "pinned": PINNED, "count": 6}
    filled = costed(bench, **given)["cost"]
    good = costed(bench, **given, then=put_away(good=4, seconds=1, spoiled=1))
    untold = costed(bench, **given, then=put_away(spoiled=2))["cost"]
    none = costed(bench, **given, then=put_away(good=0, seconds=0, spoiled=6))["cost"]
    assert [each["candles"] for each in (filled, good["cost"], untold, none)] == [6, 5, 4, 0]
    # Six tins at 0.90 and six wicks at 0.085 though five stand; a lid for each of the five.
    assert money(good["lines"][TIN]["cost"]) == 6 * 90
    assert money(good["lines"][WICK]["cost"]) == 6 * Fraction(17, 2)
    assert money(good["lines"]["lid"]["cost"]) == 5 * 24
    assert "lid" not in {line["id"] for line in filled["lines"]}
    # What stays in the jug is in it: all the wax that was weighed.
    assert money(good["lines"][WAX]["cost"]) == Fraction(53, 50) * exact(
        sum(each["amount"] for each in good["uses"] if each["id"] == WAX)
    )
    sums = [money(each["sum"]) for each in (filled, good["cost"], untold, none)]
    assert sums[1] == sums[0] + 5 * 24
    assert money(good["cost"]["each"]) == sums[1] / 5
    assert none["each"] is None


def test_work_and_overhead(bench: Bench) -> None:
    prices = {"hour": 1800, "overhead": 35}
    found = costed(bench, lots=PRICED, pinned=PINNED, count=6, prices=prices)
    cost = found["cost"]
    work_s = exact(cost["labour"]["work_s"])
    assert 300 < work_s < 3600
    assert money(cost["labour"]["cost"]) == work_s * 1800 / 3600
    assert money(cost["overhead"]) == 6 * 35
    materials = sum((money(each["cost"]) for each in cost["lines"]), Fraction(0))
    assert money(cost["sum"]) == materials + 6 * 35 + work_s / 2


def test_a_pour_to_the_mark_costs_what_was_expected(bench: Bench) -> None:
    prices = {"hour": 1800, "overhead": 35}
    given = {"lots": PRICED, "pinned": PINNED, "count": 6, "prices": prices}
    found = costed(bench, **given, then=put_away(good=6))
    lines = {key.partition(",")[2]: line for key, line in found["expected"]["lines"]}
    assert set(lines) == set(found["lines"]) == {WAX, OIL, TIN, WICK, "lid"}
    for id_, line in lines.items():
        assert line["amount"] == pytest.approx(found["lines"][id_]["amount"])
        assert float(Fraction(line["cost"])) == pytest.approx(
            float(Fraction(found["lines"][id_]["cost"]))
        )
    assert found["expected"]["candles"] == 6
    each = [float(Fraction(found[of]["each"])) for of in ("cost", "expected")]
    assert each[0] == pytest.approx(each[1])
    # Two spoiled make the others dearer, and nothing was expected otherwise.
    spoiled = costed(bench, **given, then=put_away(good=4, spoiled=2))
    assert Fraction(spoiled["cost"]["each"]) > Fraction(spoiled["expected"]["each"])


# ---- reckoned apart ----------------------------------------------------------------------------

RATES = st.sampled_from([None, 0, 0.07, 0.2, 0.255])
LOT = st.builds(
    lambda id_, amount, paid, delivery, tax, rate: lot(
        id_,
        *("wax", WAX, amount),
        **{"paid": paid, "delivery": delivery, "tax": tax, "tax_rate": rate},
    ),
    st.sampled_from(["A", "B", "C"]),
    st.one_of(st.integers(1, 25_000), st.integers(1, 10**6).map(lambda n: n / 100)),
    st.one_of(st.none(), st.integers(0, 10**6)),
    st.one_of(st.none(), st.integers(0, 2000)),
    st.sampled_from(["with", "without"]),
    RATES,
)
SHELVES = st.builds(
    lambda lots, uses, rate, back: {
        "lots": lots,
        "uses": [use("wax", WAX, amount, lot_id) for amount, lot_id in uses],
        "prices": {"tax_rate": rate, "tax_back": back},
    },
    st.lists(LOT, max_size=3, unique_by=lambda each: each["id"]),
    st.lists(
        st.tuples(
            st.integers(1, 200_000).map(lambda n: n / 100), st.sampled_from(["A", "B", "C", None])
        ),
        min_size=1,
        max_size=5,
    ),
    RATES,
    st.sampled_from([None, "yes", "no"]),
)


def exact(value: float) -> Fraction:
    return Fraction(repr(value))


def unit_cost(each: Json, prices: Json) -> Fraction | None:
    if each["paid"] is None:
        return None
    rate = each["tax_rate"] if each["tax_rate"] is not None else prices["tax_rate"] or 0
    before_tax = Fraction(each["paid"] + (each["delivery"] or 0))
    if each["tax"] == "with":
        before_tax /= 1 + exact(rate)
    spent = before_tax if prices["tax_back"] == "yes" else before_tax * (1 + exact(rate))
    return spent / exact(each["amount_g"])


def test_it_is_what_python_reckons(bench: Bench) -> None:
    shelves = made_up(SHELVES, 120)
    answers = bench.ask(RECKON, {"asked": asked(SLATE, count=3), "each": shelves})
    averaged = 0
    for shelf, found in zip(shelves, answers, strict=True):
        units = {each["id"]: unit_cost(each, shelf["prices"]) for each in shelf["lots"]}
        priced = [each for each in shelf["lots"] if units[each["id"]] is not None]
        amount = sum((exact(each["amount_g"]) for each in priced), Fraction(0))
        paid = sum((exact(each["amount_g"]) * units[each["id"]] for each in priced), Fraction(0))
        average = paid / amount if priced else None
        costs = []
        for each in shelf["uses"]:
            unit = units.get(each["lot"])
            averaged += unit is None and average is not None
            unit = average if unit is None else unit
            costs.append(None if unit is None else unit * exact(each["amount"]))
        whole = None if None in costs else sum(costs, Fraction(0))
        assert money(found["cost"]["lines"][0]["cost"]) == whole
        assert money(found["cost"]["sum"]) == (whole or 0)
    assert averaged > 20
