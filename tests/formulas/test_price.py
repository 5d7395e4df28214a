"""Prices: there and back again, whatever the cost, the tax and the marketplace."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import strategies as st

from tests.formulas.test_twin import drawn
from tests.formulas.twin import InBrowser, Refused

COSTS = st.one_of(
    st.integers(1, 100_000), st.builds(Fraction, st.integers(1, 10**7), st.integers(1, 997))
)
MARKUPS = st.integers(0, 50_000).map(lambda n: Fraction(n, 10_000))
MARGINS = st.integers(0, 9_900).map(lambda n: Fraction(n, 10_000))
RATES = st.integers(0, 3_000).map(lambda n: Fraction(n, 10_000))
SALES = st.fixed_dictionaries(
    {"tax_rate": RATES, "discount": RATES, "share": RATES, "fee": st.integers(0, 500)}
)


def test_the_price_before_tax_is_that_of_the_markup_and_of_the_margin(price: InBrowser) -> None:
    asked = drawn(st.tuples(COSTS, MARKUPS), 200)
    for (cost, markup), found in zip(asked, price.each("by_markup", asked), strict=True):
        assert found == cost * (1 + markup)
    asked = drawn(st.tuples(COSTS, MARGINS), 200)
    for (cost, margin), found in zip(asked, price.each("by_margin", asked), strict=True):
        assert found * (1 - margin) == cost


def test_tax_comes_on_top_of_the_price(price: InBrowser) -> None:
    asked = drawn(st.tuples(COSTS, RATES), 200)
    for (cost, rate), found in zip(asked, price.each("with_tax", asked), strict=True):
        assert found == cost * (1 + Fraction(rate))


def sold(gross: Fraction, cost: Fraction, sale: dict[str, Any]) -> dict[str, Fraction]:
    """The same, reckoned apart: what the buyer pays goes to the tax, the marketplace and her."""
    paid = gross - gross * sale["discount"]
    tax = paid * sale["tax_rate"] / (1 + sale["tax_rate"])
    kept = paid * sale["share"] + sale["fee"]
    return {"paid": paid, "tax": tax, "kept": kept, "left": paid - tax - kept - cost}


def test_what_the_buyer_pays_is_shared_out_and_nothing_is_lost(price: InBrowser) -> None:
    asked = drawn(st.tuples(COSTS, COSTS, SALES), 300)
    losing = 0
    for (gross, cost, sale), found in zip(asked, price.each("left_of", asked), strict=True):
        for name, value in sold(Fraction(gross), Fraction(cost), sale).items():
            assert found[name] == value, name
        assert found["net"] + found["tax"] == found["paid"]
        assert found["margin"] * found["net"] == found["markup"] * cost == found["left"]
        losing += found["left"] < 0
    assert 20 < losing < len(asked) - 20, "some leave something, and some cost more than they bring"


def test_without_discount_and_marketplace_the_margin_asked_for_is_left(price: InBrowser) -> None:
    for cost, margin, rate in drawn(st.tuples(COSTS, MARGINS, RATES), 60):
        gross = price.with_tax(price.by_margin(cost, margin), rate)
        assert price.each("left_of", [(gross, cost, {"tax_rate": rate})])[0]["margin"] == margin


@pytest.mark.parametrize(("wanted", "rates"), [("margin", MARGINS), ("markup", MARKUPS)])
def test_the_price_that_leaves_so_much_leaves_it(
    price: InBrowser, wanted: str, rates: st.SearchStrategy[Fraction]
) -> None:
    asked = drawn(st.tuples(COSTS, rates, SALES), 200)
    answers = price.answers(
        "price_that_leaves", [(cost, {wanted: rate}, sale) for cost, rate, sale in asked]
    )
    found = []
    for (cost, rate, sale), answer in zip(asked, answers, strict=True):
        room = (1 - rate if wanted == "margin" else 1) / (1 + sale["tax_rate"]) - sale["share"]
        if room <= 0:
            assert "no price leaves that" in answer["error"]
        else:
            found.append((Fraction(answer["value"]["$"]), cost, rate, sale))
    assert len(found) > 50
    lefts = price.each("left_of", [(gross, cost, sale) for gross, cost, _, sale in found])
    assert [each[wanted] for each in lefts] == [rate for _, _, rate, _ in found]


def test_nothing_paid_and_nothing_spent_have_no_rate(price: InBrowser) -> None:
    given_away = price.each("left_of", [(1000, 420, {"discount": 1})])[0]
    assert (given_away["margin"], given_away["left"]) == (None, -420)
    for_nothing = price.each("left_of", [(1000, 0, {})])[0]
    assert (for_nothing["markup"], for_nothing["margin"]) == (None, 1)


NONSENSE = [float("nan"), float("inf"), float("-inf"), -1, "5 g", "", True]


@pytest.mark.parametrize(
    ("name", "good", "spoilt", "besides"),
    [
        ("by_markup", (420, 0.6), (0, 1), {1: [101, Fraction(-1, 9)]}),
        ("by_margin", (420, 0.6), (0, 1), {1: [1, 0.995, Fraction(1)]}),
        ("with_tax", (420, 0.2), (0, 1), {1: [1.01]}),
        ("left_of", (1000, 420, {}), (0, 1), {}),
    ],
)
def test_any_nonsense_is_refused_in_a_sentence(
    price: InBrowser,
    name: str,
    good: tuple[Any, ...],
    spoilt: tuple[int, ...],
    besides: dict[int, list[Any]],
) -> None:
    assert "value" in price.answers(name, [good])[0]
    calls = [
        (*good[:at], each, *good[at + 1 :])
        for at in spoilt
        for each in [*NONSENSE, *besides.get(at, [])]
    ]
    for call, answer in zip(calls, price.answers(name, calls), strict=True):
        assert answer.get("error", "").endswith("."), (call, answer)
        assert answer["about"] in {"cost", "markup", "margin", "net", "gross", "tax_rate"}


@pytest.mark.parametrize("about", ["tax_rate", "discount", "share", "fee"])
def test_so_are_the_terms_of_a_sale(price: InBrowser, about: str) -> None:
    bad = [*NONSENSE, *([] if about == "fee" else [1.01])]
    for answer in price.answers("left_of", [(1000, 420, {about: each}) for each in bad]):
        assert answer.get("error", "").endswith("."), answer
        assert answer["about"] == about
    with pytest.raises(Refused, match="no price leaves that"):
        price.each("price_that_leaves", [(420, {"margin": 0.6}, {"share": 0.5})])
