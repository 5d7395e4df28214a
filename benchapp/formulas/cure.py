"""When a poured batch is cured."""

import re
from datetime import date, timedelta

from benchapp.formulas import checks
from benchapp.words import InputError, message

LONGEST_DAYS = 365


def ready(poured_on: date | str, days: int) -> date:
    """The day on which a batch poured on ``poured_on`` has cured for ``days`` whole days.

    Args:
        poured_on: a date, or text such as '2026-11-25', in the maker's own time zone; the years
            1000 to 2999.
        days: 0 to 365.

    Raises:
        InputError: not a date, or days that are not a whole number in that range.
    """
    whole = checks.whole(days, message("The days of cure"), 0, LONGEST_DAYS, "days")
    return _day(poured_on, "poured_on") + timedelta(days=whole)


def days_left(poured_on: date | str, days: int, today: date | str) -> int:
    """Whole days from ``today`` until the batch is ready; 0 on the day, negative after it."""
    return (ready(poured_on, days) - _day(today, "today")).days


def _day(day: date | str, about: str) -> date:
    text = str(day)
    try:
        if not re.fullmatch(r"[12][0-9]{3}-[0-9]{2}-[0-9]{2}", text):
            raise ValueError
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(
            "“{typed}” is not a date: write it as 2026-11-25.", typed=text, about=about
        ) from None
