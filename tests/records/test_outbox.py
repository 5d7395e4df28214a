"""What waits for the server on the phone, and what an answer does to it."""

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page

from benchapp.records import exchange, workshops
from benchapp.records.database import Database

Json = Any

NOW_MS = 1_764_000_000_000
DAY_MS = 86_400_000
AHEAD_MS = 10 * 60_000

HERE = {"workshop": {"id": "w1", "name": "Shed"}, "device": {"id": "d1", "name": "phone"}}


def do(page: Page, body: str, given: Json = None, now_ms: int = NOW_MS) -> Json:
    """Run ``body`` with the modules, ``g``, and the clock at ``now_ms``."""
    return page.evaluate(
        f"""async ([g, now_ms]) => {{
          Date.now = () => now_ms;
          const store = await import('/records/store.js');
          const outbox = await import('/records/outbox.js');
          const exchange = await import('/records/exchange.js');
          const pairing = await import('/records/pairing.js');
          const stamp = await import('/records/stamp.js');
          const merge = await import('/records/merge.js');
          {body}
        }}""",
        [given, now_ms],
    )


def answer(**more: Json) -> Json:
    whole = {"era": "e1", "cursor": 1, "restart": False, "more": False, "now_ms": NOW_MS}
    return {**whole, "refused": [], "records": [], "events": [], **more}


def send(page: Page) -> Json:
    return do(page, "return outbox.nextMessage()")


def hear(page: Page, sent: Json, **more: Json) -> bool:
    told = {"sent": sent, "answer": answer(**more), "offset_ms": more.pop("offset_ms", 0)}
    taken: bool = do(page, "return outbox.takeAnswer(g.sent, g.answer, g.offset_ms)", told)
    return taken


def waiting(page: Page) -> Json:
    return do(page, "return outbox.waiting()")


@pytest.fixture
def joined(tab: Page) -> Page:
    do(tab, "await pairing.joined(g)", HERE)
    return tab


# ---- what waits --------------------------------------------------------------------------------


def test_nothing_waits_where_there_is_no_server(tab: Page) -> None:
    do(tab, "await store.save('wax', 'a', {name: 'Dune'})")
    assert waiting(tab) == {"count": 0, "since": None, "refused": []}
    assert send(tab) is None


def test_on_joining_all_that_is_kept_waits(tab: Page) -> None:
    do(tab, "await store.save('wax', 'a', {name: 'Dune'})")
    do(tab, "await store.append('pour', 'p', {type: 'ready', at: 1}, null)")
    do(tab, "await pairing.joined(g)", HERE)
    sent = send(tab)
    assert sent["message"]["era"] is None
    assert [each["id"] for each in sent["message"]["records"]] == ["a"]
    # When something happened is told by the server's clock, once that was heard.
    assert sent["message"]["events"] == []
    hear(tab, sent)
    (event,) = send(tab)["message"]["events"]
    assert event["type"] == "ready"


def test_only_the_fields_that_changed_are_sent(joined: Page) -> None:
    do(joined, "await store.save('wax', 'a', {name: 'Dune', highest_load: 0.1})")
    assert hear(joined, send(joined))
    do(joined, "await store.save('wax', 'a', {name: 'Dune', highest_load: 0.08})", None, NOW_MS + 9)
    assert waiting(joined) == {"count": 1, "since": NOW_MS + 9, "refused": []}
    (record,) = send(joined)["message"]["records"]
    assert record["fields"].keys() == {"highest_load"}
    assert record["fields"]["highest_load"]["value"] == 0.08
    # What the server has already is not sent again.
    assert "past" not in record["fields"]["highest_load"]


def test_a_save_that_changes_nothing_waits_for_nobody(joined: Page) -> None:
    do(joined, "await store.save('wax', 'a', {name: 'Dune'})")
    hear(joined, send(joined))
    do(joined, "await store.save('wax', 'a', {name: 'Dune'})")
    assert waiting(joined)["count"] == 0


