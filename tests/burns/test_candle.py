"""The simulated candle is what it says it is."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tests.burns.candle import (
    SITTING_H,
    Candles,
    any_maker,
    any_series,
    lessened,
    truth_of,
    wick_of,
)

RANDOM_SEED = 5


def test_it_burns_as_its_equation_says() -> None:
    """Beside SciPy's integration of du/dt = rate/fuel·(1 − fall·u)·g(t)."""
    random = np.random.default_rng(RANDOM_SEED)
    series = any_series(random)
    candles = Candles.drawn(random, series, 2, 1)
    rate = candles.rate

    def burning(t: float, u: np.ndarray) -> np.ndarray:
        slower = (lessened(t + 1e-6) - lessened(t - 1e-6)) / 2e-6
        return rate / series.fuel_g * (1 - series.fall * u) * slower

    wanted = solve_ivp(burning, (0, 3.3), [0.0], rtol=1e-9, atol=1e-12).y[0, -1]
    left_g = series.fuel_g * (1 - wanted)
    assert candles.hours_to(rate, left_g) == pytest.approx([3.3], abs=1e-6)
    candles.burn(rate, 3.3)
    assert candles.burnt == pytest.approx([wanted], rel=1e-7)


def test_larger_wicks_burn_wider_higher_and_more_dangerously() -> None:
    random = np.random.default_rng(RANDOM_SEED)
    for _ in range(5):
        series = any_series(random)
        truths = [truth_of(random, series, index, 200) for index in range(series.sizes.size)]
        for one, other in pairwise(truths):
            assert other.is_full >= one.is_full - 0.05
            assert other.is_safe <= one.is_safe + 0.1
            assert other.hours < one.hours
            assert other.is_good <= min(other.is_full, other.is_safe)
        # It burns slower the lower it is.
        assert truths[0].rates[None] < truths[0].rates[1]


def test_what_she_keeps_is_read_as_her_scale_reads() -> None:
    random = np.random.default_rng(RANDOM_SEED)
    for _ in range(20):
        series, maker = any_series(random), any_maker(random)
        for candle in wick_of(random, series, 1, maker)["candles"]:
            for each in candle["sittings"]:
                steps = np.array([each["before_g"], each["after_g"]]) / maker.step_g
                assert steps == pytest.approx(np.round(steps), abs=1e-6)
                assert 0 < each["hours"] <= SITTING_H
                assert each["marks_seen"] <= each["marks_due"]
                assert len(each["pools"]) == each["marks_seen"]
            before = [each["before_g"] for each in candle["sittings"]]
            assert before == sorted(before, reverse=True)
