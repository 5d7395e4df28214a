"""The line that never falls: against whole integrals, plain regression, and what must hold."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import strategies as st
from playwright.sync_api import Page
from scipy.integrate import simpson
from scipy.special import log_ndtr, ndtr
from scipy.stats import linregress
from scipy.stats import t as student_t

from tests import in_page
from tests.formulas.test_twin import drawn

INF = math.inf
EXPECTED = {"least": 0, "most": 150, "first": 2, "last": 14, "scatter": [1, 12]}
Point = dict[str, float]


def exact(x: float, y: float) -> Point:
    return {"x": x, "low": y, "high": y}


#: What fits answer, asked where they are made: a fit has thousands of cells to carry.
_TELL = """async (asked) => {
  const { InputError } = await import('/words/door.js');
  const home = await import('/formulas/monotone.js');
  return asked.map(([points, expected, questions]) => {
    try {
      const fit = home.monotoneFit(points, expected);
      return questions.map(([name, ...args]) => home[name](fit, ...args));
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      return { refused: error.message };
    }
  });
}"""


def tell(page: Page, sets: list[list[Point]], *questions: tuple[Any, ...], **changed: Any) -> Any:
    """The answers of each set's fit to all the questions."""
    asked = [[points, EXPECTED | changed, questions] for points in sets]
    return in_page.ask(page, _TELL, asked)


#: Sizes and heights of all kinds: exact, between, below, above.
POINTS = st.lists(
    st.builds(
        lambda x, y, wide, kind: {
            "exact": exact(x, y),
            "between": {"x": x, "low": y - wide, "high": y + wide},
            "below": {"x": x, "low": -INF, "high": y},
            "above": {"x": x, "low": y, "high": INF},
        }[kind],
        st.sampled_from([2, 4, 6, 8, 10, 12, 14]),
        st.integers(5, 145),
        st.integers(1, 15),
        st.sampled_from(["exact", "exact", "between", "below", "above"]),
    ),
    min_size=1,
    max_size=20,
)


def test_the_line_never_falls(twin: Page) -> None:
    xs = [2, 3.5, 5, 8, 11, 14]
    questions = [*(("chanceAbove", x, 75) for x in xs), *(("meanAt", x) for x in xs)]
    for answers in tell(twin, drawn(POINTS, 60), *questions):
        chances, means = answers[:6], [each["mean"] for each in answers[6:]]
        assert chances == sorted(chances)
        assert means == sorted(means)
        assert 0 <= chances[0] <= chances[-1] <= 1


def test_the_order_of_points_makes_no_difference(twin: Page) -> None:
    sets = drawn(POINTS, 40)
    questions = (("chanceAbove", 7, 60), ("meanAt", 3), ("quantile", 12, 0.9))
    ours = tell(twin, sets, *questions)
    assert ours == tell(twin, [points[::-1] for points in sets], *questions)
    assert ours == tell(twin, [sorted(points, key=str) for points in sets], *questions)


def test_the_higher_the_limit_the_less_is_above(twin: Page) -> None:
    questions = [("chanceAbove", 7, limit) for limit in range(0, 200, 10)]
    for chances in tell(twin, drawn(POINTS, 40), *questions):
        assert chances == sorted(chances, reverse=True)


def test_a_quantile_is_the_limit_of_its_chance(twin: Page) -> None:
    parts = (0.05, 0.5, 0.95)
    for points in drawn(POINTS, 8):
        [quantiles] = tell(twin, [points], *(("quantile", 7, p) for p in parts))
        [back] = tell(twin, [points], *(("chanceAbove", 7, each) for each in quantiles))
        assert back == pytest.approx([1 - p for p in parts], abs=1e-6)


def test_more_points_say_more(twin: Page) -> None:
    random = np.random.default_rng(3)
    for _ in range(5):
        points = [
            exact(float(x), 20 + 4 * x + random.normal(0, 4)) for _ in range(16) for x in (4, 8, 12)
        ]
        bands = tell(twin, [points[:count] for count in (3, 12, 48)], ("meanAt", 8))
        widths = [band["high"] - band["low"] for [band] in bands]
        assert widths == sorted(widths, reverse=True)
        assert widths[2] < widths[0] / 2


def test_where_nothing_is_hidden_it_is_plain_regression(twin: Page) -> None:
    """Slopes far from flat and scatters far from the ends of their range: the prior is nearly
    even, and the posterior of the line is Student's t around least squares."""
    random = np.random.default_rng(8)
    for _ in range(5):
        x = np.repeat([4.0, 7, 10, 13], 6)
        y = 10 + 6 * x + random.normal(0, 4, x.size)
        line = linregress(x, y)
        points = [exact(*each) for each in zip(x.tolist(), y.tolist(), strict=True)]
        ats = (4, 8.5, 13)
        [bands] = tell(twin, [points], *(("meanAt", at) for at in ats))
        residual = np.sqrt(np.sum((y - line.intercept - line.slope * x) ** 2) / (x.size - 2))
        for at, found in zip(ats, bands, strict=True):
            mid = line.intercept + line.slope * at
            se = residual * math.sqrt(1 / x.size + (at - 8.5) ** 2 / np.sum((x - 8.5) ** 2))
            half = student_t.ppf(0.95, x.size - 2) * se
            assert found["mean"] == pytest.approx(mid, abs=0.05 * residual)
            assert found["high"] - found["low"] == pytest.approx(2 * half, rel=0.12)


