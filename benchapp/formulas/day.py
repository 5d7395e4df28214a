"""A time of day on a day, in the maker's own time zone, as a moment; and quiet hours.

Zones are those of the IANA time zone database, by the names that it publishes, in capitals or not:
what a system keeps beside them (``posixrules``, ``localtime``, ``right/…``) and ``Factory``, which
stands for none, a phone does not know, and what a browser's library knows besides (``BST``,
``SystemV/…``) this machine does not. A time that the clocks skip counts as if
they had not been put forward yet (02:30 becomes 03:30); of one that comes twice the first is meant.
Both are what ECMA-262 says of local time, and what PEP 495 says of ``fold=0``.
"""

from datetime import date, datetime, time
from functools import cache
from importlib import resources
from zoneinfo import ZoneInfo

from benchapp.formulas import checks
from benchapp.formulas.cure import ready
from benchapp.words import InputError, message

DAY_MINUTES = 24 * 60
FIRST_YEAR = 1973
FIRST_MS = 94_780_800_000
LAST_MS = 32_503_507_200_000
"""The moments that are told: the days beside them are of the years 1973 to 2999 everywhere."""


def instant(day: date | str, minute: int, zone: str) -> int:
    """Milliseconds since 1970 of a time of day.

    Args:
        day: a date, or text such as '2026-11-25'; the years 1973 to 2999.
        minute: minutes since midnight by the clock on the wall, 0 to 1439.
        zone: such as 'Europe/Lisbon'.

    Raises:
        InputError: no such day or zone, or a minute out of that range.
    """
    there = ready(day, 0)
    whole = checks.whole(minute, message("The time of day"), 0, DAY_MINUTES - 1, "minute")
    if there.year < FIRST_YEAR:
        raise InputError("“{day}” is too long ago.", day=there, about="day")
    local = datetime.combine(there, time(whole // 60, whole % 60), _zone(zone))
    return round(local.timestamp()) * 1000


def day_of(at_ms: int, zone: str) -> date:
    """The calendar day in a zone.

    Args:
        at_ms: milliseconds since 1970, from the year 1973 to 2999.

    Raises:
        InputError: no such zone, or a moment out of that range.
    """
    return _local(at_ms, zone).date()


def after_quiet(at_ms: int, quiet_from: int, quiet_to: int, zone: str) -> int:
    """``at_ms`` itself, or the end of the quiet hours that it falls into.

    Args:
        at_ms: milliseconds since 1970, from the year 1973 to 2999.
        quiet_from: minutes since midnight, 0 to 1439, from which on it is quiet.
        quiet_to: the same, until which it is; the next day where that is earlier. Equal: never
            quiet.

    Raises:
        InputError: no such zone, or a number out of its range.
    """
    begin = checks.whole(quiet_from, message("Quiet from"), 0, DAY_MINUTES - 1, "quiet_from")
    end = checks.whole(quiet_to, message("Quiet until"), 0, DAY_MINUTES - 1, "quiet_to")
    local = _local(at_ms, zone)
    minute = local.hour * 60 + local.minute
    over_midnight = begin > end
    quiet = minute >= begin or minute < end if over_midnight else begin <= minute < end
    if not quiet:
        return at_ms
    tomorrow = 1 if over_midnight and minute >= begin else 0
    # Where that time of day comes twice, the first one may be over already.
    return max(at_ms, instant(ready(local.date(), tomorrow), end, zone))


def _local(at_ms: int, zone: str) -> datetime:
    is_number = isinstance(at_ms, int | float) and not isinstance(at_ms, bool)
    if not is_number or not FIRST_MS <= at_ms <= LAST_MS:
        raise InputError("The moment must be from the year 1973 to 2999.", about="at_ms")
    return datetime.fromtimestamp(at_ms // 1000, _zone(zone))


def _zone(zone: str) -> ZoneInfo:
    try:
        typed = str(zone)
        if not typed.isascii():
            raise LookupError
        return ZoneInfo(_names()[typed.lower()])
    except (OSError, ValueError, LookupError):
        raise InputError(
            "“{typed}” is not a time zone: write it as Europe/Lisbon.", typed=zone, about="zone"
        ) from None


@cache
def _names() -> dict[str, str]:
    """The names of the IANA database as it spells them, by their small letters."""
    published = resources.files("tzdata").joinpath("zones").read_text(encoding="ascii").split()
    return {name.lower(): name for name in published if name != "Factory"}
