"""Exact fractions against Python's own, asked of the phone's module in a browser."""

from fractions import Fraction
from math import floor

import pytest
from hypothesis import strategies as st

from tests.formulas.test_twin import drawn
from tests.formulas.twin import InBrowser, Refused

WHOLE = st.one_of(
    st.integers(-12, 12), st.integers(-(10**6), 10**6), st.integers(-(10**40), 10**40)
)
NUMBERS = st.builds(Fraction, WHOLE, WHOLE.filter(bool))
PAIRS = st.tuples(NUMBERS, st.one_of(NUMBERS, st.integers(-3, 3).map(Fraction)))


def test_it_reckons_as_python_does(fraction: InBrowser) -> None:
    pairs = drawn(PAIRS, 300)
    dividing = [(a, b) for a, b in pairs if b != 0]
    assert len(dividing) < len(pairs), "none was divided by nothing"
    assert fraction.each("add", pairs) == [a + b for a, b in pairs]
    assert fraction.each("subtract", pairs) == [a - b for a, b in pairs]
    assert fraction.each("times", pairs) == [a * b for a, b in pairs]
    assert fraction.each("over", dividing) == [a / b for a, b in dividing]
    assert fraction.each("compare", pairs) == [(a > b) - (a < b) for a, b in pairs]
    assert fraction.each("least", pairs) == [min(a, b) for a, b in pairs]
    assert fraction.each("isZero", [(a,) for a, _ in pairs]) == [a == 0 for a, _ in pairs]


def test_each_has_one_way_to_be_written(fraction: InBrowser) -> None:
    """In lowest terms and with the sign above: what crosses is what there is, and not reduced."""
    sums = fraction.answers("add", drawn(st.tuples(NUMBERS, NUMBERS), 200))
    for answer in sums:
        text = answer["value"]["$"]
        found = Fraction(text)
        assert text == f"{found.numerator}/{found.denominator}"


def test_halves_go_up(fraction: InBrowser) -> None:
    """To the larger one, below nothing too: floor(x + 1/2)."""
    halves = st.builds(lambda n: Fraction(n, 2), st.integers(-9, 9))
    asked = drawn(st.one_of(NUMBERS, halves), 300)
    found = fraction.each("round_half_up", [(each,) for each in asked])
    assert found == [floor(each + Fraction(1, 2)) for each in asked]


def test_a_number_is_what_its_digits_say(fraction: InBrowser) -> None:
    """Python writes the shortest digits that make the same float, as JavaScript does."""
    numbers = st.one_of(
        st.floats(allow_nan=False, allow_infinity=False),
        st.integers(-(10**9), 10**9).map(lambda n: n / 1000),
        st.sampled_from([28.5, 0.1, 1e21, 1.5e-7, 5e-324, 1.7976931348623157e308, 0.0, -0.0]),
    )
    asked = drawn(numbers, 400)
    found = fraction.each("fraction_of", [(each,) for each in asked])
    assert found == [Fraction(repr(each)) for each in asked]
    assert fraction.fraction_of(28.5) == Fraction(57, 2)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), float("-inf"), "28.5", "", None, True])
def test_no_number_is_refused_in_a_sentence(fraction: InBrowser, bad: object) -> None:
    with pytest.raises(Refused, match=r"^An amount must be a (finite )?number\.$"):
        fraction.fraction_of(bad)


def test_nothing_is_divided_by_nothing(fraction: InBrowser) -> None:
    with pytest.raises(Refused, match="divide by zero"):
        fraction.over(Fraction(1, 3), Fraction(0))