def test_one_size_leaves_the_others_open(twin: Page) -> None:
    points = [exact(8, 60), exact(8, 62), exact(8, 58)]
    [[first, own, last]] = tell(twin, [points], *(("meanAt", x) for x in (2, 8, 14)))
    widths = [each["high"] - each["low"] for each in (first, own, last)]
    assert widths[1] < 20
    assert min(widths[0], widths[2]) > 40
    assert first["mean"] < own["mean"] < last["mean"]


# ---- the whole integral --------------------------------------------------------------------------


def brute(points: list[Point], x: float, limit: float) -> tuple[float, float]:
    """The mean of the line at ``x`` and the chance above ``limit``, by Simpson's rule over the
    values at both anchors and the logarithm of the scatter."""
    first, last = EXPECTED["first"], EXPECTED["last"]
    ends = np.linspace(EXPECTED["least"], EXPECTED["most"], 241)
    logs = np.linspace(*np.log(EXPECTED["scatter"]), 31)
    one, other = np.meshgrid(ends, ends, indexing="ij")
    inside = np.where(one < other, 1.0, np.where(one == other, 0.5, 0.0))
    sums, best = [], None
    for log in logs:
        scatter = math.exp(log)
        total = np.zeros_like(one)
        for point in points:
            line = one + (other - one) * (point["x"] - first) / (last - first)
            low, high = (point["low"] - line) / scatter, (point["high"] - line) / scatter
            if point["low"] == point["high"]:
                total += -math.log(scatter) - low**2 / 2
            else:
                low, high = (
                    np.where(low + high > 0, -high, low),
                    np.where(low + high > 0, -low, high),
                )
                with np.errstate(divide="ignore"):
                    total += log_ndtr(high) + np.log1p(-np.exp(log_ndtr(low) - log_ndtr(high)))
        best = np.max(total) if best is None else best
        weight = inside * np.exp(total - best)
        line = one + (other - one) * (x - first) / (last - first)
        chance = ndtr((line - limit) / scatter)
        sums.append(
            [
                simpson(simpson(weight * of, x=ends), x=ends)
                for of in (np.ones_like(one), line, chance)
            ]
        )
    whole, mean, chance = simpson(np.array(sums), x=logs, axis=0)
    return mean / whole, chance / whole


CASES: dict[str, list[Point]] = {
    "exact": [exact(4, 38), exact(4, 45), exact(8, 52), exact(8, 61), exact(12, 70)],
    "at the wall": [
        *(exact(4, 55), exact(4, 61), exact(4, 58)),
        *({"x": 8, "low": 75, "high": INF} for _ in range(3)),
    ],
    "below and above": [
        *({"x": 6, "low": -INF, "high": 75} for _ in range(3)),
        *(exact(10, 62), exact(10, 68), {"x": 10, "low": 75, "high": INF}),
    ],
    "between": [
        *({"x": 4, "low": 40, "high": 55}, {"x": 8, "low": 50, "high": 70}),
        *({"x": 12, "low": 55, "high": 80}, {"x": 12, "low": 60, "high": 75}),
    ],
    "one candle": [exact(8, 60)],
    "flat": [exact(4, 50), exact(4, 52), exact(12, 49), exact(12, 47), exact(8, 50)],
}


@pytest.mark.parametrize("case", CASES)
def test_it_is_the_whole_integral(twin: Page, case: str) -> None:
    for x, limit in ((4, 60), (12, 75)):
        mean, chance = brute(CASES[case], x, limit)
        [[band, above]] = tell(twin, [CASES[case]], ("meanAt", x), ("chanceAbove", x, limit))
        assert band["mean"] == pytest.approx(mean, abs=0.35)
        assert above == pytest.approx(chance, abs=0.012)


# ---- how long it takes ---------------------------------------------------------------------------

_TIME = """async ([points, expected]) => {
  const { monotoneFit, chanceAbove } = await import('/formulas/monotone.js');
  let least = Infinity;
  for (let turn = 0; turn < 10; turn += 1) {
    const begin = performance.now();
    chanceAbove(monotoneFit(points, expected), 7, 75);
    least = Math.min(least, performance.now() - begin);
  }
  return least;
}"""


def test_it_takes_a_blink(twin: Page) -> None:
    """20 points, one in three censored: under 30 ms is asked of a phone, which is some four times
    slower than the machines that run this."""
    points = [
        {"x": 2 + i % 12, "low": 20.0 + 4 * i, "high": 20.0 + 4 * i if i % 3 else 160.0}
        for i in range(20)
    ]
    assert twin.evaluate(_TIME, [points, EXPECTED]) < 30


@pytest.mark.parametrize(
    ("points", "changed"),
    [
        ([], {}),
        ([{"x": 4, "low": 5, "high": 4}], {}),
        ([{"x": 4, "low": -INF, "high": INF}], {}),
        ([exact(float("nan"), 4)], {}),
        ([exact(1, 4)], {}),
        ([exact(4, 4)], {"least": 150}),
        ([exact(4, 4)], {"last": 2}),
        ([exact(4, 4)], {"scatter": [0, 1]}),
        ([exact(4, 4)], {"scatter": [3, 1]}),
    ],
)
def test_nonsense_is_refused(twin: Page, points: list[Point], changed: dict[str, Any]) -> None:
    [answer] = tell(twin, [points], **changed)
    assert answer["refused"].endswith(".")
