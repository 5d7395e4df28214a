"""Shares of a few, beside SciPy's."""

import pytest
from hypothesis import strategies as st
from scipy import stats

from tests.formulas.test_twin import drawn
from tests.formulas.twin import InBrowser, Refused

COUNTS = st.integers(1, 5000).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of)))
LEVELS = st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99])


def test_the_interval_is_scipy_s(wilson: InBrowser) -> None:
    asked = drawn(st.tuples(COUNTS, LEVELS), 200)
    calls = [(k, n, stats.norm.ppf((1 + level) / 2)) for (k, n), level in asked]
    for ((k, n), level), found in zip(asked, wilson.each("wilson", calls), strict=True):
        wanted = stats.binomtest(k, n).proportion_ci(level, method="wilson")
        assert found["low"] == pytest.approx(wanted.low, abs=1e-12)
        assert found["high"] == pytest.approx(wanted.high, abs=1e-12)
        assert 0 <= found["low"] <= k / n <= found["high"] <= 1


def test_without_a_deviate_it_is_ninety_per_cent(wilson: InBrowser) -> None:
    wanted = stats.binomtest(3, 14).proportion_ci(0.9, method="wilson")
    found = wilson.wilson(3, 14)
    assert (found["low"], found["high"]) == pytest.approx((wanted.low, wanted.high), abs=1e-12)


@pytest.mark.parametrize(
    "given", [(-1, 4), (5, 4), (1.5, 4), (0, 0), (1, float("nan")), (1, 4, 0), (1, 4, -2)]
)
def test_what_is_no_count_is_refused(wilson: InBrowser, given: tuple[float, ...]) -> None:
    with pytest.raises(Refused):
        wilson.wilson(*given)
