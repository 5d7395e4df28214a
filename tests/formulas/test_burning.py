"""A candle that burns: rates, heat, residue and hours, by hand and in a made-up candle."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import strategies as st

from tests.formulas.test_twin import drawn
from tests.formulas.twin import InBrowser

#: A candle of 200 g, weighed before and after three sittings; 0.6 g of wick and wax were trimmed
#: off after the first, 0.4 g after the second.
BY_HAND = [
    {"hours": 4, "before_g": 420.0, "after_g": 396.0},
    {"hours": 4, "before_g": 395.4, "after_g": 373.4},
    {"hours": 2, "before_g": 373.0, "after_g": 363.0},
]


def test_a_burn_by_hand(burning: InBrowser) -> None:
    # Lost 24, 22 and 10 g: left 420, 396, 374, 364 after 0, 4, 8, 10 h.
    # Means 5.5 h and 388.5 g; Σ(h − 5.5)² = 30.25 + 2.25 + 6.25 + 20.25 = 59;
    # Σ(h − 5.5)(g − 388.5) = −173.25 − 11.25 − 36.25 − 110.25 = −331: slope −331/59.
    found = burning.burn_rate(BY_HAND)
    assert found["points"] == [[0, 420], [4, 396], [8, 374], [10, 364]]
    assert (found["hours"], found["grams"]) == (10, 56)
    assert found["g_per_h"] == pytest.approx(331 / 59)
    # Residuals 0.644, −0.915, −0.475, 0.746: Σ² = 2.034, s² = 1.017, se = √(1.017/59).
    squares = sum((g - 388.5 + 331 / 59 * (h - 5.5)) ** 2 for h, g in found["points"])
    assert squares == pytest.approx(2.034, abs=1e-3)
    assert found["se"] == pytest.approx(math.sqrt(squares / 2 / 59))


def test_one_sitting_is_a_plain_quotient(burning: InBrowser) -> None:
    found = burning.burn_rate(BY_HAND[:1])
    assert (found["g_per_h"], found["se"]) == (6, None)


SITTINGS = st.lists(
    st.tuples(st.integers(1, 24).map(lambda n: n / 4), st.integers(0, 500).map(lambda n: n / 10)),
    min_size=1,
    max_size=8,
)


def test_what_is_trimmed_away_is_no_consumption(burning: InBrowser) -> None:
    """Whatever is cut off between sittings, the rate is that of the untouched candle."""
    calls, trimmed = [], []
    for each in drawn(SITTINGS, 100):
        for trim, to in ((0.0, calls), (0.7, trimmed)):
            left, made = 1000.0, []
            for hours, lost in each:
                made.append({"hours": hours, "before_g": left, "after_g": left - lost})
                left -= lost + trim
            to.append((made,))
    for one, other in zip(
        burning.each("burn_rate", calls), burning.each("burn_rate", trimmed), strict=True
    ):
        assert one["g_per_h"] == pytest.approx(other["g_per_h"], abs=1e-9)
        assert one["g_per_h"] >= 0


def test_heat_and_time_of_a_flame(burning: InBrowser) -> None:
    assert round(burning.heat_w(5)) == 58
    # 70 mm wide, 10 mm high: π·3.5²·1 = 38.48 cm³, of 0.9 g/ml 34.64 g.
    assert burning.residue_g(70, 0.9) == pytest.approx(34.636, abs=1e-3)
    assert burning.residue_g(70, 0.9, 0) == 0
    # (200 − 35)/5.5 h.
    assert burning.burning_hours(200, 35, 5.5) == pytest.approx(30)
    # Three inches: three hours (common practice, no source).
    assert burning.full_pool_by_h(76.2) == pytest.approx(3)


def falling(fall: float, fuel_g: float, rate: float, hours: list[float]) -> list[dict[str, float]]:
    """The sittings of a candle whose rate falls by a part of itself while all of it burns."""
    left, made = fuel_g, []
    for each in hours:
        before = left
        for _ in range(2000):
            left -= rate * (1 - fall * (1 - left / fuel_g)) * each / 2000
        made.append({"hours": each, "before_g": before, "after_g": left})
    return made


@pytest.mark.parametrize("fall", [0.0, 0.2, 0.5])
def test_a_fall_is_found_and_carried_on(burning: InBrowser, fall: float) -> None:
    """A candle integrated in small steps: where it is after four sittings tells when it is down.

    The candle's fall is a part of its first rate, the formula's of its mean rate so far."""
    fuel, residue = 200.0, 30.0
    candles = [falling(fall, fuel, rate, [4, 4, 4, 4]) for rate in (5.0, 5.5, 6.0)]
    found = burning.fall_of(candles, fuel)
    half = sum(each["before_g"] - each["after_g"] for each in candles[1]) / 2 / fuel
    # What was held before draws it a little to itself.
    assert found["fall"] == pytest.approx(fall / (1 - fall * half), abs=1.5 * found["sd"])
    for sittings, rate in zip(candles, (5.0, 5.5, 6.0), strict=True):
        hours = whole_life(fall, fuel, residue, rate)
        burnt = {"hours": 16, "grams": sittings[0]["before_g"] - sittings[-1]["after_g"]}
        told = burning.hours_as_it_falls(fuel, residue, burnt, found["fall"])
        assert told == pytest.approx(hours, rel=0.015)


def whole_life(fall: float, fuel: float, residue: float, rate: float) -> float:
    """∫ dg/r: in closed form."""
    until = 1 - residue / fuel
    return fuel / rate * (until if fall == 0 else -math.log(1 - fall * until) / fall)


def test_few_sittings_leave_the_usual_fall(burning: InBrowser) -> None:
    usual = burning.USUAL_FALL
    one = [falling(0.3, 200, 5, [4.0])]
    assert burning.fall_of(one, 200) == usual
    two = burning.fall_of([falling(0.3, 200, 5, [4.0, 4.0])], 200)
    four = burning.fall_of([falling(0.3, 200, 5, [4.0] * 4)], 200)
    assert four["sd"] < two["sd"] < usual["sd"]


def test_hours_that_fall_less_and_less_become_plain_ones(burning: InBrowser) -> None:
    burnt = {"hours": 10.0, "grams": 55.0}
    plain = burning.burning_hours(200, 30, 5.5)
    calls = [(200, 30, burnt, fall) for fall in (-1e-5, 0, 1e-7, 1e-5, 0.1, 0.4)]
    told = burning.each("hours_as_it_falls", calls)
    assert told[:4] == pytest.approx([plain] * 4, rel=1e-5)
    assert told[3] < told[4] < told[5]
    # What is measured already is measured: with everything burnt it is the hours themselves.
    assert burning.hours_as_it_falls(
        200, 30, {"hours": 31.0, "grams": 170.0}, 0.3
    ) == pytest.approx(31)


@pytest.mark.parametrize(
    ("name", "args"),
    [
        ("burn_rate", ([],)),
        ("burn_rate", ([{"hours": 0, "before_g": 5, "after_g": 4}],)),
        ("burn_rate", ([{"hours": 1, "before_g": 4, "after_g": 5}],)),
        ("burn_rate", ([{"hours": float("nan"), "before_g": 5, "after_g": 4}],)),
        ("burn_rate", ([{"hours": 1, "before_g": None, "after_g": 4}],)),
        ("heat_w", (-1,)),
        ("residue_g", (0, 0.9)),
        ("residue_g", (70, 9)),
        ("burning_hours", (30, 30, 5)),
        ("burning_hours", (200, 30, 0)),
        ("full_pool_by_h", ("70",)),
        ("fall_of", ([], 0)),
        ("hours_as_it_falls", (200, 30, {"hours": 1, "grams": 0}, 0.1)),
        ("hours_as_it_falls", (200, 30, {"hours": 1, "grams": 5}, 2)),
    ],
)
def test_nonsense_is_refused(burning: InBrowser, name: str, args: tuple[Any, ...]) -> None:
    [answer] = burning.answers(name, [args])
    assert answer.get("error", "").endswith("."), answer


def test_candles_that_scatter_are_told_as_they_are(burning: InBrowser) -> None:
    """Sittings that scatter by 3 %: the fall is within its doubt as often as a doubt promises."""
    random = np.random.default_rng(7)
    off = []
    for _ in range(150):
        candles = []
        for _ in range(3):
            made = falling(0.2, 200, 5.5, [4, 4, 4, 4])
            for each in made:
                lost = (each["before_g"] - each["after_g"]) * random.normal(1, 0.03)
                each["after_g"] = each["before_g"] - lost
            candles.append(made)
        found = burning.fall_of(candles, 200)
        off.append((found["fall"] - 0.2 / (1 - 0.2 * 0.21)) / found["sd"])
    assert 0.8 < np.std(off) < 1.25
    assert abs(np.mean(off)) < 0.4