def test_a_change_made_while_a_message_is_under_way_waits_on(joined: Page) -> None:
    do(joined, "await store.save('wax', 'a', {name: 'Dune'})")
    sent = send(joined)
    do(joined, "await store.save('wax', 'a', {name: 'Bog'})")
    hear(joined, sent, records=sent["message"]["records"])
    assert do(joined, "return (await store.get('wax', 'a')).name") == "Bog"
    (record,) = send(joined)["message"]["records"]
    assert record["fields"]["name"]["value"] == "Bog"


def test_large_records_go_in_several_messages(joined: Page) -> None:
    for id_ in "abcd":
        do(joined, "await store.save('wax', g, {name: g, notes: 'ö'.repeat(350_000)})", id_)
    seen = []
    for _ in range(4):
        sent = send(joined)
        seen += [each["id"] for each in sent["message"]["records"]]
        hear(joined, sent)
        if waiting(joined)["count"] == 0:
            break
    assert seen == list("abcd")


def test_phone_and_server_mean_the_same(modules: Page) -> None:
    said = modules.evaluate(
        """async () => [(await import('/records/outbox.js')).PROTOCOL,
          (await import('/records/stamp.js')).AHEAD_MS]"""
    )
    assert said == [exchange.PROTOCOL, exchange.AHEAD_MS]


# ---- an older bench ----------------------------------------------------------------------------

# A database as version 2 left it, when only pours had events.
_VERSION_2 = """([events, outbox, device]) => new Promise((resolve, reject) => {
  const asked = indexedDB.open('pour-bench', 2);
  asked.onerror = () => reject(asked.error);
  asked.onupgradeneeded = () => {
    const db = asked.result;
    db.createObjectStore('records', { keyPath: ['kind', 'id'] });
    db.createObjectStore('events', { keyPath: 'id' }).createIndex('pour', ['pour', 'id']);
    db.createObjectStore('device', { keyPath: 'key' });
    const rows = db.createObjectStore('outbox', { keyPath: 'n', autoIncrement: true });
    rows.createIndex('of', ['kind', 'id']);
    rows.createIndex('ready', 'ready');
    rows.createIndex('held', 'held');
  };
  asked.onsuccess = () => {
    const all = { events, outbox, device };
    const writing = asked.result.transaction(Object.keys(all), 'readwrite');
    for (const [name, rows] of Object.entries(all)) {
      for (const row of rows) writing.objectStore(name).put(row);
    }
    writing.oncomplete = () => { asked.result.close(); resolve(); };
  };
})"""


def at_stamp(number: int) -> str:
    return f"{NOW_MS + number:015d}.0000.me"


