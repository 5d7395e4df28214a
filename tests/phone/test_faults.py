"""What can go wrong on a phone that talks with a server: nothing confirmed is lost, and it is said.

No room for an answer, a tab that holds the old database, a cache that was cleared, the browser or
the server killed at the worst moment, two tabs at once, and a phone that was shut out meanwhile.
"""

import os
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from benchapp.records import pairing_codes, workshops
from benchapp.records.database import Database, sqlite_url
from tests.phone.maker import at, board, go_to, kept, moved, start, step, tap, title, where
from tests.phone.test_lost_and_found import Room, kill
from tests.web.wire import Phone, join

# What waits for the server and how far it was heard, read without the app's own code.
_SERVER = """() => new Promise((resolve, reject) => {
  const asked = indexedDB.open('pour-bench');
  asked.onerror = () => reject(asked.error);
  asked.onsuccess = () => {
    const db = asked.result;
    const found = {};
    const reading = db.transaction(['outbox', 'device']);
    reading.objectStore('outbox').count().onsuccess = (event) => {
      found.waiting = event.target.result;
    };
    reading.objectStore('device').get('server').onsuccess = (event) => {
      found.cursor = event.target.result?.cursor ?? null;
    };
    reading.oncomplete = () => { db.close(); resolve(found); };
  };
})"""

_STATE = "async () => (await import('/static/records/exchange.js')).syncStatus.state"

_ALL_CONFIRMED = """async () => {
  const { exchangeNow, syncStatus } = await import('/static/records/exchange.js');
  await exchangeNow();
  return syncStatus.state === 'resting' && syncStatus.count === 0;
}"""


def standing(page: Page) -> dict[str, Any]:
    """How the page itself says that it stands with the server."""
    found: dict[str, Any] = page.evaluate(
        "async () => ({ ...(await import('/static/records/exchange.js')).syncStatus })"
    )
    return found


def server_state(page: Page) -> dict[str, Any]:
    found: dict[str, Any] = page.evaluate(_SERVER)
    return found


def code(bench: Any) -> str:
    """A code of the server's own workshop."""
    database = Database(sqlite_url(bench.data / "bench.sqlite3"))
    try:
        now_ms = time.time_ns() // 1_000_000
        with database.write() as connection:
            shop = workshops.first_workshop(connection, now_ms)
            return pairing_codes.make_code(connection, shop["id"], now_ms)[0]
    finally:
        database.close()


def pair(page: Page, bench: Any) -> None:
    """Come in with a code, with all that the phone keeps."""
    if page.url == "about:blank":
        page.goto(bench.url)
    expect(page.locator("body[data-screen]")).to_be_visible()
    page.goto(f"{bench.url}#/pair/{code(bench)}")
    expect(page.locator("body[data-screen=pair], body[data-screen=workshop]")).to_be_visible()
    if kept(page)["records"]:
        tap(page, "Join")
    expect(page.locator("#said")).to_contain_text("This device is in “")
    expect(page.locator("body[data-screen=workshop]")).to_be_visible()


def another(bench: Any) -> Phone:
    """Another device of the same workshop, which has heard everything."""
    phone = join(bench.url, code(bench), "other")
    phone.exchange_all()
    return phone


def same(page: Page, phone: Phone) -> bool:
    """Whether both know the same."""
    here = kept(page)
    records = {(each["kind"], each["id"]): each["fields"] for each in here["records"]}
    return records == phone.records and {each["id"]: each for each in here["events"]} == (
        phone.events
    )


# ---- no room for an answer -----------------------------------------------------------------------


def test_an_answer_that_finds_no_room_is_taken_whole_later(
    server, phone, phone_context, until, page_errors
):
    bench = server()
    room = Room(phone, bench.url)
    pair(phone, bench)
    until(phone, _ALL_CONFIRMED)
    at(phone, bench.url, "workshop")
    phone_context.set_offline(True)

    other = another(bench)
    for number in range(100):
        other.save("wick", f"w{number:03d}", name=f"Wick {number}", notes=f"{number} " * 1000)
        other.note("p", "A note")
    other.exchange_all()
    # Of its own it has something to say too.
    phone.evaluate(
        "async () => (await import('/static/records/store.js')).save('jug', 'j', { name: 'Blue', "
        "empty_g: 300, volume_ml: 2000 })"
    )
    before = kept(phone)
    was = server_state(phone)
    assert was["waiting"] == 1
    room.fill_up()
    phone_context.set_offline(False)
    until(phone, f"() => ({_STATE})().then((state) => state === 'trouble')")
    assert "The phone has no room left" in standing(phone)["trouble"]
    expect(phone.locator("#screen")).to_contain_text("The phone has no room left")
    assert kept(phone) == before
    assert server_state(phone) == was

    room.free()
    until(phone, _ALL_CONFIRMED)
    other.exchange_all()
    assert ("jug", "j") in other.records
    assert same(phone, other)
    page_errors.clear()  # it had no signal for a while, and no room


