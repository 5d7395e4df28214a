"""Clocks, against each other and against what phones sent."""

import pytest

from benchapp.commands.checks import clocks
from benchapp.commands.checks.finding import Finding
from tests.commands.workshop import HOUR_MS, NOW_MS
from tests.reminders.conftest import ms


def test_the_clock() -> None:
    assert clocks.clock(NOW_MS) == Finding(
        "ok", "clock", "This machine's clock says 2026-11-25 12:00 UTC."
    )
    assert clocks.clock(ms("2024-12-31T23:59")).state == "bad"
    assert clocks.clock(0).state == "bad"


@pytest.mark.parametrize(
    ("ahead_ms", "state"), [(-HOUR_MS, "ok"), (600_000, "ok"), (600_001, "bad"), (HOUR_MS, "bad")]
)
def test_the_clock_against_what_phones_sent(ahead_ms: int, state: str) -> None:
    found = clocks.newest_change(NOW_MS, NOW_MS + ahead_ms)
    assert found.state == state
    assert ("Set the clock" in found.says) is (state == "bad")
    assert clocks.newest_change(NOW_MS, 0).state == "ok"


def test_the_clock_against_the_databases() -> None:
    assert clocks.database_clock(NOW_MS, NOW_MS - 60_000).state == "ok"
    found = clocks.database_clock(NOW_MS, NOW_MS + 3 * HOUR_MS)
    assert found.state == "look"
    assert "3 hours away" in found.says