def test_a_phone_that_is_updated_in_the_middle_of_a_pour_sends_what_waited(
    tab: Page, database_url: str
) -> None:
    """The older bench was told to wait for the newer one; some it had sent, and one was refused."""
    steps = [
        {"id": at_stamp(number), "pour": "p", "type": type_, "at": NOW_MS + number, **more}
        for number, (type_, more) in enumerate(
            [
                ("ready", {}),
                ("weighed", {"jug": 0, "part": "wax", "index": 0, "read_g": 1170}),
                ("read", {"jug": 0, "temp_c": 500}),
                ("undone", {"event": at_stamp(2)}),
                ("waved", {"how": [1, {"much": 2}]}),
            ]
        )
    ]
    refusal = {"kind": "event", "id": at_stamp(2), "why": "Too hot.", "fields": {}, "ahead": False}
    outbox = [
        {"n": 7, "kind": "event", "id": at_stamp(1), "stamp": at_stamp(1), "at": 1, "ready": 1},
        {
            **{"n": 8, "kind": "event", "id": at_stamp(2), "stamp": at_stamp(2), "at": 1},
            **{"held": 1, "refusal": refusal},
        },
        {"n": 9, "kind": "event", "id": at_stamp(3), "stamp": at_stamp(3), "at": 1, "ready": 1},
        {"n": 10, "kind": "event", "id": at_stamp(4), "stamp": at_stamp(4), "at": 1, "ready": 1},
    ]
    device = [
        {"key": "clock", "name": "me", "last": at_stamp(4), "offset_ms": 0},
        {"key": "server", **HERE, "era": None, "cursor": 0, "heard_at": None},
    ]
    tab.evaluate(_VERSION_2, [steps, outbox, device])

    renewed = [
        {**{name: told for name, told in step.items() if name != "pour"}, "of": ["pour", "p"]}
        for step in steps
    ]
    assert do(tab, "return store.events('pour', 'p')") == renewed
    assert waiting(tab) == {"count": 4, "since": 1, "refused": [refusal]}
    # The pour goes on from the step that the screen showed.
    melted = "return store.append('pour', 'p', {type: 'melted', at: 9, jug: 0}, g)"
    after = do(tab, melted, at_stamp(4))
    sent = send(tab)
    assert sent["message"]["protocol"] == exchange.PROTOCOL
    assert sent["message"]["events"] == [renewed[1], renewed[3], renewed[4], after]

    database = Database(database_url)
    with database.write() as connection:
        shop = workshops.first_workshop(connection, NOW_MS)["id"]
        message = exchange.read_message(sent["message"])
        heard = exchange.exchange(connection, shop, message, NOW_MS)
        everything = exchange.exchange(connection, shop, exchange.Message(None, 0, [], []), NOW_MS)
    database.close()
    assert heard.refused == []
    told = [json.loads(text) for text in everything.events]
    assert told == sent["message"]["events"]
    assert hear(tab, sent)
    # What was refused waits on, with its reason, and goes when she tries again.
    assert waiting(tab) == {"count": 1, "since": 1, "refused": [refusal]}
    do(tab, "await outbox.tryRefused()")
    assert send(tab)["message"]["events"] == [renewed[2]]


@pytest.mark.parametrize("count", [0, 3000])
def test_every_kept_event_is_renewed(tab: Page, count: int) -> None:
    steps = [
        {"id": at_stamp(number), "pour": f"p{number % 3}", "type": "noted", "at": 1, "text": "x"}
        for number in range(count)
    ]
    tab.evaluate(_VERSION_2, [steps, [], []])
    for name in ("p0", "p1", "p2"):
        kept = do(tab, "return store.events('pour', g)", name)
        assert [each["id"] for each in kept] == [s["id"] for s in steps if s["pour"] == name]
        assert all("pour" not in each for each in kept)


# ---- what an answer does -----------------------------------------------------------------------


def test_an_answer_is_taken_whole_and_the_cursor_never_falls_back(joined: Page) -> None:
    name = {"value": "Theirs", "stamp": f"{NOW_MS + 5:015d}.0000.them"}
    event = {"id": f"{NOW_MS + 6:015d}.0000.them", "of": ["pour", "p"], "type": "ready", "at": 1}
    told = {"records": [{"kind": "wax", "id": "b", "fields": {"name": name}}], "events": [event]}
    sent = send(joined)
    assert hear(joined, sent, cursor=7, era=None, **told)
    assert hear(joined, {**sent, "message": {**sent["message"], "era": None}}, cursor=3, era=None)
    assert send(joined)["message"]["cursor"] == 7
    assert do(joined, "return (await store.get('wax', 'b')).name") == "Theirs"
    assert do(joined, "return store.events('pour', 'p')") == [event]
    # What she changes from now on is later than what she has seen.
    assert (
        do(joined, "return (await store.append('pour', 'p', {type: 'x', at: 1})).id") > event["id"]
    )