# ---- a tab that holds the old database -----------------------------------------------------------

# As the first version of the bench kept it.
_OLD_BENCH = """([records, events]) => new Promise((resolve, reject) => {
  const asked = indexedDB.open('pour-bench', 1);
  asked.onerror = () => reject(asked.error);
  asked.onupgradeneeded = () => {
    const db = asked.result;
    db.createObjectStore('records', { keyPath: ['kind', 'id'] });
    db.createObjectStore('events', { keyPath: 'id' }).createIndex('pour', ['pour', 'id']);
    db.createObjectStore('device', { keyPath: 'key' });
  };
  asked.onsuccess = () => {
    // Never closed, whatever is asked of it.
    const writing = asked.result.transaction(['records', 'events', 'device'], 'readwrite');
    for (const record of records) writing.objectStore('records').put(record);
    for (const event of events) writing.objectStore('events').put(event);
    writing.objectStore('device').put({ key: 'clock', name: 'oldphone', last: events.at(-1).id });
    writing.oncomplete = resolve;
  };
})"""


def old_stamp(count: int) -> str:
    return f"001700000000000.{count:04d}.oldphone"


def old_record(kind: str, id_: str, count: int, **values: Any) -> dict[str, Any]:
    stamp = old_stamp(count)
    fields = {name: {"value": value, "stamp": stamp} for name, value in values.items()}
    return {"kind": kind, "id": id_, "fields": fields}


def test_an_old_tab_that_holds_the_database_is_named_and_what_is_in_it_goes_on(
    server, phone, phone_context, until, page_errors
):
    bench = server()
    records = [
        old_record("jug", "j", 1, name="Old jug", empty_g=310, volume_ml=2000),
        old_record("wax", "w", 2, name="Old wax", highest_load=0.1),
        old_record("wick", "gone", 3, name="Gone", deleted=True),
    ]
    events = [
        {"id": old_stamp(4), "pour": "p", "type": "ready", "at": 1_700_000_000_000},
        {"id": old_stamp(5), "pour": "p", "type": "noted", "at": 1_700_000_000_001, "text": "Old"},
    ]
    old_tab = phone_context.new_page()
    old_tab.goto(f"{bench.url}static/icons/icon.svg")
    old_tab.evaluate(_OLD_BENCH, [records, events])

    phone.goto(bench.url)
    expect(title(phone)).to_have_text("Nothing can be saved here")
    expect(phone.get_by_role("alert")).to_have_text(
        "Another tab holds an older version of the bench: close it, then reload."
    )
    old_tab.close()
    tap(phone, "Try again")
    expect(title(phone)).to_have_text("Today")
    events = [
        {**{name: told for name, told in each.items() if name != "pour"}, "of": ["pour", "p"]}
        for each in events
    ]
    assert kept(phone) == {"records": sorted_as_kept(records), "events": events}
    at(phone, bench.url, "list/jug")
    expect(phone.get_by_role("link", name="Old jug")).to_be_visible()
    at(phone, bench.url, "list/wick")
    expect(phone.get_by_role("link", name="Gone")).to_have_count(0)

    pair(phone, bench)
    until(phone, _ALL_CONFIRMED)
    other = another(bench)
    assert len(other.records) == 3
    assert same(phone, other)
    page_errors.clear()  # the old tab's picture has no icon of its own


def sorted_as_kept(records: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return sorted(records, key=lambda each: (each["kind"], each["id"]))


# ---- a cache that was cleared --------------------------------------------------------------------


def test_a_cleared_cache_costs_no_record(server, phone, open_ready):
    bench = server(demo=True)
    open_ready(phone, bench.url)
    start(phone, bench.url)
    go_to(phone, "Melt")
    before, here = kept(phone), board(phone)
    cleared = phone.evaluate(
        """async () => {
          const names = await caches.keys();
          return Promise.all(names.map((name) => caches.delete(name)));
        }"""
    )
    assert cleared == [True, True]
    phone.reload()
    expect(title(phone)).to_have_text("Melt")
    assert board(phone) == here
    assert kept(phone) == before
    step(phone)
    assert len(kept(phone)["events"]) == len(before["events"]) + 1


# ---- the browser killed --------------------------------------------------------------------------


def step_shown(page: Page) -> dict[str, str]:
    """What of the board does not change with time."""
    return {name: text for name, text in board(page).items() if name in ("title", "place", "act")}


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="Windows has no SIGKILL")
def test_what_the_screen_confirmed_is_there_after_a_kill_and_reaches_the_server(
    server, own_phone, tmp_path, until
):
    bench = server(demo=True)
    context = own_phone()
    page = context.pages[0]
    pair(page, bench)
    # The browser itself writes cookies down now and then, and when it ends.
    context.close()

    context = own_phone()
    page = context.pages[0]
    page.goto(bench.url)
    start(page, bench.url, count="2")
    here = page.url
    for _ in range(3):
        before = where(page)
        step(page)
        moved(page, before)
        shown = step_shown(page)
        with context.expect_event("close"):
            kill(tmp_path / "phone")
        context = own_phone()
        page = context.pages[0]
        page.goto(here)
        expect(page.locator(".board .act .go")).to_be_visible()
        assert step_shown(page) == shown
    assert len(kept(page)["events"]) >= 3
    until(page, _ALL_CONFIRMED)
    other = another(bench)
    assert same(page, other)


