"""One exchange, on SQLite and on PostgreSQL: what is taken, what is refused, what is told."""

import json
import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from sqlalchemy import select

import benchapp.records.exchange as exchanging
from benchapp.records import tables, workshops
from benchapp.records.database import Database
from benchapp.records.exchange import AHEAD_MS, Answer, BadMessage, exchange, read_message

Json = Any

NOW_MS = 1_764_000_000_000
DAY_MS = 86_400_000


def stamp(ms: int = NOW_MS, device: str = "a", count: int = 0) -> str:
    return f"{ms:015d}.{count:04d}.{device}"


def wax(id_: str = "w", ms: int = NOW_MS, **values: Any) -> Json:
    given = {"name": "Dune"} | values
    fields = {name: {"value": value, "stamp": stamp(ms)} for name, value in given.items()}
    return {"kind": "wax", "id": id_, "fields": fields}


def noted(ms: int = NOW_MS, text: str = "tops are smooth", device: str = "a") -> Json:
    return {
        "id": stamp(ms, device),
        "of": ["pour", "p"],
        "type": "noted",
        "at": NOW_MS,
        "text": text,
    }


class Bench:
    """A workshop on a database."""

    def __init__(self, url: str) -> None:
        self.database = Database(url)
        self.workshop = self.another("Workshop")

    def another(self, name: str) -> str:
        with self.database.write() as connection:
            return str(workshops.make_workshop(connection, name, NOW_MS)["id"])

    def exchange(
        self,
        records: list[Json] | None = None,
        events: list[Json] | None = None,
        *,
        cursor: int = 0,
        era: str | None = None,
        now_ms: int = NOW_MS,
        workshop: str | None = None,
    ) -> Answer:
        body = {"era": era, "cursor": cursor, "records": records or [], "events": events or []}
        message = read_message(json.loads(json.dumps(body)))
        with self.database.read() if message.is_empty else self.database.write() as connection:
            return exchange(connection, workshop or self.workshop, message, now_ms)

    def kept(self, id_: str = "w") -> Json:
        answer = self.exchange()
        found = [json.loads(text) for text in answer.records]
        return next((each["fields"] for each in found if each["id"] == id_), None)


@pytest.fixture
def bench(database_url: str) -> Iterator[Bench]:
    made = Bench(database_url)
    yield made
    made.database.close()


# ---- taken and told ----------------------------------------------------------------------------


def test_what_one_sends_the_other_hears(bench: Bench) -> None:
    sent = bench.exchange([wax()], [noted()])
    assert (sent.refused, sent.records, sent.events) == ([], [], [])
    heard = bench.exchange()
    assert [json.loads(text) for text in heard.records] == [wax()]
    assert [json.loads(text) for text in heard.events] == [noted()]
    assert heard.cursor == sent.cursor == 2
    nothing = bench.exchange(cursor=heard.cursor, era=heard.era)
    assert (nothing.records, nothing.events, nothing.cursor) == ([], [], 2)


def test_sending_twice_changes_nothing_not_even_the_number(bench: Bench) -> None:
    first = bench.exchange([wax()], [noted()])
    again = bench.exchange([wax()], [noted()])
    assert (again.cursor, again.records, again.events) == (first.cursor, [], [])


def test_only_the_record_that_changed_is_told_again(bench: Bench) -> None:
    bench.exchange([wax("w"), wax("v")])
    changed = bench.exchange([wax("v", NOW_MS + 5, name="Bog")], cursor=2)
    assert changed.cursor == 3
    (told,) = bench.exchange(cursor=2).records
    assert json.loads(told)["id"] == "v"


def test_what_stood_lies_behind_what_stands(bench: Bench) -> None:
    bench.exchange([wax(highest_load=0.1)])
    bench.exchange([wax(ms=NOW_MS + 1, highest_load=0.08)])
    field = bench.kept()["highest_load"]
    assert field["value"] == 0.08
    assert [each["value"] for each in field["past"]] == [0.1]