def test_an_answer_of_before_the_server_was_put_back_is_passed_over(joined: Page) -> None:
    do(joined, "await store.save('wax', 'a', {name: 'Dune'})")
    hear(joined, send(joined), cursor=1)
    do(joined, "await store.save('wax', 'b', {name: 'Bog'})")
    late = send(joined)
    assert hear(joined, late, restart=True, era="e2", cursor=0)
    assert waiting(joined)["count"] == 2
    assert not hear(joined, late, era="e1", cursor=9)
    message = send(joined)["message"]
    assert (message["era"], message["cursor"]) == ("e2", 0)
    assert {each["id"] for each in message["records"]} == {"a", "b"}


def test_an_answer_to_whom_this_phone_was_before_is_passed_over(joined: Page) -> None:
    do(joined, "await store.save('wax', 'a', {name: 'Dune'})")
    late = send(joined)
    other = {"workshop": {"id": "w2", "name": "Barn"}, "device": {"id": "d2", "name": "phone"}}
    assert not do(joined, "return pairing.joined(g)", other)
    assert do(joined, "return pairing.joined(g, { bring: true })", other)
    assert not hear(joined, late, era=None)
    assert waiting(joined)["count"] == 1


def test_what_is_refused_is_held_and_holds_nothing_else_up(joined: Page) -> None:
    do(joined, "await store.save('wax', 'a', {name: 'Dune', highest_load: 9})")
    do(joined, "await store.save('wax', 'b', {name: 'Bog'})")
    refusal = {
        "kind": "wax",
        "id": "a",
        "why": "“Dune”: too much.",
        "fields": {},
        "reason": "wrong",
    }
    hear(joined, send(joined), refused=[refusal])
    assert waiting(joined) == {"count": 1, "since": NOW_MS, "refused": [refusal]}
    assert send(joined)["rows"] == []
    # Mended, it goes with all that was refused of it.
    do(joined, "await store.save('wax', 'a', {highest_load: 0.1})")
    sent = send(joined)
    (record,) = sent["message"]["records"]
    assert record["fields"].keys() == {"name", "highest_load"}
    assert [each["value"] for each in record["fields"]["highest_load"]["past"]] == [9]
    hear(joined, sent)
    assert waiting(joined)["count"] == 0


def test_what_is_refused_can_be_sent_again_as_it_is(joined: Page) -> None:
    do(joined, "await store.save('wax', 'a', {name: 'Dune'})")
    refusal = {"kind": "wax", "id": "a", "why": "Not yet.", "fields": {}, "reason": "wrong"}
    hear(joined, send(joined), refused=[refusal])
    assert do(joined, "return outbox.tryRefused()") == 1
    assert waiting(joined)["refused"] == []
    assert len(send(joined)["message"]["records"]) == 1


# ---- a clock that ran ahead --------------------------------------------------------------------


def test_a_clock_that_ran_ahead_is_set_right_and_nothing_changes_its_place(joined: Page) -> None:
    wrong_ms = NOW_MS + 400 * DAY_MS
    hear(joined, send(joined))
    do(joined, "await store.save('wax', 'a', {name: 'first'})")
    first = do(joined, "return (await store.append('pour', 'p', {type: 'ready', at: 1}, null)).id")
    do(joined, "await store.save('wax', 'a', {name: 'second'})", None, wrong_ms)
    do(joined, "await store.save('wax', 'a', {name: 'third'})", None, wrong_ms + 60_000)
    read = do(
        joined,
        "return store.append('pour', 'p', {type: 'read', at: 2, temp_c: 70}, g)",
        first,
        wrong_ms,
    )
    do(
        joined,
        "await store.append('pour', 'p', {type: 'undone', at: 3, event: g})",
        read["id"],
        wrong_ms,
    )
    sent = send(joined)
    refused = [
        {"kind": "wax", "id": "a", "why": "The clock.", "fields": {}, "reason": "ahead"},
        *(
            {
                "kind": "event",
                "id": each["id"],
                "why": "The clock.",
                "fields": {},
                "reason": "ahead",
            }
            for each in sent["message"]["events"][1:]
        ),
    ]
    told = {"sent": sent, "answer": answer(refused=refused), "offset_ms": -400 * DAY_MS}
    do(joined, "await outbox.takeAnswer(g.sent, g.answer, g.offset_ms)", told, wrong_ms + 90_000)

    events = do(joined, "return store.events('pour', 'p')")
    assert [each["type"] for each in events] == ["ready", "read", "undone"]
    assert events[0]["id"] == first
    assert events[2]["event"] == events[1]["id"]
    field = do(joined, "return (await store.getStored('wax', 'a')).fields.name")
    assert [field["value"], *(each["value"] for each in field["past"])] == [
        "third",
        "second",
        "first",
    ]
    assert (
        do(
            joined,
            "return merge.clashes({ name: g }, 'name')",
            field,
        )
        == []
    )
    stamps = [field["stamp"], field["past"][0]["stamp"], *(each["id"] for each in events)]
    assert all(int(each.split(".")[0]) <= NOW_MS + AHEAD_MS for each in stamps)
    # It is sent again, and new changes are stamped by the server's clock.
    again = send(joined)["message"]
    assert len(again["events"]) == 2
    assert len(again["records"]) == 1
    new = do(
        joined,
        "return (await store.append('pour', 'p', {type: 'x', at: 1})).id",
        None,
        wrong_ms + DAY_MS,
    )
    assert NOW_MS <= int(new.split(".")[0]) <= NOW_MS + 2 * DAY_MS


