"""The calendar file that a phone makes: read with two libraries that had no part in writing it, and
held to the feed that the server makes of the same."""

import json
import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from sqlalchemy import insert

from benchapp.records import tables, workshops
from benchapp.records.database import Database
from benchapp.reminders import calendar, due
from tests.bench.conftest import Bench, Json, asked, fields_of
from tests.bench.test_due import pours

NOW = 1_795_600_000_000
SIGNS = st.sampled_from([*",;:\\nN\"'^=\n\t üß×é‘’中🕯", "👩\u200d👧", "e\u0301", "\\n", "\\,"])
LETTERS = st.characters(exclude_categories=["Cc", "Cs"], exclude_characters="\u2028\u2029")
NAMES = st.builds(
    lambda signs, times: ("".join(signs) * times)[:200],
    st.lists(SIGNS | LETTERS, max_size=30),
    st.integers(1, 40),
)
"""Odd names of up to 200 characters, many of them long."""

IN_THE_PAGE = """const whole = b.sheetOf(g.asked);
return g.pours.map(({id, name, sheet, events, zone, workshop, stored}) => {
  const {trim_days, label_days, cure_least_days, cure_best_days, burn_days, ...rest} = whole;
  const vessel = {...rest.vessel, name: 'tin 120'};
  const sizes = [{...whole.sizes[0], name: 'tin 120', count: 12}];
  const own = {...rest, ...sheet, title: name, count: 12, vessel, sizes};
  const pour = {id, sheet: own, state: b.fold(own, events), events};
  return b.calendarOf(pour, b.dues.settingsOf(workshop, zone), stored ?? undefined, g.now);
});"""


@st.composite
def kept_pours(draw: st.DrawFn) -> Json:
    """A pour as in the tests of what falls due, with a name, and with her settings as often changed
    as may be."""
    pour = draw(pours())
    fields = {
        name: {
            "value": value,
            "stamp": stamp(99),
            "past": [{"value": None, "stamp": stamp(n)} for n in range(draw(st.integers(0, 3)))],
        }
        for name, value in pour["workshop"].items()
    }
    stored = {"kind": "workshop", "id": "workshop", "fields": fields}
    id_ = draw(st.from_regex(r"[A-Za-z0-9._-]{1,64}", fullmatch=True))
    return pour | {"id": id_, "name": draw(NAMES), "stored": stored if fields else None}


def stamp(n: int) -> str:
    return f"{1_764_070_400_000 + n:015d}.0000.a"


def files_of(bench: Bench, cases: list[Json]) -> list[str | None]:
    slate = asked(fields_of("demo-recipe-slate"))
    found: list[str | None] = bench.ask(IN_THE_PAGE, {"asked": slate, "pours": cases, "now": NOW})
    return found


