"""A time of day against Python's own calendar, and clock changes worked out by hand."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo, available_timezones

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.formulas import day

ZONES = st.sampled_from(sorted(available_timezones() - {"localtime", "Factory"}))
DAYS = st.dates(date(1973, 1, 1), date(2999, 12, 30))
MINUTES = st.integers(0, 1439)
MOMENTS = st.integers(day.FIRST_MS, day.LAST_MS)


def wall(at_ms: int, zone: str) -> datetime:
    return datetime.fromtimestamp(at_ms / 1000, UTC).astimezone(ZoneInfo(zone))


@pytest.mark.parametrize(
    "zone",
    [
        *("posixrules", "localtime", "Factory", "posix/Europe/Lisbon", "right/Europe/Lisbon"),
        *("zone.tab", "tzdata.zi", "iso3166.tab", "leapseconds", "BST", "SystemV/AST4ADT"),
        *("europe", "Europe/", "../Europe/Lisbon", "Europe/Lisbon\0", "Europe/\u212aiev", "\ud800"),
    ],
)
def test_what_no_phone_takes_for_a_zone_is_none(zone: str) -> None:
    """Some of them are files where systems keep their zones. The twins are asked the same."""
    with pytest.raises(ValueError, match="is not a time zone"):
        day.instant("2026-11-25", 540, zone)


def test_a_zone_may_be_written_in_small_letters() -> None:
    """ECMA-402 section 6.5.1: names are compared without regard to case."""
    for name in ("europe/LISBON", "utc", "america/argentina/buenos_aires"):
        assert day.instant("2026-11-25", 540, name) > 0


@given(DAYS, MINUTES, ZONES)
def test_the_clock_on_the_wall_shows_that_time_then_or_it_is_skipped(
    on: date, minute: int, zone: str
) -> None:
    shown = wall(day.instant(on, minute, zone), zone)
    meant = datetime(on.year, on.month, on.day, minute // 60, minute % 60)  # noqa: DTZ001
    late = shown.replace(tzinfo=None) - meant
    if late:
        # Skipped by the clocks: as much later as they were put forward, a day at the most.
        assert timedelta(0) < late <= timedelta(days=1)
        before = datetime.fromtimestamp(shown.timestamp() - 86_400, UTC).astimezone(ZoneInfo(zone))
        assert before.utcoffset() != shown.utcoffset()


@given(DAYS, MINUTES, ZONES)
def test_of_a_time_that_comes_twice_the_first_is_meant(on: date, minute: int, zone: str) -> None:
    at_ms = day.instant(on, minute, zone)
    earlier = [wall(at_ms - minutes * 60_000, zone) for minutes in (30, 60, 120)]
    shown = wall(at_ms, zone)
    assert all(each.replace(tzinfo=None) != shown.replace(tzinfo=None) for each in earlier)


@given(MOMENTS, MINUTES, MINUTES, ZONES)
def test_quiet_hours_only_put_off_and_end_outside_themselves(
    at_ms: int, begin: int, end: int, zone: str
) -> None:
    after = day.after_quiet(at_ms, begin, end, zone)
    assert 0 <= after - at_ms <= 50 * 3_600_000
    if after != at_ms:
        # Once is enough, except where the clocks go back over the end of the quiet hours.
        shown = wall(after, zone)
        assert day.day_of(after, zone) == shown.date()
        assert shown.hour * 60 + shown.minute >= end or shown.fold


@given(MOMENTS, MINUTES, ZONES)
def test_the_same_hour_twice_is_never_quiet(at_ms: int, minute: int, zone: str) -> None:
    assert day.after_quiet(at_ms, minute, minute, zone) == at_ms


@pytest.mark.parametrize(
    ("on", "minute", "zone", "utc"),
    [
        # Directive 2000/84/EC: summer time from the last Sunday of March to that of October, 01:00
        # UTC. So in London 01:30 is skipped on 29 March 2026 and comes twice on 25 October.
        ("2026-03-28", 540, "Europe/London", "2026-03-28T09:00"),
        ("2026-03-29", 540, "Europe/London", "2026-03-29T08:00"),
        ("2026-03-29", 90, "Europe/London", "2026-03-29T01:30"),
        ("2026-10-25", 90, "Europe/London", "2026-10-25T00:30"),
        ("2026-10-25", 120, "Europe/London", "2026-10-25T02:00"),
        # 15 U.S.C. 260a: from the second Sunday of March to the first of November, 2 a.m.
        ("2026-03-08", 150, "America/New_York", "2026-03-08T07:30"),
        ("2026-11-01", 90, "America/New_York", "2026-11-01T05:30"),
        # IANA time zone database, file australasia: Samoa skipped 30 December 2011.
        ("2011-12-30", 540, "Pacific/Apia", "2011-12-30T19:00"),
        ("2011-12-31", 540, "Pacific/Apia", "2011-12-30T19:00"),
        ("2028-02-29", 540, "Asia/Tokyo", "2028-02-29T00:00"),
    ],
)
def test_days_on_which_the_clocks_change(on: str, minute: int, zone: str, utc: str) -> None:
    at = datetime.fromtimestamp(day.instant(on, minute, zone) / 1000, UTC)
    assert at == datetime.fromisoformat(f"{utc}+00:00")


def test_a_reminder_in_the_night_waits_for_the_morning() -> None:
    def local(on: str, hour: int) -> int:
        return day.instant(on, hour * 60, "Europe/Lisbon")

    quiet = (21 * 60, 8 * 60, "Europe/Lisbon")
    assert day.after_quiet(local("2026-11-25", 20), *quiet) == local("2026-11-25", 20)
    assert day.after_quiet(local("2026-11-25", 21), *quiet) == local("2026-11-26", 8)
    assert day.after_quiet(local("2026-11-26", 3), *quiet) == local("2026-11-26", 8)
    assert day.after_quiet(local("2026-11-26", 8), *quiet) == local("2026-11-26", 8)