STAMPS = st.builds(
    "{:015d}.{}.{}".format,
    st.integers(NOW_MS + AHEAD_MS, NOW_MS + 400 * DAY_MS),
    st.sampled_from(["0000", "0001", "zzzz"]),
    st.sampled_from(["me", "other"]),
)


@settings(max_examples=60, suppress_health_check=list(HealthCheck))
@given(
    wrong=st.lists(STAMPS, max_size=12),
    after_ms=st.integers(NOW_MS - DAY_MS, NOW_MS + AHEAD_MS - 1),
    offset_ms=st.integers(-500 * DAY_MS, 5 * DAY_MS),
)
def test_stamps_set_right_keep_their_order(
    modules: Page, wrong: list[str], after_ms: int, offset_ms: int
) -> None:
    after = f"{after_ms:015d}.0000.me"
    pairs = modules.evaluate(
        """async ([wrong, after, offset_ms, now_ms]) => {
          const { setRight } = await import('/records/stamp.js');
          return [...setRight(wrong, after, offset_ms, now_ms, 'me')];
        }""",
        [wrong, after, offset_ms, NOW_MS],
    )
    right = dict(pairs)
    assert right.keys() == set(wrong)
    stamps = [right[each] for each in sorted(right)]
    assert stamps == sorted(set(stamps)), "the order changed, or two became one"
    assert all(each > after for each in stamps)
    assert all(int(each.split(".")[0]) <= max(NOW_MS, after_ms) + 1 for each in stamps)


# ---- one time for all phones -------------------------------------------------------------------

SIX_MINUTES_MS = 6 * 60_000


def test_what_happened_before_the_servers_clock_was_heard_is_told_by_it(joined: Page) -> None:
    late_ms = NOW_MS - SIX_MINUTES_MS
    do(
        joined,
        "await store.append('pour', 'p', {type: 'read', at: now_ms, temp_c: 70})",
        None,
        late_ms,
    )
    told = {"sent": send(joined), "answer": answer(), "offset_ms": SIX_MINUTES_MS}
    do(joined, "return outbox.takeAnswer(g.sent, g.answer, g.offset_ms)", told, late_ms)
    (kept,) = do(joined, "return store.events('pour', 'p')")
    (sent,) = send(joined)["message"]["events"]
    assert sent == kept
    assert (kept["at"], kept["offset_ms"], kept["by"]) == (NOW_MS, SIX_MINUTES_MS, "phone")
    # From now on it is so from the start; what is told once is told for good.
    do(joined, "await store.append('pour', 'p', {type: 'melted'})", None, late_ms)
    assert do(joined, "return store.events('pour', 'p')")[1]["at"] == NOW_MS
    again = {"sent": send(joined), "answer": answer(), "offset_ms": 2 * SIX_MINUTES_MS}
    do(joined, "return outbox.takeAnswer(g.sent, g.answer, g.offset_ms)", again, late_ms)
    assert do(joined, "return store.events('pour', 'p')")[0] == kept


