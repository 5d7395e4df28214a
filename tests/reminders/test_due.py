"""When a batch reminds: worked out by hand, and what must hold of every pour."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.reminders import due
from benchapp.reminders.due import Reminder, Settings

SHEET = {"title": "Wet slate", "count": 12, "vessel": {"name": "tin 120"}}
CURES = {"cure_least_days": 7, "cure_best_days": 14}
LISBON = Settings("Europe/Lisbon")
DAYS = st.dates(date(2020, 1, 1), date(2036, 12, 31))
ZONES = st.sampled_from(
    ["Europe/Lisbon", "America/St_Johns", "Australia/Lord_Howe", "Pacific/Apia", "Asia/Kathmandu"]
)

Json = Any


def happened(*events: dict[str, Any]) -> list[dict[str, Any]]:
    """Events with ids in their order."""
    return [
        {"id": f"{1_764_070_400_000 + n:015d}.0000.a", "at": 1_764_070_400_000 + n, **event}
        for n, event in enumerate(events)
    ]


def poured(on: str | date) -> dict[str, Any]:
    return {"type": "set", "on": str(on)}


def of(
    *events: dict[str, Any], sheet: Json = CURES, hers: Settings = LISBON
) -> dict[str, Reminder]:
    found = due.reminders_of({"sheet": SHEET | sheet}, happened(*events), hers)
    return {each.kind: each for each in found}


def ms(text: str) -> int:
    return round(datetime.fromisoformat(text).timestamp() * 1000)


# ---- by hand -----------------------------------------------------------------------------------


def test_a_batch_of_a_usual_wax() -> None:
    """Counted on a calendar; Lisbon keeps UTC in winter."""
    assert {kind: each.day for kind, each in of(poured("2026-11-25")).items()} == {
        "trim": "2026-11-26",
        "label": "2026-11-27",
        "cured": "2026-12-02",
        "best": "2026-12-09",
        "burn": "2026-12-10",
    }
    assert of(poured("2026-11-25"))["cured"].at_ms == ms("2026-12-02T09:00Z")


def test_over_the_change_of_the_clocks_it_stays_nine_in_the_morning() -> None:
    """Directive 2000/84/EC: clocks go forward on 29 March 2026 at 01:00 UTC."""
    found = of(poured("2026-03-27"))
    assert found["trim"].at_ms == ms("2026-03-28T09:00Z")
    assert found["label"].at_ms == ms("2026-03-29T08:00Z")


def test_leap_days_and_month_ends() -> None:
    assert of(poured("2028-02-28"))["trim"].day == "2028-02-29"
    assert of(poured("2027-02-28"))["trim"].day == "2027-03-01"
    assert of(poured("2026-12-31"))["cured"].day == "2027-01-07"


def test_what_the_recipe_or_wax_has_changed() -> None:
    sheet = {"trim_days": 2, "label_days": 5, "cure_least_days": 3, "cure_best_days": 3}
    found = of(poured("2026-11-25"), sheet=sheet)
    assert {kind: each.day[8:] for kind, each in found.items()} == {
        **{"trim": "27", "label": "30", "cured": "28", "burn": "29"}
    }
    assert "burn" not in of(poured("2026-11-25"), sheet=sheet | {"burn_days": None})
    assert of(poured("2026-11-25"), sheet=sheet | {"burn_days": 10})["burn"].day == "2026-12-05"


def test_what_can_not_be_reckoned_is_left_out() -> None:
    wild = {"trim_days": -1, "label_days": 2.5, "cure_least_days": 400, "cure_best_days": 365}
    assert set(of(poured("2026-11-25"), sheet=wild)) == {"best"}
    assert of(poured("0001-01-01")) == {}
    assert due.reminders_of({}, happened(poured("2026-11-25")), LISBON) != []


def test_nothing_before_it_is_set_aside_nor_once_it_is_deleted() -> None:
    assert of({"type": "ready"}) == {}
    undone = {"type": "undone", "event": happened(poured("2026-11-25"))[0]["id"]}
    assert of(poured("2026-11-25"), undone) == {}
    deleted = {"sheet": SHEET | CURES, "deleted": True}
    assert due.reminders_of(deleted, happened(poured("2026-11-25")), LISBON) == []


def test_a_corrected_date_moves_them_and_what_was_done_on_the_wrong_one() -> None:
    first = happened(poured("2026-11-25"))[0]["id"]
    right = {"type": "corrected", "event": first, "field": "on", "value": "2026-11-20"}
    later = right | {"value": "2026-11-28"}
    done = {"type": "seen_to", "reminder": "cured", "on": "2026-12-02"}
    assert of(poured("2026-11-25"), right)["cured"].day == "2026-11-27"
    assert of(poured("2026-11-25"), done)["cured"].done
    assert of(poured("2026-11-25"), done, right)["cured"].done
    # What is cured only on the 5th was not seen to on the 2nd.
    assert not of(poured("2026-11-25"), done, later)["cured"].done


def test_trimming_ends_both_and_a_burn_ends_the_test_burn() -> None:
    trimmed = of(poured("2026-11-25"), {"type": "finished"})
    assert trimmed["trim"].done
    assert trimmed["label"].done
    assert not trimmed["cured"].done
    # Put away with a box that was not ticked: that one is still to do.
    away = {"type": "finished", "trimmed": "yes", "labelled": "no"}
    found = of(poured("2026-11-25"), away)
    assert (found["trim"].done, found["label"].done) == (True, False)
    seen = {"type": "seen_to", "reminder": "label", "on": "2026-11-27"}
    assert of(poured("2026-11-25"), away, seen)["label"].done
    burned = {"type": "burned", "next_on": "2026-12-14"}
    found = of(poured("2026-11-25"), burned)
    assert found["burn"].done
    assert (found["reburn"].day, found["reburn"].done) == ("2026-12-14", False)
    assert "reburn" not in of(poured("2026-11-25"), burned, {"type": "burned"})


def test_put_off_it_comes_later_and_only_then() -> None:
    off = {"type": "put_off", "reminder": "cured", "on": "2026-12-02", "until": "2026-12-03"}
    found = of(poured("2026-11-25"), off)["cured"]
    assert (found.day, found.on, found.at_ms) == (
        "2026-12-02",
        "2026-12-03",
        ms("2026-12-03T09:00Z"),
    )
    assert of(poured("2026-12-25"), off)["cured"].on == "2027-01-01"


def test_her_time_of_day_her_quiet_hours_and_what_she_does_not_want() -> None:
    early = due.settings_of({"remind_at": 360, "remind_trim": "no"}, "Europe/Lisbon")
    found = of(poured("2026-11-25"), hers=early)
    assert set(found) == {"cured", "best", "burn"}
    # Six in the morning is within the quiet hours: it waits for eight.
    assert found["cured"].at_ms == ms("2026-12-02T08:00Z")
    away = due.settings_of({"time_zone": "Asia/Tokyo"}, "Europe/Lisbon")
    assert of(poured("2026-11-25"), hers=away)["cured"].at_ms == ms("2026-12-02T00:00Z")


def test_the_later_one_of_an_errand_speaks_for_the_earlier() -> None:
    found = list(of(poured("2026-11-25"), {"type": "finished"}).values())
    names = [
        [each.kind for each in due.due(found, ms(f"{day}T12:00Z"))]
        for day in ("2026-12-01", "2026-12-02", "2026-12-09", "2026-12-10", "2027-01-30")
    ]
    assert names == [[], ["cured"], ["best"], ["best", "burn"], []]
    untrimmed = list(of(poured("2026-11-25")).values())
    assert [each.kind for each in due.due(untrimmed, ms("2027-06-01T12:00Z"))] == ["label"]
    assert [each.kind for each in due.coming(found, ms("2026-12-05T12:00Z"))] == ["best", "burn"]


def test_who_has_seen_to_the_later_one_has_seen_to_the_earlier() -> None:
    best = {"type": "seen_to", "reminder": "best", "on": "2026-12-09"}
    found = of(poured("2026-11-25"), best)
    assert (found["cured"].done, found["best"].done, found["burn"].done) == (True, True, False)
    cured = {"type": "seen_to", "reminder": "cured", "on": "2026-12-02"}
    assert not of(poured("2026-11-25"), cured)["best"].done


def test_in_words() -> None:
    name = due.name_of({"sheet": SHEET})
    assert name == "Wet slate, 12 × tin 120"
    now = ms("2026-12-02T23:30Z")
    assert due.headline(name, "cured", "2026-12-02", now, "Europe/Lisbon") == f"{name}: cured today"
    late = due.headline(name, "best", "2026-12-02", now, "Asia/Tokyo")
    assert late == f"{name}: fully cured since Wed 2 Dec"
    assert due.headline(name, "trim", "2026-12-02", now, "Asia/Tokyo") == f"{name}: ready to trim"


# ---- of every pour -----------------------------------------------------------------------------


@given(DAYS, ZONES, st.integers(0, 1439), st.integers(0, 1439), st.integers(0, 1439))
def test_it_comes_at_her_time_of_day_or_at_the_end_of_her_quiet_hours(
    on: date, zone: str, at: int, begin: int, end: int
) -> None:
    hers = Settings(zone, at, begin, end)
    for each in of(poured(on), hers=hers).values():
        there = datetime.fromtimestamp(each.at_ms / 1000, UTC).astimezone(ZoneInfo(zone))
        minute = there.hour * 60 + there.minute
        assert 0 <= (there.date() - date.fromisoformat(each.day)).days <= 2
        skipped = (there - timedelta(days=1)).utcoffset() != there.utcoffset()
        assert minute in (at, end) or skipped


@given(DAYS, st.lists(ZONES, min_size=2, max_size=2))
def test_in_another_zone_it_comes_on_the_same_day_of_the_calendar(
    on: date, zones: list[str]
) -> None:
    here, there = (of(poured(on), hers=Settings(zone)) for zone in zones)
    assert {k: each.day for k, each in here.items()} == {k: each.day for k, each in there.items()}
    # No two zones are further apart than 26 hours.
    assert all(abs(here[kind].at_ms - there[kind].at_ms) <= 26 * 3_600_000 for kind in here)


@given(DAYS, st.integers(0, 60))
def test_done_for_good_and_put_off_never_earlier(on: date, days: int) -> None:
    day = of(poured(on))["cured"].day
    until = str(date.fromisoformat(day) + timedelta(days=days - 30))
    off = {"type": "put_off", "reminder": "cured", "on": day, "until": until}
    assert of(poured(on), off)["cured"].on == max(day, until)
    done = {"type": "seen_to", "reminder": "cured", "on": day}
    assert of(poured(on), done, off)["cured"].done
    assert of(poured(on), off, done)["cured"].done


@pytest.mark.parametrize("kind", due.SAYS)
def test_every_reminder_has_its_words(kind: str) -> None:
    assert due.SAYS[kind]
    assert len(due.TELLS[kind]) < 100
