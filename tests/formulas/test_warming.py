"""Wax on the heat: what its forecast means."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.formulas import warming


@given(
    start=st.floats(20, 70),
    rate=st.floats(0.3, 20),
    times=st.lists(st.integers(0, 1800), min_size=2, max_size=6, unique=True),
    ahead=st.floats(1, 30),
)
def test_a_steady_rise_is_foreseen(
    start: float, rate: float, times: list[int], ahead: float
) -> None:
    used = sorted(times)[-warming.LAST :]
    readings = [(float(t), start + rate * t / 60 / 40) for t in times]
    slope = rate / 60 / 40
    if slope < warming.LEAST_RATE:
        with pytest.raises(ValueError, match="hardly rises"):
            warming.forecast(readings, 80)
        return
    target = max(temp for _, temp in readings) + ahead
    found = warming.forecast(readings, target)
    assert found.eta_s == pytest.approx((target - start) / slope, rel=1e-6)
    assert found.rate_c_per_min == pytest.approx(60 * slope)
    assert found.low_s < found.eta_s < found.high_s
    assert found.temp_c == pytest.approx(start + slope * used[-1])


def test_only_the_last_readings_count() -> None:
    """The heat was turned up after the first minutes."""
    slow = [(60.0 * i, 40.0 + i) for i in range(5)]
    quick = [(300.0 + 60 * i, 45.0 + 4 * i) for i in range(warming.LAST)]
    assert warming.forecast(slow + quick, 80).rate_c_per_min == pytest.approx(4)


def test_a_finer_thermometer_is_surer() -> None:
    readings = [(0.0, 60.0), (60.0, 62.0), (120.0, 64.0)]
    fine = warming.forecast(readings, 80, thermometer_step_c=0.1)
    coarse = warming.forecast(readings, 80, thermometer_step_c=1)
    assert fine.high_s - fine.low_s < (coarse.high_s - coarse.low_s) / 2


def test_a_steady_heat_on_a_losing_jug_comes_no_earlier_than_told() -> None:
    """Heat balance C·dT/dt = P − loss·(T − room), integrated: the line is on the safe side."""
    from scipy.integrate import solve_ivp

    power, loss, heat = 300.0, 0.8, 2600.0
    solved = solve_ivp(
        lambda _, temp: (power - loss * (temp - 20)) / heat, (0, 3000), [55.0], dense_output=True
    )
    readings = [(t, float(solved.sol(t)[0])) for t in (0.0, 60.0, 120.0)]
    told = warming.forecast(readings, 90).eta_s
    assert float(solved.sol(told)[0]) < 90
    assert float(solved.sol(told)[0]) == pytest.approx(90, abs=2)