def test_a_batch_set_aside_by_a_clock_of_another_year_is_of_the_right_day(joined: Page) -> None:
    wrong_ms = NOW_MS - 365 * DAY_MS
    day = "return (await import('/words/dates.js')).localDate(g)"
    on = [do(joined, day, at) for at in (wrong_ms, NOW_MS)]
    body = "await store.append('pour', 'p', {type: 'set', at: now_ms, on: g})"
    do(joined, body, on[0], wrong_ms)
    do(joined, body, "2020-02-02", wrong_ms)
    told = {"sent": send(joined), "answer": answer(), "offset_ms": 365 * DAY_MS}
    do(joined, "return outbox.takeAnswer(g.sent, g.answer, g.offset_ms)", told, wrong_ms)
    kept = do(joined, "return store.events('pour', 'p')")
    # A day that she chose herself stays.
    assert [each["on"] for each in kept] == [on[1], "2020-02-02"]


def test_what_the_network_makes_of_the_servers_clock_moves_nothing(joined: Page) -> None:
    hear(joined, send(joined))
    body = "return (await import('/records/store.js')).timeNow()"
    for offset_ms, moved_ms in [(1900, 0), (-1900, 0), (2100, 2100), (1000, 2100), (0, 0)]:
        told = {"sent": send(joined), "answer": answer(), "offset_ms": offset_ms}
        do(joined, "return outbox.takeAnswer(g.sent, g.answer, g.offset_ms)", told)
        assert do(joined, body) == NOW_MS + moved_ms


# ---- years at once -----------------------------------------------------------------------------


def test_what_happened_goes_before_the_pours_and_after_all_else(tab: Page) -> None:
    """A pour that is heard of without its events would be on others' bench."""
    for kind in ("wax", "pour", "lot", "recipe", "fragrance"):
        do(tab, f"await store.save('{kind}', 'a', {{name: 'Dune'}})")
    do(tab, "await store.append('pour', 'a', {type: 'set', on: '2026-11-29'})")
    do(tab, "await pairing.joined(g)", HERE)
    sent = do(
        tab,
        """const { answer, read } = await import('/records/database.js');
        const rows = await read(['outbox'], ({ outbox }) => answer(outbox.getAll()));
        return rows.map(({ kind }) => kind);""",
    )
    assert sorted(sent[:-2]) == ["fragrance", "lot", "recipe", "wax"]
    assert sent[-2:] == ["event", "pour"]


STUBBED = """
  const { onChange } = await import('/records/changes.js');
  const told = [];
  const stop = onChange((changes) => told.push(changes.map(({ kind, id }) => `${kind} ${id}`)));
  const answers = [...g];
  globalThis.fetch = async (path) => {
    if (path === '/api/me') return Response.json({ csrf: 'x' });
    const next = answers.shift();
    if (!next) throw new TypeError('no signal');
    return Response.json(next);
  };
  await exchange.exchangeAll().catch(() => undefined);
  stop();
  return told;
"""


@pytest.mark.parametrize("whole", [True, False], ids=["to the end", "broken off"])
def test_what_comes_in_many_answers_is_told_once(joined: Page, whole: bool) -> None:
    pages = [
        answer(
            cursor=number + 1,
            more=number < 4 or not whole,
            records=[
                {
                    "kind": "wax",
                    "id": f"w{number}",
                    "fields": {"name": {"value": "Dune", "stamp": f"{NOW_MS:015}.0000.s{number}"}},
                }
            ],
        )
        for number in range(5)
    ]
    told = do(joined, STUBBED, pages)
    assert told == [[f"wax w{number}" for number in range(5)]]
