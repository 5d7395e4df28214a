"""The day of cure against Python's own calendar."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.formulas import cure

DAY = st.dates(date(1990, 1, 1), date(2200, 12, 31))


@given(DAY, st.integers(0, 365))
def test_ready_is_so_many_days_later(poured: date, days: int) -> None:
    assert cure.ready(poured, days) == poured + timedelta(days=days)
    assert cure.ready(str(poured), days) == poured + timedelta(days=days)


@given(DAY, st.integers(0, 365), DAY)
def test_days_left_count_down_to_nothing(poured: date, days: int, today: date) -> None:
    left = cure.days_left(str(poured), days, str(today))
    assert today + timedelta(days=left) == cure.ready(poured, days)


@pytest.mark.parametrize(
    ("poured", "days", "ready"),
    [
        ("2026-11-25", 14, "2026-12-09"),
        ("2026-12-31", 1, "2027-01-01"),
        ("2026-01-31", 30, "2026-03-02"),
        ("2027-02-28", 1, "2027-03-01"),
        ("2028-02-28", 1, "2028-02-29"),
        ("2028-02-29", 365, "2029-02-28"),
        ("2100-02-28", 1, "2100-03-01"),
        ("2026-03-28", 2, "2026-03-30"),
    ],
)
def test_leap_days_month_ends_and_clock_changes(poured: str, days: int, ready: str) -> None:
    """Counted on a calendar by hand; summer time begins in Europe on 29 March 2026."""
    assert str(cure.ready(poured, days)) == ready
