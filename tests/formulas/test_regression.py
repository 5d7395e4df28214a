"""The line of least squares beside SciPy's, on lines of all kinds."""

from typing import Any

import pytest
from hypothesis import strategies as st
from scipy.stats import linregress

from tests.formulas.test_twin import drawn
from tests.formulas.twin import InBrowser

NUMBERS = st.integers(-100_000, 100_000).map(lambda n: n / 64)
LINES = st.lists(st.tuples(NUMBERS, NUMBERS), min_size=3, max_size=20).filter(
    lambda points: len({x for x, _ in points}) > 1
)


def test_the_line_is_scipy_s(regression: InBrowser) -> None:
    lines = drawn(LINES, 200)
    calls = [tuple(map(list, zip(*points, strict=True))) for points in lines]
    for (x, y), found in zip(calls, regression.each("fit_line", calls), strict=True):
        wanted = linregress(x, y)
        size = max(map(abs, y)) + 1
        assert found["slope"] == pytest.approx(wanted.slope, rel=1e-9, abs=1e-9)
        assert found["intercept"] == pytest.approx(wanted.intercept, rel=1e-9, abs=1e-9 * size)
        # Where the points are on a line, SciPy's doubt is a difference of rounded numbers.
        assert found["se_slope"] == pytest.approx(wanted.stderr, rel=1e-6, abs=1e-6 * size)
        if found["r_squared"] is not None:
            assert found["r_squared"] == pytest.approx(wanted.rvalue**2, abs=1e-9)
        assert sum(found["residuals"]) == pytest.approx(0, abs=1e-8 * size)
        assert (found["n"], found["df"]) == (len(x), len(x) - 2)


def test_two_points_make_a_line_without_doubt_or_certainty(regression: InBrowser) -> None:
    line = regression.fit_line([0, 4], [200, 176])
    assert (line["slope"], line["intercept"], line["residual_ss"]) == (-6, 200, 0)
    assert line["se_slope"] is line["se_intercept"] is line["residual_sd"] is None


@pytest.mark.parametrize(
    ("name", "args"),
    [
        ("fit_line", ([1], [1])),
        ("fit_line", ([1, 2], [1])),
        ("fit_line", ([2, 2, 2], [1, 2, 3])),
        ("fit_line", ([1, 2, float("nan")], [1, 2, 3])),
        ("fit_line", ([1, 2, 3], [1, 2, None])),
        ("interval", (1, -1, 3)),
        ("interval", (1, 1, 0)),
        ("interval", (1, 1, 3, 1.5)),
    ],
)
def test_nonsense_is_refused(regression: InBrowser, name: str, args: tuple[Any, ...]) -> None:
    [answer] = regression.answers(name, [args])
    assert answer.get("error", "").endswith("."), answer
