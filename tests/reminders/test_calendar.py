"""The private calendar, in either database: what a program that reads it sees, held to vobject,
which had no part in writing it; and its addresses."""

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import vobject
from sqlalchemy import select

from benchapp.records import tables, workshops
from benchapp.reminders import calendar, planning
from tests.reminders.conftest import Json, Shop, sheet

ORIGIN = "https://bench.example.net"
NAME = "Wet slate, 12 × tin 120"
LISBON = ZoneInfo("Europe/Lisbon")


def feed(shop: Shop, *, reckoned: bool = True, workshop: str | None = None) -> bytes:
    with shop.database.write() as connection:
        while reckoned and planning.plan(connection, shop.now_ms):
            pass
    with shop.database.read(snapshot=True) as connection:
        return calendar.feed(connection, workshop or shop.id, ORIGIN, shop.now_ms)


def events(shop: Shop, **asked: Any) -> dict[str, Json]:
    """By UID, in the feed's order."""
    read = vobject.readOne(feed(shop, **asked).decode())
    return {each.uid.value: each for each in read.contents.get("vevent", [])}


def kinds(shop: Shop) -> list[str]:
    return [uid.partition(".")[0] for uid in events(shop)]


# ---- what is in it -----------------------------------------------------------------------------


def test_a_batch_in_the_calendar(shop: Shop) -> None:
    shop.pour("p1", "2026-11-25")
    found = events(shop)
    assert list(found) == [
        f"{kind}.p1@pour-bench.invalid" for kind in ("trim", "label", "cured", "best", "burn")
    ]
    cured = found["cured.p1@pour-bench.invalid"]
    assert cured.dtstart.value == datetime(2026, 12, 2, 9, tzinfo=LISBON)
    assert cured.dtend.value - cured.dtstart.value == timedelta(minutes=15)
    assert cured.summary.value == f"{NAME}: cured"
    assert cured.description.value == "You can burn it and sell it from today on."
    assert cured.url.value == f"{ORIGIN}/#/entry/p1"
    assert cured.dtstamp.value == datetime(2026, 11, 25, 12, tzinfo=UTC)
    assert cured.transp.value == "TRANSPARENT"
    assert cured.sequence.value == "1"
    alarm = cured.valarm
    assert (alarm.action.value, alarm.trigger.value) == ("DISPLAY", timedelta(0))
    assert alarm.description.value == f"{NAME}: cured"
    text = feed(shop).decode()
    head = vobject.readOne(text)
    assert [head.version.value, head.method.value] == ["2.0", "PUBLISH"]
    assert [head.contents[name][0].value for name in ("name", "x-wr-calname")] == ["Pour bench"] * 2
    # RFC 7986 section 5.7.
    assert "\r\nREFRESH-INTERVAL;VALUE=DURATION:PT6H\r\n" in text


def test_over_the_change_of_the_clocks(shop: Shop) -> None:
    """Directive 2000/84/EC: clocks go back on 25 October 2026 at 01:00 UTC."""
    shop.at("2026-10-23T12:00")
    shop.pour("p1", "2026-10-23")
    text = feed(shop).decode()
    assert "DTSTART:20261024T080000Z" in text
    assert "DTSTART:20261025T090000Z" in text
    starts = [each.dtstart.value.astimezone(LISBON) for each in events(shop).values()]
    assert {(start.hour, start.minute) for start in starts} == {(9, 0)}


NEVER = {"a\x1bb\u2028c\r\nd\x7fe\x85f": "a\ufffdb\nc\nd\ufffde\nf"}
"""What no calendar may hold, and what stands for it."""

ODD = (
    *("Fig, cedar; moss", r"C:\New\n\, \;", "one\ntwo", "Ü🕯" * 80, "a" * 200, " x ", "=3D=\t:"),
    *("\\" * 150, "\\N", ",", "\n"),
    *NEVER,
)


def test_odd_names_are_read_as_they_are(shop: Shop) -> None:
    for number, name in enumerate(ODD):
        shop.pour(f"p{number}", "2026-11-25", title=name)
    found = events(shop)
    for number, name in enumerate(ODD):
        cured = found[f"cured.p{number}@pour-bench.invalid"]
        assert cured.summary.value == f"{NEVER.get(name, name)}, 12 × tin 120: cured"
    *lines, rest = feed(shop).split(b"\r\n")
    assert rest == b""
    for line in lines:
        assert len(line) <= 75
        assert not re.search(rb"[\x00-\x08\x0a-\x1f\x7f]", line)
        assert line.decode()


def test_what_is_done_is_gone_and_what_is_long_past(shop: Shop) -> None:
    shop.pour("p1", "2026-11-25")
    shop.happens("p1", "seen_to", reminder="cured", on="2026-12-02")
    assert kinds(shop) == ["trim", "label", "best", "burn"]
    # 30 days after the best day, 9 December, and then a little more.
    shop.at("2027-01-08T09:00")
    assert kinds(shop) == ["trim", "label", "best", "burn"]
    shop.at("2027-01-08T09:01")
    assert kinds(shop) == ["trim", "label", "burn"]
    shop.at("2027-06-01T09:00")
    assert kinds(shop) == ["trim", "label"]
    shop.happens("p1", "finished")
    assert kinds(shop) == []


