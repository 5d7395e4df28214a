"""Wax on the heat: what its forecast means, asked of the phone's own module in a browser."""

import pytest
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tests.formulas.test_twin import ARGUMENTS, NONSENSE, drawn
from tests.formulas.twin import InBrowser, real

RISES = st.tuples(
    st.floats(20, 70),
    st.floats(0.3 / 40, 0.5),
    st.lists(st.integers(0, 1800), min_size=2, max_size=6, unique=True),
    st.floats(1, 30),
)


def test_a_steady_rise_is_foreseen(warming: InBrowser) -> None:
    rises = drawn(RISES, 200)
    last, least = warming.LAST, warming.LEAST_RATE
    calls = []
    for start, slope_a_min, times, ahead in rises:
        readings = [[t, start + slope_a_min * t / 60] for t in times]
        calls.append((readings, max(temp for _, temp in readings) + ahead))
    slow = 0
    answers = warming.answers("forecast", calls)
    for (start, slope_a_min, times, _), (_, target), answer in zip(
        rises, calls, answers, strict=True
    ):
        slope = slope_a_min / 60
        # So close to the least that rounding decides.
        if slope == pytest.approx(least, rel=1e-9):
            continue
        if slope < least:
            assert "hardly rises" in answer["error"]
            slow += 1
            continue
        found = answer["value"]
        assert found["eta_s"] == pytest.approx((target - start) / slope, rel=1e-6)
        assert found["rate_c_per_min"] == pytest.approx(60 * slope)
        assert found["low_s"] < found["eta_s"] < found["high_s"]
        assert found["temp_c"] == pytest.approx(start + slope * sorted(times)[-last:][-1])
    assert 0 < slow < len(rises)


def test_only_the_last_readings_count(warming: InBrowser) -> None:
    """The heat was turned up after the first minutes."""
    slow = [(60.0 * i, 40.0 + i) for i in range(5)]
    quick = [(300.0 + 60 * i, 45.0 + 4 * i) for i in range(warming.LAST)]
    assert warming.forecast(slow + quick, 80)["rate_c_per_min"] == pytest.approx(4)


def test_a_finer_thermometer_is_surer(warming: InBrowser) -> None:
    readings = [(0.0, 60.0), (60.0, 62.0), (120.0, 64.0)]
    fine = warming.forecast(readings, 80, thermometer_step_c=0.1)
    coarse = warming.forecast(readings, 80, thermometer_step_c=1)
    assert fine["high_s"] - fine["low_s"] < (coarse["high_s"] - coarse["low_s"]) / 2


def test_a_steady_heat_on_a_losing_jug_comes_no_earlier_than_told(warming: InBrowser) -> None:
    """Heat balance C·dT/dt = P − loss·(T − room), integrated: the line is on the safe side."""
    power, loss, heat = 300.0, 0.8, 2600.0
    solved = solve_ivp(
        lambda _, temp: (power - loss * (temp - 20)) / heat, (0, 3000), [55.0], dense_output=True
    )
    readings = [(t, float(solved.sol(t)[0])) for t in (0.0, 60.0, 120.0)]
    told = warming.forecast(readings, 90)["eta_s"]
    assert float(solved.sol(told)[0]) < 90
    assert float(solved.sol(told)[0]) == pytest.approx(90, abs=2)


def test_any_question_is_answered_or_refused_in_a_sentence(warming: InBrowser) -> None:
    questions = st.tuples(
        st.lists(
            st.tuples(st.floats(0, 3000), st.floats(20, 95) | st.floats(-30, 310)).map(list),
            max_size=7,
        ),
        st.floats(20, 120) | NONSENSE,
    )
    answers = warming.answers("forecast", drawn(questions, 600))
    assert {"value", "error"} <= {key for answer in answers for key in answer}
    for answer in answers:
        if "value" in answer:
            found = real(answer["value"])
            assert all(abs(each) < 1e9 for each in found.values())
            assert found["low_s"] <= found["eta_s"] <= found["high_s"]
        else:
            assert answer["error"][0].isupper()
            assert answer["error"].endswith(".")
            assert answer["about"] in ARGUMENTS
