"""What rounding promises, whatever the number."""

import math
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.formulas import rounding, weigh

STEPS = st.sampled_from([0.001, 0.01, 0.1, 0.2, 0.25, 0.5, 1, 2, 5, 0.01 * 28.349523125])
#: Up to a million steps, as many as ten kilograms on a scale of a hundredth of a gram.
VALUES = st.floats(-1000, 1000)


@given(VALUES, STEPS)
def test_a_rounded_value_is_within_half_a_step(value: float, step: float) -> None:
    assert abs(rounding.round_to(value, step) - value) <= step * (0.5 + 2e-9)


@given(VALUES, STEPS)
def test_up_and_down_enclose_the_value(value: float, step: float) -> None:
    down, up = rounding.round_down(value, step), rounding.round_up(value, step)
    hair = step * 2e-9 + abs(value) * 1e-15
    assert value - step - hair < down <= value + hair
    assert value - hair <= up < value + step + hair


@given(VALUES, STEPS)
def test_rounding_twice_changes_nothing(value: float, step: float) -> None:
    once = rounding.round_to(value, step)
    assert rounding.round_to(once, step) == once
    assert rounding.round_up(once, step) == once == rounding.round_down(once, step)


@given(VALUES, VALUES, STEPS)
def test_rounding_keeps_order(one: float, other: float, step: float) -> None:
    low, high = sorted([one, other])
    assert rounding.round_to(low, step) <= rounding.round_to(high, step)


@given(st.decimals(-1000, 1000, places=3), st.integers(0, 2))
def test_decimals_are_written_as_the_decimal_module_writes_them(
    value: Decimal, places: int
) -> None:
    """Half away from zero for what is above it, half up for what is below."""
    quantum = Decimal(1).scaleb(-places)
    shifted = (value + 2000).quantize(quantum, ROUND_HALF_UP) - 2000
    expected = f"{shifted:f}" if shifted else f"{abs(shifted):f}"
    assert rounding.write(float(value), float(quantum)) == expected


@pytest.mark.parametrize(
    ("step", "decimals"),
    [(10, 0), (1, 0), (0.5, 1), (0.25, 2), (0.1, 1), (0.05, 2), (0.001, 3), (1 / 3, 6), (1e-7, 6)],
)
def test_decimals_of_a_step(step: float, decimals: int) -> None:
    assert rounding.decimals_of(step) == decimals


# ---- parts that add up -------------------------------------------------------------------------

PARTS = st.lists(st.floats(0, 1000), max_size=12)


@given(PARTS, STEPS)
def test_parts_add_up_and_none_is_a_step_off(parts: list[float], step: float) -> None:
    rounded = weigh.largest_remainder(parts, step)
    in_steps = [rounding.steps(each, step) for each in rounded]
    assert sum(in_steps) == rounding.steps(math.fsum(parts), step)
    for part, each in zip(parts, rounded, strict=True):
        assert abs(each - part) < step * (1 + 1e-8)


@given(PARTS, STEPS, st.integers(0, 11), st.floats(0, 1000))
def test_more_of_one_part_never_lessens_the_total(
    parts: list[float], step: float, which: int, more: float
) -> None:
    before = weigh.largest_remainder(parts, step)
    grown = [part + more * (index == which) for index, part in enumerate(parts)]
    after = weigh.largest_remainder(grown, step)
    assert math.fsum(after) >= math.fsum(before) - step * 1e-6
