"""The forecast is no worse than the plain 5/4 law, and its doubt is honest, on jugs from physics.

A sample small enough for every run; ``python -m tests.benchmarks.forecast`` prints the whole table.
"""

import numpy as np
import pytest

from tests.benchmarks.forecast import STEPS, Case, benches, five_quarters, ours, wax_case

JUGS = 60
SEED = 3141  # another than the table's


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    """A case for each thermometer on each curve."""
    random = np.random.default_rng(SEED)
    curves = [bench.pour(random) for bench in benches(random, JUGS)]
    return [wax_case(random, curve, step) for step in STEPS for curve in curves]


def test_it_is_no_worse_than_the_plain_law(cases: list[Case]) -> None:
    """The law without priors from two to five dips is what the priors have to justify."""
    off = {
        way: [min(abs(way(case)[0] - case.true_s) / case.remaining_s, 1.0) for case in cases]
        for way in (ours, five_quarters)
    }
    for part in (0.5, 0.9):
        assert np.quantile(off[ours], part) <= np.quantile(off[five_quarters], part)


def test_nine_in_ten_arrive_within_the_interval(cases: list[Case]) -> None:
    """180 draws with 90 % have a standard deviation of 2.2 %, and those of one curve go together:
    80 % lies beyond four of them, so that falling below is no chance; 99 % would be no interval
    but a shrug."""
    held = [low <= case.true_s <= high for case in cases for _, low, high in [ours(case)]]
    assert 0.80 <= np.mean(held) <= 0.99