@pytest.fixture(scope="module")
def cases() -> list[Json]:
    found: list[Json] = []

    @settings(max_examples=250, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
    @given(kept_pours())
    def gather(pour: Json) -> None:
        found.append(pour)

    gather()
    return found


@pytest.fixture(scope="module")
def files(bench: Bench, cases: list[Json]) -> list[tuple[Json, str]]:
    """Each pour that reminds of anything, with its file."""
    made = zip(cases, files_of(bench, cases), strict=True)
    found = [(pour, file) for pour, file in made if file is not None]
    assert len(found) > 50
    return found


def name_of(pour: Json) -> str:
    return f"{pour['name']}, 12 × tin 120"


def waiting(pour: Json) -> list[due.Reminder]:
    hers = due.settings_of(pour["workshop"], pour["zone"])
    found = due.reminders_of({"sheet": pour["sheet"]}, pour["events"], hers)
    return [each for each in found if not each.done]


def events_in(text: str) -> dict[str, Json]:
    """What vobject reads: by UID, what each event says."""
    read = vobject.readOne(text)
    return {
        each.uid.value: {
            "sequence": int(each.sequence.value),
            "start": each.dtstart.value.astimezone(UTC),
            "end": each.dtend.value.astimezone(UTC),
            "summary": each.summary.value,
            "description": each.description.value,
            "transp": each.transp.value,
            "alarm": (
                each.valarm.action.value,
                each.valarm.trigger.value,
                each.valarm.description.value,
            ),
        }
        for each in read.contents.get("vevent", [])
    }


# ---- as it is written --------------------------------------------------------------------------


def test_the_lines_are_those_of_rfc_5545(files: list[tuple[Json, str]]) -> None:
    """Section 3.1: CRLF after each line, at most 75 octets before it, no character split."""
    folds = 0
    for _, text in files:
        *lines, rest = text.encode().split(b"\r\n")
        assert rest == b""
        assert (lines[0], lines[-1]) == (b"BEGIN:VCALENDAR", b"END:VCALENDAR")
        for line in lines:
            assert 0 < len(line) <= 75
            assert not re.search(rb"[\x00-\x08\x0a-\x1f\x7f]", line)
            assert line.decode()
            # Nor an escape: an odd number of backslashes would end in the middle of one.
            assert not re.search(rb"(?<!\\)\\(\\\\)*$", line)
            folds += line.startswith(b" ")
    assert folds > 100


@pytest.mark.parametrize("before", range(70, 78))
def test_a_line_is_folded_where_it_must_be_and_no_earlier(bench: Bench, before: int) -> None:
    name = "a" * (before - len("SUMMARY:")) + "🕯z"
    [text] = files_of(bench, [plain(name=name)])
    first = next(line for line in str(text).split("\r\n") if line.startswith("SUMMARY:"))
    octets = len(first.encode())
    assert octets == (before if 71 < before <= 75 else 75)
    assert first.endswith("🕯") is (before == 71)


def test_what_no_calendar_may_hold_is_replaced(bench: Bench) -> None:
    [text] = files_of(bench, [plain(name="a\x00b\x1bc\x85d\u2028e\r\nf\rg\ud83dh\x7fi\x0bj\tk")])
    name = "a\ufffdb\ufffdc\nd\ne\nf\ng\ufffdh\ufffdi\nj\tk, 12 × tin 120"
    assert {each["summary"].partition(": ")[0] for each in events_in(str(text)).values()} == {name}


# ---- as it is read -----------------------------------------------------------------------------


def test_vobject_reads_all_that_is_not_done(files: list[tuple[Json, str]]) -> None:
    for pour, text in files:
        summaries = {each.kind: f"{name_of(pour)}: {due.SAYS[each.kind]}" for each in waiting(pour)}
        assert events_in(text) == {
            f"{each.kind}.{pour['id']}@pour-bench.invalid": {
                "sequence": sequence_of(pour),
                "start": at(each.at_ms),
                "end": at(each.at_ms) + timedelta(minutes=15),
                "summary": summaries[each.kind],
                "description": due.TELLS[each.kind],
                "transp": "TRANSPARENT",
                "alarm": ("DISPLAY", timedelta(0), summaries[each.kind]),
            }
            for each in waiting(pour)
        }


def sequence_of(pour: Json) -> int:
    kinds = {"set", "corrected", "undone", "seen_to", "put_off", "finished", "burned"}
    happened = sum(each["type"] in kinds for each in pour["events"])
    fields = (pour["stored"] or {"fields": {}})["fields"]
    counted = ("remind_at", "quiet_from", "quiet_to", "time_zone")
    return happened + sum(1 + len(fields[name]["past"]) for name in counted if name in fields)


def at(ms: int) -> datetime:
    return datetime.fromtimestamp(ms / 1000, UTC)


def test_icalendar_reads_the_same(files: list[tuple[Json, str]]) -> None:
    for pour, text in files:
        read = icalendar.Calendar.from_ical(text)
        assert not read.errors
        assert (read["version"], read["method"], read["name"]) == ("2.0", "PUBLISH", "Pour bench")
        by_vobject = events_in(text)
        assert len(read.events) == len(by_vobject) == len(waiting(pour))
        for event in read.events:
            assert not event.errors
            same = by_vobject[event["uid"]]
            assert (event.start, event.end) == (same["start"], same["end"])
            assert event["sequence"] == same["sequence"]
            assert event["dtstamp"].dt == at(NOW)
            [alarm] = event.alarms.times
            assert alarm.trigger == event.start
            # It reads the two signs '\n' as a line break even where the first is itself escaped.
            if "\\" not in pour["name"]:
                assert event["summary"] == same["summary"]
                assert event["description"] == same["description"]


# ---- the feed of the same ----------------------------------------------------------------------


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    opened = Database(f"sqlite:///{tmp_path_factory.mktemp('feed') / 'bench.sqlite3'}")
    yield opened
    opened.close()


def feed_of(database: Database, pour: Json) -> str:
    """The feed of a workshop with this one pour, of which nothing is long past."""
    with database.write() as connection:
        shop = workshops.make_workshop(connection, "Shed", NOW)["id"]
        here = {"workshop_id": shop, "seq": 1}
        if pour["stored"]:
            row = {
                "kind": "workshop",
                "id": "workshop",
                "fields": as_json(pour["stored"]["fields"]),
            }
            connection.execute(insert(tables.record).values(here | row))
        for each in pour["events"]:
            row = {"id": each["id"], "of_kind": "pour", "of_id": pour["id"], "body": as_json(each)}
            connection.execute(insert(tables.event).values(here | row))
        for each in waiting(pour):
            row = {"workshop_id": shop, "pour": pour["id"], "name": name_of(pour)}
            row |= {"kind": each.kind, "day": each.day, "on": each.on, "due_ms": each.at_ms}
            connection.execute(insert(tables.reminder).values(row | {"done": False}))
        return calendar.feed(connection, shop, "https://bench.test", 0).decode()


def as_json(value: Any) -> str:
    return json.dumps(value)


def test_phone_and_server_write_the_same_events(
    files: list[tuple[Json, str]], database: Database
) -> None:
    for pour, text in files[:60]:
        assert events_in(feed_of(database, pour)) == events_in(text)


# ---- by hand -----------------------------------------------------------------------------------


def plain(*later: Json, name: str = "Wet slate", on: str = "2026-03-27", **more: Json) -> Json:
    """A pour of that day, cured after 7 days and best after 14, in Lisbon."""
    happened = [{"type": "set", "on": on}, *later]
    return {
        "id": "k3v9q2ax",
        "name": name,
        "sheet": {"cure_least_days": 7, "cure_best_days": 14},
        "events": [{"id": stamp(n), "at": NOW, **each} for n, each in enumerate(happened)],
        "zone": "Europe/Lisbon",
        "workshop": {},
        "stored": None,
        **more,
    }


def test_over_the_change_of_the_clocks(bench: Bench) -> None:
    """Directive 2000/84/EC: clocks go forward on 29 March 2026 at 01:00 UTC."""
    [text] = files_of(bench, [plain()])
    starts = {uid.partition(".")[0]: each["start"] for uid, each in events_in(str(text)).items()}
    assert starts["trim"] == datetime(2026, 3, 28, 9, tzinfo=UTC)
    assert starts["label"] == datetime(2026, 3, 29, 8, tzinfo=UTC)
    lisbon = [start.astimezone(ZoneInfo("Europe/Lisbon")) for start in starts.values()]
    assert [(each.hour, each.minute) for each in lisbon] == [(9, 0)] * 5
    assert {each.date() for each in lisbon} == {
        date(2026, 3, 27) + timedelta(days=days) for days in (1, 2, 7, 14, 15)
    }


def test_what_moves_keeps_its_name_and_gets_a_higher_number(bench: Bench) -> None:
    corrected = {"type": "corrected", "event": stamp(0), "field": "on", "value": "2026-03-20"}
    put_off = {"type": "put_off", "reminder": "cured", "on": "2026-03-27", "until": "2026-03-30"}
    remind_at = {"value": 600, "stamp": stamp(2)}
    changed = remind_at | {"value": 660, "past": [remind_at]}
    steps = [
        plain(),
        plain(corrected),
        plain(corrected, put_off),
        plain(corrected, put_off, **hers(remind_at)),
        plain(corrected, put_off, **hers(changed)),
    ]
    cured = [
        events_in(str(text))["cured.k3v9q2ax@pour-bench.invalid"] for text in files_of(bench, steps)
    ]
    assert [each["start"].isoformat()[5:16] for each in cured] == [
        *("04-03T08:00", "03-27T09:00", "03-30T08:00", "03-30T09:00", "03-30T10:00")
    ]
    assert [each["sequence"] for each in cured] == [1, 2, 3, 4, 5]


def hers(remind_at: Json) -> Json:
    stored = {"kind": "workshop", "id": "workshop", "fields": {"remind_at": remind_at}}
    return {"workshop": {"remind_at": remind_at["value"]}, "stored": stored}


def test_where_nothing_is_left_there_is_no_file(bench: Bench) -> None:
    done = [
        {"type": "seen_to", "reminder": kind, "on": "2027-01-01"}
        for kind in ("cured", "best", "burn")
    ]
    before = plain() | {"events": []}
    over = plain({"type": "finished"}, *done)
    assert files_of(bench, [before, over]) == [None, None]
    [almost] = files_of(bench, [plain({"type": "finished"}, *done[:2])])
    assert list(events_in(str(almost))) == ["burn.k3v9q2ax@pour-bench.invalid"]
