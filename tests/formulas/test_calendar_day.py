"""Days before and after a day, held to Python's own calendar."""

from datetime import date, timedelta

import pytest
from hypothesis import strategies as st
from playwright.sync_api import Page

from tests.formulas.test_twin import drawn
from tests.formulas.twin import InBrowser

DAYS = st.dates(date(1900, 1, 1), date(2200, 12, 31))


@pytest.fixture(scope="session")
def calendar_day(twin: Page) -> InBrowser:
    return InBrowser(twin, "calendar_day")


def test_days_are_counted_as_python_counts_them(calendar_day: InBrowser) -> None:
    asked = drawn(st.tuples(DAYS, st.integers(-20_000, 20_000)), 300)
    found = calendar_day.each("dayPlus", [(str(day), days) for day, days in asked])
    assert found == [str(day + timedelta(days=days)) for day, days in asked]
    back = [(str(day), text) for (day, _), text in zip(asked, found, strict=True)]
    assert calendar_day.each("daysBetween", back) == [days for _, days in asked]


@pytest.mark.parametrize(
    ("day", "days"),
    [("2026-02-30", 1), ("30.11.2026", 1), ("2026-11-30", 1.5), ("2026-11-30", 1e9)],
)
def test_what_is_no_day_is_said(calendar_day: InBrowser, day: str, days: float) -> None:
    (answer,) = calendar_day.answers("dayPlus", [(day, days)])
    assert answer["error"]