def test_an_empty_calendar_is_one_all_the_same(shop: Shop) -> None:
    read = vobject.readOne(feed(shop).decode())
    # RFC 5545 section 3.6: at least one component.
    assert [each.name for each in read.components()] == ["VTIMEZONE"]
    shop.pour("p1", "2026-11-25")
    shop.keep("pour", "p1", deleted=True)
    assert events(shop) == {}


def test_what_is_wanted_stands_on_its_day_and_on_the_day_that_she_pours(shop: Shop) -> None:
    waxes = [{"wax": "x1", "share": 1.0}]
    shop.keep("recipe", "r1", name="Wet slate", vessel="v1", waxes=waxes, load=0.08)
    wanted = {"name": "Harbour; market", "recipe": "r1", "count": 24, "by": "2026-12-20"}
    shop.keep("wanted", "w1", **wanted, done="no")
    shop.keep("wanted", "w2", **{**wanted, "recipe": "gone", "by": "2026-12-01"}, done="no")
    shop.keep("wanted", "w3", **wanted, done="yes")
    found = events(shop)
    assert list(found) == ["wanted.w2@pour-bench.invalid", "wanted.w1@pour-bench.invalid"]
    market = found["wanted.w1@pour-bench.invalid"]
    # RFC 5545 section 3.6.1: of a date, it lasts for that day.
    assert (market.dtstart.value, "dtend" in market.contents) == (date(2026, 12, 20), False)
    assert market.summary.value == "Harbour; market: 24 × Wet slate wanted"
    assert market.url.value == f"{ORIGIN}/#/wanted/w1"
    assert market.sequence.value == "1"
    assert found["wanted.w2@pour-bench.invalid"].summary.value == "Harbour; market: 24 wanted"
    # She says when she pours them, and it is moved: the number grows.
    shop.keep("wanted", "w1", pour_on="2026-12-05", by="2026-12-21")
    found = events(shop)
    assert found["pour-on.w1@pour-bench.invalid"].dtstart.value == date(2026, 12, 5)
    assert (
        found["pour-on.w1@pour-bench.invalid"].summary.value
        == "Harbour; market: pour 24 × Wet slate"
    )
    assert found["wanted.w1@pour-bench.invalid"].dtstart.value == date(2026, 12, 21)
    assert found["wanted.w1@pour-bench.invalid"].sequence.value == "3"
    shop.keep("wanted", "w1", done="yes")
    shop.keep("wanted", "w2", deleted=True)
    assert events(shop) == {}
    # Long over, it is told no more.
    shop.keep("wanted", "w4", **wanted, done="no")
    shop.at("2027-01-19T09:00")
    assert list(events(shop)) == ["wanted.w4@pour-bench.invalid"]
    shop.at("2027-01-20T09:00")
    assert events(shop) == {}


def test_no_workshop_reads_anothers(shop: Shop) -> None:
    shop.pour("p1", "2026-11-25")
    with shop.database.write() as connection:
        other = workshops.make_workshop(connection, "Second", shop.now_ms)["id"]
    assert len(events(shop)) == 5
    assert events(shop, workshop=other) == {}


# ---- what moves --------------------------------------------------------------------------------


def test_what_moves_keeps_its_name_and_gets_a_higher_number(shop: Shop) -> None:
    poured = shop.pour("p1", "2026-11-25")
    shop.pour("p2", "2026-11-25")

    def cured(pour: str = "p1") -> tuple[str, int]:
        found = events(shop)[f"cured.{pour}@pour-bench.invalid"]
        return f"{found.dtstart.value:%m-%dT%H:%M}", int(found.sequence.value)

    told = [cured()]
    shop.happens("p1", "noted", text="a draught")
    told.append(cured())
    shop.happens("p1", "corrected", event=poured, field="on", value="2026-11-20")
    told.append(cured())
    shop.happens("p1", "put_off", reminder="cured", on="2026-11-27", until="2026-11-30")
    told.append(cured())
    shop.keep("workshop", "workshop", remind_at=600, room_c=21)
    told.append(cured())
    shop.keep("workshop", "workshop", remind_at=660)
    told.append(cured())
    shop.in_zone("Asia/Tokyo")
    told.append(cured())
    assert told == [
        *[("12-02T09:00", 1), ("12-02T09:00", 1), ("11-27T09:00", 2), ("11-30T09:00", 3)],
        *[("11-30T10:00", 4), ("11-30T11:00", 5), ("11-30T02:00", 6)],
    ]
    # Of another pour only the settings have changed.
    assert cured("p2") == ("12-02T02:00", 4)


