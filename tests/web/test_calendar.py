"""The private calendar over real sockets: as a phone that makes its address, as a calendar program
that reads it, and as a stranger."""

import re
import time

import pytest
import vobject
from sqlalchemy import select, update

from benchapp.records import tables
from benchapp.records.exchange import PROTOCOL
from benchapp.reminders import planning
from tests.web.caller import Caller, bench

HOUR_MS = 3_600_000
STAMP = "001764070400000.0000.a"
WANTED = {
    "Content-Type": "text/calendar; charset=utf-8; method=PUBLISH",
    "Content-Disposition": 'inline; filename="pour-bench.ics"',
    "Cache-Control": "private, no-cache",
    "X-Robots-Tag": "noindex",
}


@pytest.fixture(scope="module")
def running(tmp_path_factory):
    with bench(tmp_path_factory.mktemp("data")) as started:
        yield started


@pytest.fixture
def here(running):
    """A device of a workshop of its own."""
    return running.paired("iPhone", running.workshop("Shed"))


@pytest.fixture
def program(running):
    """A calendar program: it has no cookie and no token."""
    return Caller(running.url)


def path_of(made):
    return "/" + made["url"].split("/", 3)[3]


def kept(running, id_):
    """The row of an address."""
    table = tables.calendar
    with running.database.read() as connection:
        return connection.execute(select(table).where(table.c.token_sha256.startswith(id_))).one()


def pour(here, running):
    """Keep a pour that was set aside today, and let what falls due be reckoned."""
    now_ms = time.time_ns() // 1_000_000
    sheet = {
        "title": "Wet slate",
        "count": 12,
        "vessel": {"name": "tin 120"},
        "jug": {},
        "jugs": [],
    }
    values = {"name": "Wet slate", "sheet": sheet, "started_at": now_ms}
    fields = {name: {"value": value, "stamp": STAMP} for name, value in values.items()}
    on = time.strftime("%Y-%m-%d", time.gmtime())
    event = {"id": STAMP, "of": ["pour", "p1"], "type": "set", "at": now_ms, "on": on}
    record = {"kind": "pour", "id": "p1", "fields": fields}
    sent = {"protocol": PROTOCOL, "era": None, "cursor": 0, "records": [record], "events": [event]}
    assert here.post("/api/exchange", sent).json["refused"] == []
    with running.database.write() as connection:
        while planning.plan(connection, now_ms):
            pass


def test_an_address_is_made_read_and_ended(running, here, program):
    pour(here, running)
    assert here.get("/api/calendar").json == []
    made = here.post("/api/calendar").json
    assert set(made) == {"id", "url"}
    assert re.fullmatch(re.escape(running.url) + r"/?calendar/[\w-]{43}\.ics", made["url"])

    answered = program.get(path_of(made))
    assert answered.status == 200
    assert answered.headers.get_all("Set-Cookie") is None
    events = vobject.readOne(answered.body.decode()).contents["vevent"]
    assert [each.uid.value for each in events] == [
        f"{kind}.p1@pour-bench.invalid" for kind in ("trim", "label")
    ]
    assert events[0].summary.value == "Wet slate, 12 × tin 120: ready to trim"
    assert events[0].url.value == running.url.rstrip("/") + "/#/entry/p1"

    [listed] = here.get("/api/calendar").json
    assert set(listed) == {"id", "made_ms", "read_ms"}
    assert listed["id"] == made["id"]
    assert abs(listed["read_ms"] - time.time() * 1000) < 60_000
    assert here.post(f"/api/calendar/{made['id']}/revoke").json == {}
    assert here.get("/api/calendar").json == []
    assert program.get(path_of(made)).status == 404


def test_what_the_answer_says_of_itself(here, program):
    answered = program.get(path_of(here.post("/api/calendar").json))
    said = {name: answered.headers[name] for name in WANTED}
    assert said == WANTED
    assert answered.headers["ETag"].startswith('W/"')
    assert here.get("/api/calendar").headers["Cache-Control"] == "no-store"


def test_what_has_not_changed_is_not_sent_again(running, here, program):
    path = path_of(here.post("/api/calendar").json)
    tag = program.get(path).headers["ETag"]
    again = program.get(path, headers={"If-None-Match": tag})
    assert (again.status, again.body, again.headers["ETag"]) == (304, b"", tag)
    assert again.headers["Cache-Control"] == "private, no-cache"
    pour(here, running)
    changed = program.get(path, headers={"If-None-Match": tag})
    assert changed.status == 200
    assert changed.headers["ETag"] != tag


def test_who_has_no_such_address_learns_nothing(here, program):
    ended = here.post("/api/calendar").json
    here.post(f"/api/calendar/{ended['id']}/revoke")
    answers = [
        program.get(path)
        for path in (path_of(ended), f"/calendar/{'A' * 43}.ics", "/calendar/%F0%9F.ics")
    ]
    assert {each.status for each in answers} == {404}
    assert len({each.body for each in answers}) == 1
    assert answers[0].body.decode() == (
        "There is no calendar at this address, or it was ended. Make a new address on the bench, "
        "and subscribe to that.\n"
    )
    assert answers[0].headers["Cache-Control"] == "no-store"


def test_only_a_device_of_the_workshop_makes_lists_and_ends(running, here, program):
    made = here.post("/api/calendar").json
    program.open()
    revoke = f"/api/calendar/{made['id']}/revoke"
    assert [
        program.get("/api/calendar").status,
        program.post("/api/calendar").status,
        program.post(revoke).status,
    ] == [401] * 3
    elsewhere = running.paired("Other phone", running.workshop("Second"))
    assert elsewhere.get("/api/calendar").json == []
    refused = elsewhere.post(revoke)
    assert refused.status == 404
    assert "calendar address is not in the list any more" in refused.json["error"]
    assert program.get(path_of(made)).status == 200
    here.token = ""
    assert here.post(revoke).status == 400


def test_the_sixth_address_is_refused_in_a_sentence(here):
    made = [here.post("/api/calendar").json["id"] for _ in range(5)]
    assert len(set(made)) == 5
    refused = here.post("/api/calendar")
    assert refused.status == 409
    assert refused.json["error"].startswith("There are 5 calendar addresses already. End one")
    here.post(f"/api/calendar/{made[0]}/revoke")
    assert here.post("/api/calendar").status == 200


def test_when_it_was_read_is_written_once_an_hour(running, here, program):
    made = here.post("/api/calendar").json
    assert kept(running, made["id"]).read_ms is None
    program.get(path_of(made))
    first_ms = kept(running, made["id"]).read_ms
    for before_ms, is_written in ((HOUR_MS // 2, False), (HOUR_MS * 2, True)):
        with running.database.write() as connection:
            connection.execute(
                update(tables.calendar)
                .where(tables.calendar.c.token_sha256.startswith(made["id"]))
                .values(read_ms=first_ms - before_ms)
            )
        program.get(path_of(made))
        assert (kept(running, made["id"]).read_ms >= first_ms) is is_written


@pytest.mark.parametrize("host", ["evil.test/x", "a b", "x@y", "[::1", ""])
def test_an_address_that_can_not_be_is_not_repeated(here, program, host):
    made = here.post("/api/calendar").json
    for answered in (
        program.get(path_of(made), headers={"Host": host}),
        here.post("/api/calendar", headers={"Host": host}),
    ):
        assert answered.status == 400
        assert host not in answered.body.decode() or host == ""
