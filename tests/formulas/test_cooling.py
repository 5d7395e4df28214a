"""The forecast on curves whose end is known."""

import math
import random

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from benchapp.formulas import cooling

ROOM = st.floats(5, 35)
OVER = st.floats(30, 80)
RATE = st.floats(5e-5, 5e-4)


def at(over: float, rate: float, t: float) -> float:
    """θ by the closed form of dθ/dt = −k·θ^(5/4)."""
    return (over**-0.25 + rate / 4 * t) ** -4


def when(over: float, rate: float, target_over: float) -> float:
    return (target_over**-0.25 - over**-0.25) * 4 / rate


def curve(room: float, over: float, rate: float, times: list[float]) -> list[tuple[float, float]]:
    return [(t, room + at(over, rate, t)) for t in times]


TIMES = st.lists(st.integers(0, 3600), min_size=2, max_size=8, unique=True).map(
    lambda seconds: [float(second) for second in seconds]
)


@given(ROOM, OVER, RATE, TIMES, st.floats(0.2, 1.2))
def test_exact_on_a_curve_without_noise(
    room: float, over: float, rate: float, times: list[float], part: float
) -> None:
    """Two readings or more, far enough apart for their fall to show."""
    readings = curve(room, over, rate, times)
    target = room + over * part
    forecast = cooling.forecast(readings, room, target, thermometer_step_c=0.01)
    assume(not forecast.guessed)
    eta = when(over, rate, over * part)
    assert forecast.eta_s == pytest.approx(eta, rel=1e-6, abs=1e-4)
    assert forecast.rate == pytest.approx(rate, rel=1e-6)
    for t in (0.0, 600.0, 7200.0):
        assert forecast.temp_at(t) == pytest.approx(room + at(over, rate, t), abs=1e-6)
    assert forecast.temp_at(forecast.eta_s) == pytest.approx(target, abs=1e-6)


@given(ROOM, OVER, st.floats(1e-4, 5e-4))
def test_two_readings_ten_minutes_apart_are_enough(room: float, over: float, rate: float) -> None:
    forecast = cooling.forecast(curve(room, over, rate, [0, 600]), room, room + over / 2)
    assert not forecast.guessed
    assert forecast.eta_s == pytest.approx(when(over, rate, over / 2), rel=1e-9)


READINGS = st.lists(
    st.tuples(st.integers(0, 7200).map(float), st.integers(450, 950).map(lambda n: n / 10)),
    min_size=1,
    max_size=8,
)


@given(READINGS, ROOM, st.floats(1, 40), st.sampled_from([0.1, 0.5, 1, 5 / 9]))
def test_the_interval_holds_the_arrival(
    readings: list[tuple[float, float]], room: float, above: float, step: float
) -> None:
    forecast = cooling.forecast(readings, room, room + above, thermometer_step_c=step)
    assert forecast.low_s <= forecast.eta_s <= forecast.high_s
    last = max(time for time, _ in readings)
    if forecast.eta_s > last:
        assert forecast.low_s >= last
    assert forecast.rate > 0
    assert forecast.rate_c_per_min > 0


@given(ROOM, OVER, st.floats(1e-4, 5e-4), st.integers(300, 900))
def test_a_further_reading_narrows_the_interval(
    room: float, over: float, rate: float, apart: int
) -> None:
    target = room + over / 4
    widths = []
    for count in (1, 2, 3, 4):
        times = [float(apart * index) for index in range(count)]
        assume(times[-1] < when(over, rate, over / 4))
        forecast = cooling.forecast(curve(room, over, rate, times), room, target, mass_g=1000)
        widths.append(forecast.high_s - forecast.low_s)
    assert widths == sorted(widths, reverse=True)


@example([(0.0, 45.0)], 5.0, 1.0, -13)  # where the middle of one reading is off by a rounding
@given(READINGS, ROOM, st.floats(1, 40), st.integers(-(10**6), 10**6))
def test_another_zero_of_time_moves_the_arrival_with_it(
    readings: list[tuple[float, float]], room: float, above: float, shift: int
) -> None:
    one = cooling.forecast(readings, room, room + above)
    other = cooling.forecast([(t + shift, temp) for t, temp in readings], room, room + above)
    pairs = ((one.eta_s, other.eta_s), (one.low_s, other.low_s), (one.high_s, other.high_s))
    for here, there in pairs:
        assert there - shift == pytest.approx(here, rel=1e-4, abs=1e-2)
    assert (one.used, one.restarted, one.guessed) == (other.used, other.restarted, other.guessed)


@given(READINGS, ROOM, st.floats(1, 40), st.randoms(use_true_random=False))
def test_readings_may_come_in_any_order(
    readings: list[tuple[float, float]], room: float, above: float, chance: random.Random
) -> None:
    shuffled = list(readings)
    chance.shuffle(shuffled)
    one = cooling.forecast(readings, room, room + above)
    assert cooling.forecast(shuffled, room, room + above) == one


@given(ROOM, OVER, RATE, st.floats(2, 40))
def test_readings_before_a_warming_are_left_aside(
    room: float, over: float, rate: float, warmed: float
) -> None:
    before = curve(room, over, rate, [0, 300, 600])
    start = before[-1][1] - room + warmed
    after = [(900 + t, temp) for t, temp in curve(room, start, rate, [0, 600])]
    with_all = cooling.forecast(before + after, room, room + 10)
    alone = cooling.forecast(after, room, room + 10)
    assert with_all.restarted
    assert with_all.used == 2
    assert with_all.eta_s == alone.eta_s


@given(OVER, RATE, st.floats(0, 5000), st.floats(0, 5000))
def test_cooling_in_two_stretches_is_cooling_in_one(
    over: float, rate: float, first: float, second: float
) -> None:
    halfway = cooling.excess(over, rate, first)
    assert cooling.excess(halfway, rate, second) == pytest.approx(
        cooling.excess(over, rate, first + second), rel=1e-9
    )


@given(st.floats(50, 20000))
def test_eight_times_the_wax_cools_half_as_fast(mass: float) -> None:
    assert cooling.default_rate(8 * mass) == pytest.approx(cooling.default_rate(mass) / 2)
    assert math.isclose(cooling.default_rate(1000), cooling.DEFAULT_RATE)
