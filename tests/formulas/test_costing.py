"""What went out cost, and what is left is worth: what holds whatever came and went."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import strategies as st

from tests.formulas.test_twin import drawn
from tests.formulas.twin import InBrowser

Movement = dict[str, Any]

WAYS = ("first_in_first_out", "moving_average", "average_of_period", "specific_lots")
AMOUNTS = st.one_of(st.integers(1, 5000), st.integers(1, 500_000).map(lambda n: n / 100))
COSTS = st.one_of(
    st.integers(0, 100_000), st.builds(Fraction, st.integers(0, 10**7), st.integers(1, 120))
)
LOTS = st.sampled_from(["A", "B", "C"])
COMES = st.builds(
    lambda much, cost, lot: {"in": much, "cost": cost, "lot": lot}, AMOUNTS, COSTS, LOTS
)
GOES = st.builds(
    lambda much, lot: {"out": much, "lot": lot}, AMOUNTS | st.just(0), LOTS | st.none()
)
SHELVES = st.lists(st.one_of(COMES, GOES), max_size=12)


def exact(value: float | Fraction) -> Fraction:
    return value if isinstance(value, Fraction) else Fraction(repr(value))


def came(movements: list[Movement]) -> tuple[Fraction, Fraction]:
    """How much came in, and what all of it cost."""
    ins = [each for each in movements if "in" in each]
    return (
        sum((exact(each["in"]) for each in ins), Fraction(0)),
        sum((exact(each["cost"]) for each in ins), Fraction(0)),
    )


@pytest.mark.parametrize("way", WAYS)
def test_what_came_in_is_what_went_out_and_what_is_left(costing: InBrowser, way: str) -> None:
    shelves = drawn(SHELVES.map(lambda each: (each,)), 250)
    answers = costing.each(way, shelves)
    short = 0
    for (movements,), found in zip(shelves, answers, strict=True):
        amount, cost = came(movements)
        wanted = sum((exact(each["out"]) for each in movements if "out" in each), Fraction(0))
        assert found["out"] + found["left"] == cost
        assert sum(found["outs"], Fraction(0)) == found["out"]
        assert len(found["outs"]) == sum("out" in each for each in movements)
        assert found["left_amount"] == amount - (wanted - found["missing"])
        assert min(found["out"], found["left"], found["left_amount"], found["missing"]) >= 0
        if found["left_amount"]:
            assert found["each"] == found["left"] / found["left_amount"]
        assert (found["each"] is None) == (amount == 0)
        short += found["missing"] > 0
    assert 20 < short < len(shelves) - 20, "some shelves had enough and some had not"


def first_in_first_out(movements: list[Movement]) -> list[Movement]:
    """The same with each movement in as a lot of its own, and those out of the oldest lots."""
    there: list[list[Any]] = []
    named: list[Movement] = []
    for number, each in enumerate(movements):
        if "in" in each:
            there.append([str(number), exact(each["in"])])
            named.append({**each, "lot": str(number)})
            continue
        wanted = exact(each["out"])
        for lot in there:
            taken = min(lot[1], wanted)
            lot[1] -= taken
            wanted -= taken
            if taken:
                named.append({"out": float(taken), "lot": lot[0]})
        named.append({"out": float(wanted)})
    return named


def test_first_in_first_out_is_lots_chosen_so(costing: InBrowser) -> None:
    shelves = drawn(SHELVES, 200)
    ours = costing.each("first_in_first_out", [(each,) for each in shelves])
    chosen = costing.each("specific_lots", [(first_in_first_out(each),) for each in shelves])
    for one, other in zip(ours, chosen, strict=True):
        for what in ("out", "left", "left_amount", "missing"):
            assert one[what] == other[what]


def test_at_one_price_all_ways_agree(costing: InBrowser) -> None:
    """Where each gram cost the same, it makes no difference which was taken."""
    steady = SHELVES.map(
        lambda shelf: [
            {**each, "cost": exact(each["in"]) * Fraction(7, 3)} if "in" in each else each
            for each in shelf
        ]
    )
    for shelf in drawn(steady, 60):
        one, other = (costing.each(way, [(shelf,)])[0] for way in WAYS[:2])
        assert (one["out"], one["left"], one["missing"]) == (
            other["out"],
            other["left"],
            other["missing"],
        )
        assert one["out"] == Fraction(7, 3) * (came(shelf)[0] - one["left_amount"])


def test_the_average_of_a_period_minds_no_order(costing: InBrowser) -> None:
    shelves = drawn(SHELVES, 100)
    ours = costing.each("average_of_period", [(each,) for each in shelves])
    turned = costing.each("average_of_period", [(each[::-1],) for each in shelves])
    for one, other in zip(ours, turned, strict=True):
        assert {**one, "outs": None} == {**other, "outs": None}


def test_what_is_not_there_has_no_cost(costing: InBrowser) -> None:
    found = costing.first_in_first_out(
        [{"in": 100, "cost": 500}, {"out": 130}, {"in": 10, "cost": 90}]
    )
    assert (found["out"], found["missing"], found["left"]) == (500, 30, 90)
    found = costing.specific_lots(
        [{"in": 100, "cost": 500, "lot": "A"}, {"out": 40, "lot": "B"}, {"out": 5}]
    )
    assert (found["out"], found["missing"], found["left"]) == (0, 45, 500)


@pytest.mark.parametrize("way", WAYS)
def test_any_nonsense_is_refused_in_a_sentence(costing: InBrowser, way: str) -> None:
    nonsense = [float("nan"), float("inf"), float("-inf"), -1, 1e300, "5 g", "", None]
    bad = [
        *({"in": each, "cost": 500} for each in [*nonsense, 0]),
        *({"in": 100, "cost": each} for each in nonsense if each != 1e300),
        *({"out": each} for each in nonsense),
    ]
    for movement, answer in zip(
        bad, costing.answers(way, [([each],) for each in bad]), strict=True
    ):
        assert answer.get("error", "").endswith("."), (movement, answer)
        assert answer["about"] in {"in", "cost", "out", "value"}