def test_what_is_told_before_it_is_reckoned_is_outdone_by_a_later_stamp(shop: Shop) -> None:
    poured = shop.pour("p1", "2026-11-25")
    events(shop)
    shop.happens("p1", "corrected", event=poured, field="on", value="2026-11-26")
    shop.now_ms += 1000
    early = events(shop, reckoned=False)["trim.p1@pour-bench.invalid"]
    shop.now_ms += 1000
    late = events(shop)["trim.p1@pour-bench.invalid"]
    assert early.dtstart.value < late.dtstart.value
    assert early.sequence.value == late.sequence.value
    assert early.dtstamp.value < late.dtstamp.value


def test_a_version_is_of_what_it_says_not_of_when(shop: Shop) -> None:
    shop.pour("p1", "2026-11-25")
    before = calendar.version_of(feed(shop))
    shop.now_ms += 60_000
    assert calendar.version_of(feed(shop)) == before
    shop.happens("p1", "finished")
    assert calendar.version_of(feed(shop)) != before


def test_more_batches_than_one_question_asks_for(shop: Shop, monkeypatch: Any) -> None:
    monkeypatch.setattr(calendar, "_AT_ONCE", 2)
    for number in range(5):
        shop.pour(f"p{number}", "2026-11-25")
        shop.keep("pour", f"p{number}", sheet=sheet(title=f"Batch {number}"))
    found = events(shop)
    assert len(found) == 25
    assert {each.sequence.value for each in found.values()} == {"1"}
    assert list(found)[:2] == ["trim.p0@pour-bench.invalid", "trim.p1@pour-bench.invalid"]


# ---- the addresses -----------------------------------------------------------------------------


def make(shop: Shop, workshop: str | None = None) -> tuple[str, str]:
    with shop.database.write() as connection:
        return calendar.make_address(connection, workshop or shop.id, shop.now_ms)


def opens(shop: Shop, token: str) -> str | None:
    with shop.database.read() as connection:
        reader = calendar.reader_of(connection, token)
    return reader and reader.workshop_id


def test_an_address_opens_its_own_workshop_until_it_is_closed(shop: Shop) -> None:
    id_, token = make(shop)
    assert re.fullmatch(r"[\w-]{43}", token)
    assert opens(shop, token) == shop.id
    for wrong in ("", token[:-1], token.swapcase(), id_, "é\ud800"):
        assert opens(shop, wrong) is None
    with shop.database.write() as connection:
        assert [each.id for each in calendar.addresses(connection, shop.id)] == [id_]
        other = workshops.make_workshop(connection, "Second", shop.now_ms)["id"]
        assert not calendar.revoke(connection, other, id_, shop.now_ms)
        assert calendar.revoke(connection, shop.id, id_, shop.now_ms)
        assert not calendar.revoke(connection, shop.id, id_, shop.now_ms)
        assert calendar.addresses(connection, shop.id) == []
    assert opens(shop, token) is None


def test_the_token_is_kept_nowhere(shop: Shop) -> None:
    _, token = make(shop)
    with shop.database.read() as connection:
        kept = [
            str(value)
            for table in tables.metadata.sorted_tables
            for row in connection.execute(select(table))
            for value in row
        ]
    assert len(kept) > 5
    assert not any(token in value for value in kept)


def test_five_are_open_at_most_and_a_closed_one_makes_room(shop: Shop) -> None:
    ids = [make(shop)[0] for _ in range(calendar.MOST_ADDRESSES)]
    with pytest.raises(ValueError, match="There are 5 calendar addresses already"):
        make(shop)
    with shop.database.write() as connection:
        other = workshops.make_workshop(connection, "Second", shop.now_ms)["id"]
        calendar.revoke(connection, shop.id, ids[0], shop.now_ms)
    make(shop, other)
    make(shop)
    # Closed ones stay closed, whatever a backup says.
    assert len(shop.rows(tables.calendar)) == 7


def test_of_many_made_at_once_five_are_open(shop: Shop) -> None:
    def attempt(_: int) -> bool:
        try:
            make(shop)
        except ValueError:
            return False
        return True

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(attempt, range(16))) == calendar.MOST_ADDRESSES


def test_when_it_was_read_is_written_once_an_hour(shop: Shop) -> None:
    _, token = make(shop)
    with shop.database.write() as connection:
        fresh = calendar.reader_of(connection, token)
        calendar.mark_read(connection, token, shop.now_ms)
        read = calendar.reader_of(connection, token)
        [address] = calendar.addresses(connection, shop.id)
    assert fresh is not None
    assert read is not None
    assert address.read_ms == shop.now_ms
    assert calendar.is_read_due(fresh, shop.now_ms)
    # The last one: the server's clock was set back.
    after_ms = (0, 3_599_999, 3_600_000, -3_600_000)
    due = [calendar.is_read_due(read, shop.now_ms + each) for each in after_ms]
    assert due == [False, False, True, True]
