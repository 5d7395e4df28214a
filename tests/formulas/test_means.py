"""What a few values tell of the mean of all, and of the next one."""

from typing import Any

import numpy as np
import pytest
from hypothesis import strategies as st
from scipy import stats

from tests.formulas.test_twin import drawn
from tests.formulas.twin import InBrowser, Refused

VALUES = st.lists(st.integers(-10_000, 10_000).map(lambda n: n / 8), min_size=2, max_size=12)
LEVELS = st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99])


def test_the_interval_of_the_mean_is_scipy_s(means: InBrowser) -> None:
    calls = drawn(st.tuples(VALUES, LEVELS), 150)
    for (values, level), found in zip(calls, means.each("mean_of", calls), strict=True):
        mean, sd = np.mean(values), np.std(values, ddof=1)
        se = sd / np.sqrt(len(values))
        low, high = stats.t.interval(level, len(values) - 1, mean, se) if se else (mean, mean)
        assert (found["n"], found["mean"]) == (len(values), pytest.approx(mean, abs=1e-9))
        assert (found["sd"], found["low"]) == pytest.approx((sd, low), abs=1e-8)
        assert found["high"] == pytest.approx(high, abs=1e-8)


def test_the_next_of_normal_values_is_inside_as_often_as_it_says(means: InBrowser) -> None:
    random = np.random.default_rng(11)
    values = random.normal(20, 3, (3000, 4))
    found = means.each("next_of", [(list(row[:3]), 0.9) for row in values])
    held = [each["low"] <= row[3] <= each["high"] for each, row in zip(found, values, strict=True)]
    # Of 3000, 90 % hold from 2647 to 2753 but once in a thousand times.
    assert 0.88 < np.mean(held) < 0.92


def test_what_is_known_of_the_scatter_holds_a_lucky_few_back(means: InBrowser) -> None:
    lucky, usual = [50, 50.1, 49.9], {"sd": 5, "worth": 4}
    plain = means.next_of(lucky)
    held = means.each("next_like", [(lucky, usual)])[0]
    assert plain["high"] < 50.4
    # By hand: variance (4·25 + 2·0.01)/6 = 16.67, t(0.95, 6) = 1.943, √(1 + 1/3): 50 + 9.16.
    assert held["high"] == pytest.approx(50 + 1.94318 * np.sqrt(100.02 / 6 * 4 / 3), abs=1e-3)
    # Many values outweigh it.
    many = list(np.random.default_rng(1).normal(50, 1, 400))
    one, other = (
        means.each(name, [(many, *more)])[0]
        for name, more in (("next_of", ()), ("next_like", (usual,)))
    )
    assert other["high"] == pytest.approx(one["high"], rel=0.01)


def test_the_next_is_inside_where_the_scatter_is_as_it_was_held_to_be(means: InBrowser) -> None:
    """Scatters drawn from the very prior: then the interval holds what it says, even of one."""
    random = np.random.default_rng(12)
    for count in (1, 3):
        sds = np.sqrt(4 * 25 / random.chisquare(4, 2000))
        rows = [list(random.normal(40, sd, count + 1)) for sd in sds]
        usual = {"sd": 5, "worth": 4}
        found = means.each("next_like", [(row[:-1], usual, 0.9) for row in rows])
        held = [
            each["low"] <= row[-1] <= each["high"] for each, row in zip(found, rows, strict=True)
        ]
        assert 0.88 < np.mean(held) < 0.92


def test_one_value_tells_no_scatter(means: InBrowser) -> None:
    alone = {"n": 1, "mean": 7, "sd": None, "low": None, "high": None}
    assert means.mean_of([7]) == means.next_of([7]) == alone


@pytest.mark.parametrize("bad", [[], [float("nan")], [1, None], ["5"], [1, float("inf")]])
def test_nonsense_is_refused(means: InBrowser, bad: list[Any]) -> None:
    for name, more in (("mean_of", ()), ("next_of", ()), ("next_like", ({"sd": 1, "worth": 1},))):
        with pytest.raises(Refused):
            means.each(name, [(bad, *more)])
    with pytest.raises(Refused, match="level"):
        means.each("mean_of", [([1, 2], 1)])