# ---- the server killed ---------------------------------------------------------------------------


@contextmanager
def on_answer(page: Page, act: Callable[[], None]) -> Iterator[list[int]]:
    """Let the next message reach the server, `act` then, and lose the answer; the statuses lost."""
    lost: list[int] = []

    def lose(route: Route) -> None:
        lost.append(route.fetch().status)
        act()
        route.abort()

    page.route("**/api/exchange", lose, times=1)
    yield lost
    page.unroute("**/api/exchange")


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="Windows has no process groups")
def test_a_server_killed_before_its_answer_is_told_again_and_has_it_once(
    server, phone, until, page_errors
):
    bench = server(demo=True)
    pair(phone, bench)
    until(phone, _ALL_CONFIRMED)
    start(phone, bench.url)

    with on_answer(phone, bench.kill) as lost:
        step(phone)
        go_to(phone, "Melt")
        until(phone, f"() => ({_STATE})().then((state) => state === 'no signal')")
    assert lost == [200]
    assert server_state(phone)["waiting"] > 0
    before = kept(phone)

    port = int(bench.url.rstrip("/").rsplit(":", 1)[1])
    again = server(demo=True, port=port, data=bench.data)
    until(phone, _ALL_CONFIRMED)
    assert server_state(phone)["waiting"] == 0
    assert kept(phone) == before
    other = another(again)
    assert same(phone, other)
    page_errors.clear()  # the answer that was lost


# ---- two tabs ------------------------------------------------------------------------------------

_WRITE_AND_EXCHANGE = """async (tab) => {
  const store = await import('/static/records/store.js');
  const { exchangeAll } = await import('/static/records/exchange.js');
  let last = null;
  for (let turn = 0; turn < 8; turn += 1) {
    await store.save('wick', `${tab}-${turn}`, { name: `${tab} ${turn}` });
    await store.save('wick', 'shared', { name: `${tab} ${turn}` });
    const note = { type: 'noted', at: 1, text: `${turn}` };
    last = (await store.append('pour', `pour-${tab}`, note, last)).id;
    await Promise.all([exchangeAll(), exchangeAll()]);
  }
}"""


def test_two_tabs_that_exchange_at_once_leave_nothing_waiting(server, phone, phone_context, until):
    bench = server()
    pair(phone, bench)
    second = phone_context.new_page()
    second.goto(bench.url)
    expect(title(second)).to_have_text("Today")
    # Begun in both before either is over.
    for page, name in ((phone, "a"), (second, "b")):
        page.evaluate(
            f"(tab) => {{ globalThis.done = ({_WRITE_AND_EXCHANGE})(tab).then(() => 'done'); }}",
            name,
        )
    for page in (phone, second):
        assert page.evaluate("() => globalThis.done") == "done"
    until(phone, _ALL_CONFIRMED)
    assert server_state(phone)["waiting"] == 0
    other = another(bench)
    assert same(phone, other)
    assert len(other.records) == 2 * 8 + 1
    assert len(other.events) == 2 * 8


# ---- shut out ------------------------------------------------------------------------------------


def test_a_phone_that_was_shut_out_says_so_and_keeps_everything(server, phone, until, page_errors):
    bench = server(demo=True)
    pair(phone, bench)
    until(phone, _ALL_CONFIRMED)
    start(phone, bench.url)
    until(phone, _ALL_CONFIRMED)
    other = another(bench)
    [row] = [each for each in other.caller.get("/api/devices").json if not each["this"]]
    assert other.caller.post(f"/api/devices/{row['id']}/revoke").status == 200

    step(phone)
    go_to(phone, "Melt")
    until(phone, f"() => ({_STATE})().then((state) => state === 'out')")
    before = kept(phone)
    assert server_state(phone)["waiting"] > 0
    # The pour goes on.
    step(phone)
    assert len(kept(phone)["events"]) == len(before["events"]) + 1
    before = kept(phone)
    at(phone, bench.url, "workshop")
    expect(phone.locator("#screen")).to_contain_text("This device is shut out")
    expect(phone.locator("#screen")).to_contain_text("What is saved here stays.")
    phone.reload()
    expect(title(phone)).to_have_text("Workshop")
    assert kept(phone) == before
    other.exchange_all()
    assert not same(phone, other)

    pair(phone, bench)
    until(phone, _ALL_CONFIRMED)
    other.exchange_all()
    assert {each["id"] for each in before["events"]} <= set(other.events)
    assert same(phone, other)
    page_errors.clear()  # the browser logs each 401
