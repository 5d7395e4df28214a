"""Student's t beside SciPy's, on both sides."""

from typing import Any

import numpy as np
import pytest
from scipy.stats import t as scipy_t

from benchapp.formulas.student_t import t_cdf, t_quantile
from tests.formulas.twin import InBrowser

DF = [*range(1, 201), 1.5, 4.25, 63.7]
CHANCES = np.array([0.001, 0.01, 0.05, 0.2, 0.4, 0.499, 0.5, 0.501, 0.75, 0.9, 0.975, 0.99, 0.999])


def test_quantiles_are_scipy_s(student_t: InBrowser) -> None:
    calls = [(float(p), df) for df in DF for p in CHANCES]
    wanted = scipy_t.ppf(*np.array(calls).T)
    for found in (student_t.each("t_quantile", calls), [t_quantile(*call) for call in calls]):
        assert np.array(found) == pytest.approx(wanted, rel=1e-10, abs=1e-13)


def test_chances_are_scipy_s(student_t: InBrowser) -> None:
    calls = [(float(x), df) for df in DF for x in (-300, -8, -2.5, -1, -1e-3, 0, 0.3, 1.7, 4, 60)]
    wanted = scipy_t.cdf(*np.array(calls).T)
    for found in (student_t.each("t_cdf", calls), [t_cdf(*call) for call in calls]):
        assert np.array(found) == pytest.approx(wanted, rel=1e-10, abs=0)


def test_one_is_the_inverse_of_the_other(student_t: InBrowser) -> None:
    random = np.random.default_rng(4)
    calls = [(random.uniform(0.001, 0.999), random.uniform(1, 10_000)) for _ in range(300)]
    quantiles = student_t.each("t_quantile", calls)
    back = student_t.each("t_cdf", [(x, df) for x, (_, df) in zip(quantiles, calls, strict=True)])
    assert back == pytest.approx([p for p, _ in calls], rel=1e-10)


@pytest.mark.parametrize(
    ("name", "args", "about"),
    [
        ("t_quantile", (0, 3), "p"),
        ("t_quantile", (1, 3), "p"),
        ("t_quantile", (float("nan"), 3), "p"),
        ("t_quantile", (0.5, 0.5), "df"),
        ("t_cdf", (1, float("inf")), "df"),
        ("t_cdf", ("2", 3), "x"),
    ],
)
def test_nonsense_is_refused(
    student_t: InBrowser, name: str, args: tuple[Any, ...], about: str
) -> None:
    [answer] = student_t.answers(name, [args])
    assert answer["about"] == about
    assert answer["error"].endswith(".")