def test_pages_are_whole_and_in_order(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    bench.exchange(
        [wax(f"w{n}") for n in range(7)], [noted(NOW_MS + n, f"note {n}") for n in range(5)]
    )
    monkeypatch.setattr(exchanging, "PAGE_ITEMS", 5)
    cursor, told, pages = 0, [], 0
    while True:
        page = bench.exchange(cursor=cursor)
        told += [json.loads(text) for text in [*page.records, *page.events]]
        pages, cursor = pages + 1, page.cursor
        if not page.more:
            break
    assert (pages, len(told), cursor) == (3, 12, 12)
    assert {each["id"] for each in told} >= {f"w{n}" for n in range(7)}


def test_a_page_holds_no_more_than_a_phone_can_carry(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.exchange([wax(f"w{n}", notes="x" * 1000) for n in range(5)])
    monkeypatch.setattr(exchanging, "PAGE_BYTES", 2500)
    page = bench.exchange()
    assert (len(page.records), page.cursor, page.more) == (2, 2, True)
    # One that alone is more goes alone.
    monkeypatch.setattr(exchanging, "PAGE_BYTES", 10)
    assert len(bench.exchange(cursor=2).records) == 1


def test_a_stamp_names_one_thing_for_good(bench: Bench) -> None:
    """A faulty or forging device gave a stamp to something else: the server's stands."""
    bench.exchange([wax()], [noted()])
    other = bench.exchange([wax(name="Forged")], [noted(text="forged")], cursor=2)
    assert other.cursor == 2
    assert [json.loads(text) for text in other.records] == [wax()]
    assert [json.loads(text) for text in other.events] == [noted()]


def test_another_era_sends_and_hears_all_again(bench: Bench) -> None:
    era = bench.exchange([wax()]).era
    answer = bench.exchange([wax("v")], era="another", cursor=1)
    assert (answer.restart, answer.era, answer.cursor, answer.records) == (True, era, 0, ())
    assert bench.kept("v") is None
    # So does a cursor that this server never gave: its file was put back by hand.
    assert bench.exchange(cursor=2, era=era).restart


def test_a_workshop_knows_nothing_of_another(bench: Bench) -> None:
    other = bench.another("Other")
    bench.exchange([wax()], [noted()])
    theirs = bench.exchange(workshop=other)
    assert (theirs.records, theirs.events, theirs.cursor) == ([], [], 0)
    bench.exchange([wax(ms=NOW_MS + 1, name="Theirs")], [noted(text="theirs")], workshop=other)
    assert bench.kept()["name"]["value"] == "Dune"
    assert [json.loads(text) for text in bench.exchange().events] == [noted()]
    with pytest.raises(LookupError):
        bench.exchange(workshop="nobody")


# ---- clocks ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ahead_ms", "says"),
    [(AHEAD_MS + 1, "10 minutes"), (2 * 3_600_000, "2 hours"), (400 * DAY_MS, "400 days")],
)
def test_a_clock_far_ahead_is_refused_with_what_is_wrong(
    bench: Bench, ahead_ms: int, says: str
) -> None:
    answer = bench.exchange([wax(ms=NOW_MS + ahead_ms)], [noted(NOW_MS + ahead_ms)])
    assert [each.reason for each in answer.refused] == ["ahead", "ahead"]
    assert [each.kind for each in answer.refused] == ["wax", "event"]
    for each in answer.refused:
        assert each.why.startswith(f"This phone's clock runs {says} ahead of the server's")
    assert bench.exchange().cursor == 0


def test_a_clock_a_little_ahead_can_not_push_the_limit_on(bench: Bench) -> None:
    assert not bench.exchange([wax(ms=NOW_MS + AHEAD_MS)]).refused
    assert bench.exchange([wax(ms=NOW_MS + AHEAD_MS + 1, name="Further")]).refused


def test_a_server_whose_clock_fell_back_goes_on(bench: Bench) -> None:
    bench.exchange([wax()])
    long_ago = NOW_MS - 365 * DAY_MS
    again = bench.exchange([wax(), wax("v")], now_ms=long_ago)
    assert again.refused == []
    assert bench.kept("v") is not None


# ---- refused alone -----------------------------------------------------------------------------

GOOD = {"kind": "wax", "id": "good", "fields": {"name": {"value": "Good", "stamp": stamp()}}}


def spoilt(change: Callable[[Json], Any]) -> Json:
    record = wax()
    change(record)
    return record


SHAPES: dict[str, Json] = {
    "nothing": None,
    "a list": [],
    "no fields": {"kind": "wax", "id": "w"},
    "no field": {"kind": "wax", "id": "w", "fields": {}},
    "more": {**wax(), "more": 1},
    "kind": {**wax(), "kind": "Wax!"},
    "kind a number": {**wax(), "kind": 3},
    "id": {**wax(), "id": "../../etc"},
    "id too long": {**wax(), "id": "x" * 65},
    "id a list": {**wax(), "id": ["w"]},
    "field name": spoilt(lambda r: r["fields"].update(__proto__=r["fields"]["name"])),
    "field no version": spoilt(lambda r: r["fields"].update(name="Dune")),
    "no stamp": spoilt(lambda r: r["fields"]["name"].pop("stamp")),
    "no value": spoilt(lambda r: r["fields"]["name"].pop("value")),
    "stamp": spoilt(lambda r: r["fields"]["name"].update(stamp="now")),
    "stamp a number": spoilt(lambda r: r["fields"]["name"].update(stamp=5)),
    "stamp in other digits": spoilt(
        lambda r: r["fields"]["name"].update(stamp="٠" * 15 + ".0000.a")
    ),
    "over": spoilt(lambda r: r["fields"]["name"].update(over="x")),
    "over no stamp": spoilt(lambda r: r["fields"]["name"].update(over=["x"])),
    "past": spoilt(lambda r: r["fields"]["name"].update(past={})),
    "past later": spoilt(
        lambda r: r["fields"]["name"].update(past=[{"value": 1, "stamp": stamp(NOW_MS + 1)}])
    ),
    "past twice": spoilt(
        lambda r: r["fields"]["name"].update(past=[{"value": 1, "stamp": stamp()}])
    ),
    "past in past": spoilt(
        lambda r: r["fields"]["name"].update(
            past=[{"value": 1, "stamp": stamp(NOW_MS - 1), "past": []}]
        )
    ),
    "a number no phone can hold": spoilt(lambda r: r["fields"]["name"].update(value=2**60)),
    "deleted": spoilt(lambda r: r["fields"].update(deleted={"value": "yes", "stamp": stamp()})),
    "an unknown kind": {**wax(), "kind": "anvil"},
    "a value of another type": wax(name=["Dune"]),
    "out of range": wax(highest_load=0.9),
    "without what is needed": {
        **wax(),
        "fields": {"highest_load": {"value": 0.1, "stamp": stamp()}},
    },
    "too long": wax(notes="x" * 4001),
    "much too long": wax(whatever="x" * 500_001),
}


#: It is a record, and a form finds a value in it wrong.
WRONG = ("a value of another type", "out of range", "without what is needed", "too long")


@pytest.mark.parametrize("what", SHAPES)
def test_one_bad_record_is_refused_alone(bench: Bench, what: str) -> None:
    answer = bench.exchange([SHAPES[what], GOOD], [noted()])
    (refusal,) = answer.refused
    assert refusal.why[0].isupper() or refusal.why[0] == "“"
    assert refusal.why.endswith(".")
    reason = {"an unknown kind": "unknown", "much too long": "too long"}.get(what, "unreadable")
    assert refusal.reason == ("wrong" if what in WRONG else reason)
    heard = bench.exchange()
    assert [json.loads(text)["id"] for text in heard.records] == ["good"]
    assert len(heard.events) == 1


def test_a_refusal_says_which_record_and_which_box(bench: Bench) -> None:
    (refusal,) = bench.exchange([wax(highest_load=0.9)]).refused
    said = "Highest fragrance load must be from 0 to 30 % of the wax."
    assert refusal.why == f"“Dune”: {said}"
    assert refusal.fields == {"highest_load": [said]}


EVENTS: dict[str, Json] = {
    "nothing": None,
    "no id": {"of": ["pour", "p"], "type": "noted", "at": 1},
    "id": {**noted(), "id": "1"},
    "pour": {**noted(), "of": ["pour", "a b"]},
    "kind": {**noted(), "of": ["Pour", "p"]},
    "of one": {**noted(), "of": ["pour"]},
    "of three": {**noted(), "of": ["pour", "p", "q"]},
    "of text": {**noted(), "of": "pour p"},
    "of nothing": {**noted(), "of": None},
    "no pour": {"id": stamp(), "type": "noted", "at": 1},
    "type": {**noted(), "type": "No Type"},
    "no time": {**noted(), "at": None},
    "time": {**noted(), "at": 1.5},
    "a time beyond all": {**noted(), "at": 1e15},
    "true for a time": {**noted(), "at": True},
    "field name": {**noted(), "__proto__": 1},
    "no text": {**noted(), "text": None},
    "text": {**noted(), "text": "x" * 4001},
    "far too long": {**noted(), "type": "newer", "text": "x" * 30_000},
    "reading": {
        "id": stamp(),
        "of": ["pour", "p"],
        "type": "read",
        "at": 1,
        "jug": 0,
        "temp_c": "70",
    },
    "no reading": {"id": stamp(), "of": ["pour", "p"], "type": "read", "at": 1, "jug": 0},
    "part": {**noted(), "type": "weighed", "jug": 0, "part": "soap", "index": 0, "read_g": 1},
    "negative": {**noted(), "type": "weighed", "jug": 0, "part": "wax", "index": 0, "read_g": -1},
    "day": {**noted(), "type": "set", "on": "2026-02-30"},
    "undone": {**noted(), "type": "undone", "event": "that one"},
    "corrected": {
        **{**noted(), "type": "corrected", "event": stamp()},
        **{"field": "__proto__", "value": 1},
    },
    "corrected by what is no number": {
        **{**noted(), "type": "corrected", "event": stamp()},
        **{"field": "read_g", "value": "285"},
    },
}


@pytest.mark.parametrize("what", EVENTS)
def test_one_bad_event_is_refused_alone(bench: Bench, what: str) -> None:
    good = noted(NOW_MS + 1, "good")
    answer = bench.exchange([wax()], [EVENTS[what], good])
    (refusal,) = answer.refused
    assert refusal.kind == "event"
    assert refusal.why.endswith(".")
    heard = bench.exchange()
    assert [json.loads(text) for text in heard.events] == [good]
    assert len(heard.records) == 1


def test_an_event_that_names_its_pour_as_it_was_done_is_the_same_event(bench: Bench) -> None:
    """An old copy, or an outbox that was filled before the bench was updated."""
    now = noted()
    was = {("pour" if name == "of" else name): value for name, value in now.items()}
    was["pour"] = now["of"][1]
    assert bench.exchange([], [was]).refused == []
    answer = bench.exchange([], [now])
    assert (answer.refused, answer.events) == ([], [])
    assert [json.loads(text) for text in bench.exchange().events] == [now]


@pytest.mark.parametrize("kind", ["wax", "pour_of_mine", "event"])
def test_what_happens_to_a_kind_without_a_stream_is_refused_in_a_sentence(
    bench: Bench, kind: str
) -> None:
    answer = bench.exchange([wax()], [{**noted(), "of": [kind, "a"]}, noted(NOW_MS + 1)])
    (refusal,) = answer.refused
    assert (refusal.kind, refusal.id, refusal.reason) == ("event", stamp(), "unknown")
    assert refusal.why == (
        f"This server can't save what happens to “{kind}”: it is older than the bench on this "
        f"phone. Update the server; the phone keeps it."
    )
    assert len(bench.exchange().events) == 1


def test_an_event_of_a_newer_bench_is_kept_as_it_is(bench: Bench) -> None:
    newer = {"id": stamp(), "of": ["pour", "p"], "type": "waved", "at": 5, "how": {"much": [1, 2]}}
    assert bench.exchange([], [newer]).refused == []
    assert [json.loads(text) for text in bench.exchange().events] == [newer]


def test_what_was_wrong_before_and_was_not_touched_is_no_reason(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The form may have become stricter since the record was made."""
    with monkeypatch.context() as before:
        before.setattr(exchanging, "_wrong", lambda *_: None)
        bench.exchange([wax(highest_load=0.9)])
    assert bench.exchange([wax(ms=NOW_MS + 1, notes="creamy")]).refused == []
    assert bench.exchange([wax(ms=NOW_MS + 2, highest_load=0.8)]).refused


def test_two_that_are_right_alone_and_wrong_together(bench: Bench) -> None:
    """The second to come is told, and can mend it; the first stands."""
    bench.exchange([wax(cure_least_days=7, cure_best_days=14)])
    assert not bench.exchange([wax(ms=NOW_MS + 1, cure_least_days=10)]).refused
    (refusal,) = bench.exchange([wax(ms=NOW_MS + 2, cure_best_days=8)]).refused
    assert refusal.fields.keys() == {"cure_best_days"}
    assert bench.kept()["cure_best_days"]["value"] == 14


def test_a_deleted_record_need_not_be_whole(bench: Bench) -> None:
    bench.exchange([wax(ms=NOW_MS - 1)])
    deleted = {"value": True, "stamp": stamp(NOW_MS + 1)}
    gone = {"kind": "wax", "id": "w", "fields": {"deleted": deleted}}

    def blank(ms: int) -> Json:
        return {"kind": "wax", "id": "w", "fields": {"name": {"value": "", "stamp": stamp(ms)}}}

    assert bench.exchange([gone, blank(NOW_MS)]).refused == []
    # Changed after that, it comes back.
    assert bench.exchange([blank(NOW_MS + 2)]).refused
    # But what is in it must be what it says, and to come back it must be whole.
    odd = {"kind": "wax", "id": "w", "fields": {"highest_load": {"value": 9, "stamp": stamp()}}}
    assert bench.exchange([odd]).refused
    back = {"value": False, "stamp": stamp(NOW_MS + 2)}
    assert bench.exchange([{"kind": "wax", "id": "w", "fields": {"deleted": back}}]).refused


@pytest.mark.parametrize(
    "body",
    [
        None,
        [],
        "x",
        {},
        {"cursor": -1},
        {"cursor": 1.5},
        {"cursor": True},
        {"cursor": False},
        {"cursor": 0, "records": 1},
        {"cursor": "0"},
        {"cursor": 2**53},
        {"cursor": 0, "era": 5},
        {"cursor": 0, "era": "x" * 65},
        {"cursor": 0, "records": {}},
        {"cursor": 0, "events": None},
        {"cursor": 0, "records": [wax()] * 600, "events": [noted()] * 401},
    ],
)
def test_a_message_that_is_none_is_refused_whole(body: Json) -> None:
    with pytest.raises(BadMessage, match=r"^[A-Z].*\.$"):
        read_message(body)


# ---- several at once ---------------------------------------------------------------------------


def test_no_number_appears_behind_a_reader(bench: Bench) -> None:
    """Eight writers, and a reader that asks on from where it was: it misses nothing."""
    each, writers = 25, 8
    failed: list[BaseException] = []

    def write(who: int) -> None:
        try:
            for n in range(each):
                bench.exchange([wax(f"w{who}-{n}")], [noted(NOW_MS + n, device=f"d{who}")])
        except BaseException as error:
            failed.append(error)

    threads = [threading.Thread(target=write, args=[who]) for who in range(writers)]
    for thread in threads:
        thread.start()
    heard: list[str] = []
    cursor = 0
    while True:
        over = not any(thread.is_alive() for thread in threads)
        page = bench.exchange(cursor=cursor)
        assert page.cursor >= cursor
        cursor = page.cursor
        heard += [*page.records, *page.events]
        if over and not page.more:
            break
        # A reader that never rests would leave the writers no turn at Python itself.
        threads[0].join(0.002)
    assert not failed
    assert len(heard) == len(set(heard)) == cursor == 2 * each * writers
    with bench.database.read() as connection:
        numbers = [
            number
            for table in (tables.record, tables.event)
            for (number,) in connection.execute(select(table.c.seq))
        ]
    assert sorted(numbers) == list(range(1, cursor + 1))
