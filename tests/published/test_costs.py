"""Costs and prices against a textbook's worked examples, to the cent.

Figures only: inputs and printed answers were read, exact answers are worked out from the
statements.
"""

from fractions import Fraction
from typing import Any

import pytest

from tests.formulas.twin import InBrowser

# ---- what went out, and what is left -----------------------------------------------------------

# OpenStax, Principles of Accounting, Volume 1 (Financial Accounting), the chapter on inventory:
# one month's purchases and sales in units at whole dollars (read).
MONTH: list[dict[str, Any]] = [
    {"in": 150, "cost": 150 * 21, "lot": "1"},
    {"out": 120},
    {"in": 225, "cost": 225 * 27, "lot": "2"},
    {"out": 180},
    {"in": 210, "cost": 210 * 33, "lot": "3"},
]
SALES = 120 * 36 + 180 * 39


def test_the_month_as_printed() -> None:
    # The same: 16 155 for sale, 11 340 sold, 285 units left (read).
    assert sum(each.get("cost", 0) for each in MONTH) == 16_155
    assert SALES == 11_340
    assert sum(each.get("in", 0) - each.get("out", 0) for each in MONTH) == 285


def test_first_in_first_out(costing: InBrowser) -> None:
    # The same: cost of sales 7 200, stock 8 955, gross margin 4 140, periodic and perpetual (read).
    found = costing.first_in_first_out(MONTH)
    assert (found["out"], found["left"], SALES - found["out"]) == (7_200, 8_955, 4_140)
    later = [*(each for each in MONTH if "in" in each), {"out": 300}]
    assert costing.first_in_first_out(later)["out"] == 7_200


def test_moving_average(costing: InBrowser) -> None:
    # The same: 7 253 and 8 902 (read); exactly 123300/17 and 151335/17. The averages on the way
    # are 21, 26.29 and 31.24 (read), exactly 21, 447/17 and 531/17.
    found = costing.moving_average(MONTH)
    assert (found["out"], found["left"]) == (Fraction(123_300, 17), Fraction(151_335, 17))
    assert (round(found["out"]), round(found["left"])) == (7_253, 8_902)
    averages = [costing.moving_average(MONTH[: upto + 1])["each"] for upto in (0, 2, 4)]
    assert averages == [21, Fraction(447, 17), Fraction(531, 17)]


def test_average_of_the_period(costing: InBrowser) -> None:
    # The same: the book rounds the average to 27.62 first, and so prints 8 283 and 7 872 (read);
    # exactly the average is 359/13, and these are 8 284.62 and 7 870.38.
    found = costing.average_of_period(MONTH)
    assert found["each"] == Fraction(359, 13)
    assert round(found["out"], 2) == Fraction("8284.62")
    assert round(found["left"], 2) == Fraction("7870.38")
    assert 16_155 - 285 * Fraction("27.62") == pytest.approx(8_283, abs=0.5)


def test_specific_lots(costing: InBrowser) -> None:
    # The same: of the 300 sold, 140 were of the first lot and 160 of the second: 7 260, 8 895 and
    # a gross margin of 4 080 (read).
    first, _, second, _, third = MONTH
    # On which days each lot went is not printed; it makes no difference here.
    chosen = [first, {"out": 120, "lot": "1"}, second, {"out": 20, "lot": "1"}]
    found = costing.specific_lots([*chosen, {"out": 160, "lot": "2"}, third])
    assert (found["out"], found["left"], SALES - found["out"]) == (7_260, 8_895, 4_080)
    assert found["missing"] == 0


# ---- price -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cost", "markup", "gross"),
    [("62.00", 15, "71.30"), ("750.00", 45, "1087.50"), ("90.00", 15, "103.50")],
)
def test_markup(price: InBrowser, cost: str, markup: int, gross: str) -> None:
    # OpenStax, Contemporary Mathematics, "Discounts, Markups, and Sales Tax" (read).
    assert price.by_markup(cents(cost), Fraction(markup, 100)) == cents(gross)


def test_markup_found_from_both(price: InBrowser) -> None:
    # The same: 5.20 sold at 9.90 is a markup of 90.38 % (read).
    found = price.each("left_of", [(cents("9.90"), cents("5.20"), {})])[0]
    assert round(100 * found["markup"], 2) == Fraction("90.38")


@pytest.mark.parametrize(
    ("gross", "markup", "cost"), [("10.62", 20, "8.85"), ("26.55", 125, "11.80")]
)
def test_cost_found_from_the_markup(price: InBrowser, gross: str, markup: int, cost: str) -> None:
    # The same (read); the printed way of the last one writes 1 + 2.25 = 3.25, its answer is that
    # of 1 + 1.25.
    assert price.by_markup(cents(cost), Fraction(markup, 100)) == cents(gross)


@pytest.mark.parametrize(
    ("markup", "margin"), [(100, Fraction(1, 2)), (50, Fraction(1, 3)), (25, Fraction(1, 5))]
)
def test_margin_of_a_markup(price: InBrowser, markup: int, margin: Fraction) -> None:
    # By the definitions: margin = markup / (1 + markup).
    gross = price.by_markup(420, Fraction(markup, 100))
    assert price.each("left_of", [(gross, 420, {})])[0]["margin"] == margin
    assert price.by_margin(420, margin) == gross


def test_margin_and_markup_of_the_same_rate_are_not_the_same(price: InBrowser) -> None:
    # By the definitions: 4.20 at a margin of 60 % is 10.50, at a markup of 60 % it is 6.72.
    assert price.by_margin(cents("4.20"), 0.6) == cents("10.50")
    assert price.by_markup(cents("4.20"), 0.6) == cents("6.72")


def test_a_price_that_includes_tax(price: InBrowser) -> None:
    # By the definition: 12.60 with a tax of 20 % is 10.50 before it.
    assert price.with_tax(cents("10.50"), 0.2) == cents("12.60")


def cents(text: str) -> int:
    return int(Fraction(text) * 100)
