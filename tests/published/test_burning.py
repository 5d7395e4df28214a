"""Lines, t intervals and flames against figures that others published."""

import json
from pathlib import Path

import pytest

from tests.formulas.twin import InBrowser

# NIST, Statistical Reference Datasets, Norris (linear regression): public domain, read.
NORRIS = json.loads(Path(__file__).with_name("norris.json").read_text(encoding="utf-8"))


def test_the_certified_line_of_norris(regression: InBrowser) -> None:
    certified = {key: float(value) for key, value in NORRIS["certified"].items()}
    found = regression.fit_line(NORRIS["x"], NORRIS["y"])
    for name, ours in (
        ("B0", "intercept"),
        ("B1", "slope"),
        ("sd_B0", "se_intercept"),
        ("sd_B1", "se_slope"),
        ("residual_sd", "residual_sd"),
        ("residual_ss", "residual_ss"),
        ("r_squared", "r_squared"),
    ):
        assert found[ours] == pytest.approx(certified[name], rel=1e-12), name
    assert found["df"] == certified["residual_df"]


def test_the_intervals_of_norris(regression: InBrowser, student_t: InBrowser) -> None:
    # Computed from the certified figures: estimate ± t·sd.
    computed = NORRIS["computed"]
    assert student_t.t_quantile(0.975, 34) == pytest.approx(computed["t_975_34"], rel=1e-10)
    found = regression.fit_line(NORRIS["x"], NORRIS["y"])
    for estimate, se, wanted in (
        ("slope", "se_slope", "B1_95"),
        ("intercept", "se_intercept", "B0_95"),
    ):
        ours = regression.each("interval", [(found[estimate], found[se], found["df"], 0.95)])[0]
        assert ours == pytest.approx(computed[wanted], abs=1e-9)


# Student's table as every textbook prints it: two-sided 90, 95 and 99 % (from memory).
TABLE = {
    1: (6.314, 12.706, 63.657),
    2: (2.920, 4.303, 9.925),
    3: (2.353, 3.182, 5.841),
    5: (2.015, 2.571, 4.032),
    10: (1.812, 2.228, 3.169),
    30: (1.697, 2.042, 2.750),
    120: (1.658, 1.980, 2.617),
}


def test_the_printed_table_of_t(student_t: InBrowser) -> None:
    for df, row in TABLE.items():
        found = student_t.each("t_quantile", [(p, df) for p in (0.95, 0.975, 0.995)])
        assert found == pytest.approx(row, abs=5.1e-4), df


def test_how_many_candles_say_how_much(means: InBrowser) -> None:
    """With candles that differ by 5 %, the 95 % interval of so many candles is ± so many per cent
    (t(0.975)/√n × spread, computed)."""
    for n, half in ((2, 45), (3, 12.4), (4, 8.0), (5, 6.2), (6, 5.2), (10, 3.6)):
        # Values around 100 whose standard deviation is 5: the first two apart, the rest in the
        # middle.
        off = 5 * ((n - 1) / 2) ** 0.5
        values = [100 - off, 100 + off, *([100] * (n - 2))]
        found = means.each("mean_of", [(values, 0.95)])[0]
        assert found["sd"] == pytest.approx(5)
        assert (found["high"] - found["low"]) / 2 == pytest.approx(half, abs=0.08), n


def test_how_many_packs_say_how_much(student_t: InBrowser) -> None:
    # t/√n of the acceptance of packages: 76/211/EEC annex II (t(0.995), the terms were read) and
    # the 97.5 % that US inspectors use; the factors were computed.
    for p, n, factor in (
        (0.995, 20, 0.640),
        (0.995, 30, 0.503),
        (0.995, 50, 0.379),
        (0.975, 12, 0.635),
        (0.975, 24, 0.422),
        (0.975, 48, 0.290),
    ):
        found = student_t.each("t_quantile", [(p, n - 1)])[0] / n**0.5
        assert found == pytest.approx(factor, abs=5.1e-4)


def test_five_grams_an_hour(burning: InBrowser) -> None:
    # 42 MJ/kg (read second-hand): 5 g/h are 58 W (computed).
    assert burning.heat_w(5) == pytest.approx(58.3, abs=0.05)
