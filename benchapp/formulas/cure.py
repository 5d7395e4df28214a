"""When a poured batch is cured."""

from datetime import date, timedelta

from . import checks

LONGEST_DAYS = 365


def ready(poured_on: date | str, days: int) -> date:
    """The day on which a batch poured on ``poured_on`` has cured for ``days`` whole days.

    Args:
        poured_on: a date, or ISO 8601 text such as '2026-11-25', in the maker's own time zone.
        days: 0 to 365.

    Raises:
        ValueError: not a date, or days that are not a whole number in that range.
    """
    whole = checks.whole(days, "The days of cure", 0, LONGEST_DAYS)
    if isinstance(poured_on, str):
        try:
            poured_on = date.fromisoformat(poured_on)
        except ValueError:
            raise ValueError(f"“{poured_on}” is not a date: write it as 2026-11-25.") from None
    return poured_on + timedelta(days=whole)


def days_left(poured_on: date | str, days: int, today: date | str) -> int:
    """Whole days from ``today`` until the batch is ready; 0 on the day, negative after it."""
    return (ready(poured_on, days) - ready(today, 0)).days
