"""The load and what a scale can know of it."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from benchapp.formulas import load

LOAD = st.floats(0, 0.5)
WAX = st.floats(10, 20000)
STEP = st.sampled_from([0.01, 0.1, 0.5, 1, 2, 5, 0.1 * 28.349523125])


@given(st.floats(0, 1))
def test_of_total_and_of_wax_undo_one_another(part: float) -> None:
    assert load.of_wax(load.of_total(part)) == pytest.approx(part, rel=1e-12)


@given(WAX, LOAD)
def test_the_load_of_total_is_fragrance_over_all(wax: float, part: float) -> None:
    oil = load.fragrance_for(wax, part)
    assert load.of_total(part) == pytest.approx(oil / (wax + oil), rel=1e-12)
    assert load.reached(wax, oil) == pytest.approx(part, rel=1e-12)


@given(WAX, st.floats(0, 10000), st.floats(0.001, 0.5))
def test_added_wax_restores_the_load(wax: float, oil: float, part: float) -> None:
    add = load.wax_to_restore(wax, oil, part)
    after = load.reached(wax + add, oil)
    assert after == pytest.approx(min(part, load.reached(wax, oil)), rel=1e-9)


@given(WAX, LOAD, STEP, STEP, st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_bounds_hold_whatever_the_readings_hid(
    wax: float, part: float, step: float, fine: float, hid_wax: float, hid_oil: float
) -> None:
    assume(wax > step)
    oil = wax * part
    low, high = load.bounds(wax, oil, step, fine)
    true = max(0.0, oil + hid_oil * fine) / (wax + hid_wax * step)
    assert low * (1 - 1e-12) <= true <= high * (1 + 1e-12)
    assert low <= part * (1 + 1e-12)
    assert high >= part


@given(st.floats(0.001, 0.5), STEP, st.floats(1.000001, 50))
def test_a_scale_is_fine_enough_from_the_least_wax_on(
    part: float, step: float, more: float
) -> None:
    least = load.least_wax(part, step)
    assert load.is_fine_enough(least * more, part, step)
    assert not load.is_fine_enough(least / more, part, step)
    _, high = load.bounds(least * more, least * more * part, step)
    assert high - part <= load.FINE_ENOUGH * (1 + 1e-9)
    wax = max(least / more, step)
    assert (load.bounds(wax, wax * part, step)[1] - part > load.FINE_ENOUGH) == (wax < least)


@given(st.floats(1, 2000), LOAD, STEP)
def test_the_count_for_a_scale_is_the_fewest(each: float, part: float, step: float) -> None:
    count = load.count_for_scale(each, part, step)
    assert load.is_fine_enough(count * each * (1 + 1e-8), part, step)
    assert count == 1 or not load.is_fine_enough((count - 1) * each, part, step)
