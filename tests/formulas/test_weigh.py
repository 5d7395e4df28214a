"""The pour sheet adds up, whatever the pour."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchapp.formulas import fill, load, rounding, weigh

STEP = st.sampled_from([0.01, 0.1, 0.5, 1, 2, 5, 0.01 * 28.349523125, 0.1 * 28.349523125])
LOAD = st.sampled_from([0, 0.03, 0.06, 0.08, 0.1, 0.125]) | st.floats(0, 0.5)
PARTS = st.lists(
    st.tuples(st.sampled_from(["soya", "rape", "rose", "moss"]), st.floats(0.1, 100)),
    min_size=1,
    max_size=4,
)


@st.composite
def pours(draw: st.DrawFn) -> dict[str, Any]:
    """A pour that a jug and a scale can take."""
    each = draw(st.floats(20, 400))
    step = draw(STEP)
    return {
        "count": draw(st.integers(1, 60)),
        "wax_per_vessel_g": each,
        "load": draw(LOAD),
        "scale_step_g": step,
        "fragrance_step_g": draw(st.none() | STEP.filter(lambda fine: fine <= step)),
        "jug_volume_ml": draw(st.none() | st.floats(1400, 5000)),
        "jug_empty_g": draw(st.floats(0, 900)),
        "scale_capacity_g": draw(st.none() | st.floats(2500, 10000)),
        "allowance_g": draw(st.floats(0, 60)),
        "molten_density": draw(st.floats(0.7, 1)),
        "waxes": draw(PARTS),
        "oils": draw(PARTS),
        "additives": draw(st.lists(st.tuples(st.just("dye"), st.floats(0, 0.02)), max_size=2)),
    }


def summed(targets: tuple[weigh.Target, ...]) -> float:
    return math.fsum(target.target_g for target in targets)


def same(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-9)


@settings(max_examples=250)
@given(pours())
def test_a_plan_adds_up(pour: dict[str, Any]) -> None:
    plan = weigh.plan(**pour)
    step = pour["scale_step_g"]
    fine = pour["fragrance_step_g"] or step
    part, each = pour["load"], pour["wax_per_vessel_g"]
    added = math.fsum(fraction for _, fraction in pour["additives"])

    assert sum(jug.vessels for jug in plan.jugs) == plan.vessels == pour["count"]
    assert max(j.vessels for j in plan.jugs) - min(j.vessels for j in plan.jugs) <= 1
    assert same(plan.wax_g, math.fsum(jug.wax_g for jug in plan.jugs))
    assert same(plan.fragrance_g, math.fsum(jug.fragrance_g for jug in plan.jugs))

    stays = len(plan.jugs) * pour["allowance_g"] / (1 + part + added)
    assert abs(plan.wax_g - (pour["count"] * each + stays)) <= step * (0.5 + 1e-6)

    for jug in plan.jugs:
        exact = jug.vessels * each + pour["allowance_g"] / (1 + part + added)
        assert abs(jug.wax_g - exact) < step * (1 + 1e-6)
        assert abs(jug.fragrance_g - jug.wax_g * part) <= fine * (0.5 + 1e-6)
        assert same(summed(jug.waxes), jug.wax_g)
        assert same(summed(jug.fragrances), jug.fragrance_g)
        wholes = [(jug.waxes, pour["waxes"], jug.wax_g, step)]
        if part:
            wholes.append((jug.fragrances, pour["oils"], jug.wax_g * part, fine))
        for targets, shares, whole, grain in wholes:
            total = math.fsum(share for _, share in shares)
            for target, (name, share) in zip(targets, shares, strict=True):
                assert target.name == name
                assert abs(target.target_g - whole * share / total) < grain * (1 + 1e-6)
        for target in (*jug.waxes, *jug.additives, *jug.fragrances):
            assert 0 <= target.low_g <= target.target_g <= target.high_g


@settings(max_examples=250)
@given(pours())
def test_a_jug_is_poured_out_and_no_further(pour: dict[str, Any]) -> None:
    step = pour["scale_step_g"]
    fine = pour["fragrance_step_g"] or step
    for jug in weigh.plan(**pour).jugs:
        mix = jug.wax_g + summed(jug.additives) + jug.fragrance_g
        poured = math.fsum(jug.vessel_targets_g)
        assert len(jug.vessel_targets_g) == jug.vessels
        assert poured <= mix * (1 + 1e-9)
        assert abs(mix - poured - jug.stays_g) <= min(step, fine) * (0.5 + 1e-6)
        assert max(jug.vessel_targets_g) - min(jug.vessel_targets_g) < step * (1 + 1e-6)


@settings(max_examples=250)
@given(pours())
def test_a_jug_and_a_scale_are_not_overloaded(pour: dict[str, Any]) -> None:
    step = pour["scale_step_g"]
    fine = pour["fragrance_step_g"] or step
    over = step * (1 + pour["load"]) + fine * (1 + len(pour["additives"]))
    for jug in weigh.plan(**pour).jugs:
        if pour["jug_volume_ml"]:
            assert jug.hot_ml <= pour["jug_volume_ml"] + over / pour["molten_density"] + 1e-6
        if pour["scale_capacity_g"]:
            gross = pour["jug_empty_g"] + jug.wax_g + summed(jug.additives) + jug.fragrance_g
            assert gross <= pour["scale_capacity_g"] + over + 1e-6


@settings(max_examples=250)
@given(pours())
def test_an_unzeroed_scale_reads_the_sum_so_far(pour: dict[str, Any]) -> None:
    step = pour["scale_step_g"]
    for jug in weigh.plan(**pour).jugs:
        reads = pour["jug_empty_g"]
        for target in (*jug.waxes, *jug.additives, *jug.fragrances):
            reads += target.target_g
            assert abs(target.reads_g - reads) <= step * (0.5 + 1e-6)


@settings(max_examples=250)
@given(pours())
def test_bounds_hold_the_load_of_the_sheet(pour: dict[str, Any]) -> None:
    plan = weigh.plan(**pour)
    assert plan.load_low <= plan.load * (1 + 1e-12)
    assert plan.load <= plan.load_high
    reached = [load.reached(jug.wax_g, jug.fragrance_g) for jug in plan.jugs]
    # What the targets of each jug come to, and half a step of each reading to either side.
    assert plan.load_low <= min(reached)
    assert max(reached) <= plan.load_high
    if plan.load and plan.fine_enough and not pour["fragrance_step_g"]:
        # Of wax that is 500 steps or more, whose load is half a step more than was asked for.
        assert plan.load_high - max(reached) <= load.FINE_ENOUGH * (1 + 1 / 500)


@given(st.floats(50, 5000), st.floats(0, 500), st.floats(0.02, 0.5), STEP, st.integers(1, 40))
def test_restored_wax_is_right_to_within_a_step(
    wax: float, oil: float, part: float, step: float, count: int
) -> None:
    fills = [wax * (1 + part) / count] * count
    restored = weigh.restore(wax, oil, part, step, fills_g=fills, most_g=[])
    add = restored.wax_to_add_g
    assert add == rounding.round_to(add, step)
    exact = max(wax, oil / part)
    assert abs(wax + add - exact) <= step * (0.5 + 1e-6)
    assert restored.load == pytest.approx(oil / (wax + add))
    assert restored.growth * sum(fills) >= (wax + add + oil) * (1 - 1e-9)


@given(
    st.floats(0, 20000), st.floats(10, 400), LOAD, st.floats(0, 60), st.integers(1, 30)
)  # fmt: skip
def test_the_count_from_wax_fits_and_one_more_does_not(
    wax: float, each: float, part: float, allowance: float, per_jug: int
) -> None:
    count = weigh.count_from_wax(wax, each, load=part, allowance_g=allowance, per_jug=per_jug)

    def needed(vessels: int) -> float:
        return vessels * each + math.ceil(vessels / per_jug) * allowance / (1 + part)

    assert needed(count) <= wax + 1e-5
    assert needed(count + 1) > wax - 1e-5


@given(
    st.floats(1, 10000), st.integers(1, 60), st.floats(1, 400), st.floats(0, 60), STEP
)  # fmt: skip
def test_a_shortage_is_shared(
    mix: float, count: int, each: float, allowance: float, step: float
) -> None:
    targets = weigh.vessel_targets(mix, [each] * count, allowance, step)
    fair = min(each, max(0.0, mix - allowance) / count)
    assert math.fsum(targets) <= mix + 1e-9
    for target in targets:
        assert abs(target - fair) < step * (1 + 1e-6)


@given(
    st.floats(1, 10000),
    st.lists(st.floats(1, 400), min_size=1, max_size=40),
    st.floats(0, 60),
    STEP,
)
def test_several_sizes_share_a_shortage_in_proportion(
    mix: float, fills: list[float], allowance: float, step: float
) -> None:
    targets = weigh.vessel_targets(mix, fills, allowance, step)
    part = min(1.0, max(0.0, mix - allowance) / math.fsum(fills))
    assert math.fsum(targets) <= mix + 1e-9
    for target, fill_g in zip(targets, fills, strict=True):
        assert abs(target - part * fill_g) < step * (1 + 1e-6)


SIZES = st.lists(st.tuples(st.integers(1, 30), st.floats(20, 400)), min_size=1, max_size=3)


@settings(max_examples=150)
@given(pours(), SIZES)
def test_a_plan_of_several_sizes_adds_up(
    pour: dict[str, Any], also: list[tuple[int, float]]
) -> None:
    plan = weigh.plan(**pour, also=also)
    counts = [pour["count"], *(count for count, _ in also)]
    eaches = [pour["wax_per_vessel_g"], *(each for _, each in also)]
    for size, count in enumerate(counts):
        assert sum(jug.sizes[size] for jug in plan.jugs) == count
    step = pour["scale_step_g"]
    stays = pour["allowance_g"]
    wax = math.fsum(count * each for count, each in zip(counts, eaches, strict=True))
    least = wax + len(plan.jugs) * stays / (1.5 + 0.04)
    assert least - step <= plan.wax_g <= wax + len(plan.jugs) * stays + step
    for jug in plan.jugs:
        assert jug.vessels == sum(jug.sizes) == len(jug.vessel_targets_g)
        if pour["jug_volume_ml"] is not None:
            # Rounded to a step, the jug may hold a step of wax more than it was to.
            assert jug.hot_ml <= pour["jug_volume_ml"] * (1 + 1e-9) + 3 * step / 0.7
        assert math.fsum(jug.vessel_targets_g) <= jug.mix_g + 2 * step


def test_six_tins_and_four_tumblers_in_one_jug() -> None:
    """By hand: 6 x 97 + 4 x 245 = 1562 g of wax; at 8 % 124.96 g of fragrance (1.08 x 97 = 104.76,
    1.08 x 245 = 264.6)."""
    (jug,) = weigh.plan(6, 97, 0.08, also=[(4, 245)], fragrance_step_g=0.1).jugs
    assert (jug.wax_g, jug.fragrance_g, jug.sizes) == (1562, 125.0, (6, 4))
    assert set(jug.vessel_targets_g[:6]) <= {104, 105}
    assert set(jug.vessel_targets_g[6:]) <= {264, 265}
    assert sum(jug.vessel_targets_g) == 1687


@given(st.floats(20, 5000), st.floats(0.001, 0.5), STEP)
def test_a_wax_band_keeps_the_load(target: float, part: float, step: float) -> None:
    """Any reading in the band moves the load by a twentieth of a point, or is one step off."""
    low, high = weigh.wax_band(target, part, step)
    assert low <= rounding.round_to(target, step) <= high
    for wax in (low, high):
        moved = abs(part * target / wax - part) if wax else math.inf
        assert moved <= load.TOLERANCE * (1 + 1e-6) or abs(wax - target) <= step * (1.5 + 1e-6)
        assert abs(wax - target) <= max(target * weigh.WIDEST_BAND, 1.5 * step) * (1 + 1e-6)


def test_the_mix_of_a_plan_has_the_volume_of_its_parts() -> None:
    jug = weigh.plan(12, 200, 0.1, jug_volume_ml=1500).jugs[0]
    assert jug.hot_ml == pytest.approx(fill.mix_volume_ml(jug.wax_g, jug.fragrance_g, 0.86, 0.98))
