"""Any phones, any network, any clocks: in the end all know the same, and nothing made is missing.

The phones are the real store and outbox in a real browser, the server is the real exchange on a
real database. Between them messages are lost, repeated, delayed and reordered, the server dies
between any two statements, clocks are wrong and change, and old copies of the database are put
back.
"""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    precondition,
    rule,
    run_state_machine_as_test,
)
from playwright.sync_api import Browser, Page
from sqlalchemy import event as sql_event
from sqlalchemy import insert, select, update

import benchapp.records.exchange
from benchapp.records import tables, workshops
from benchapp.records.database import Database
from benchapp.records.exchange import exchange, read_message
from benchapp.records.merge import plain_values
from tests.in_page import ask

Json = Any

PHONES = 3
START_MS = 1_764_000_000_000
DAY_MS = 86_400_000
#: right, a little fast, a lot fast, slow, far slow
CLOCKS = [0, 0, 0, 5 * 60_000, 3 * DAY_MS, 400 * DAY_MS, -3_600_000, -2000 * DAY_MS]

_MODULES = """
  const store = await import('/records/store.js');
  const outbox = await import('/records/outbox.js');
  const exchange = await import('/records/exchange.js');
  const pairing = await import('/records/pairing.js');
  const merge = await import('/records/merge.js');
  const settle = await import('/records/settle.js');
"""

NEXT = "return outbox.nextMessage();"


class Died(Exception):
    """The server was killed."""


class Phone:
    """One phone, and its clock."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.skew_ms = 0

    def do(self, now_ms: int, body: str, given: Json = None) -> Json:
        return ask(
            self.page,
            f"""async ([now_ms, g]) => {{
              Date.now = () => now_ms;
              {_MODULES}
              {body}
            }}""",
            [now_ms + self.skew_ms, given],
        )

    def wipe(self, workshop_id: str, name: str) -> None:
        self.skew_ms = 0
        self.do(
            START_MS,
            """const { write } = await import('/records/database.js');
            await write(['records', 'events'], async (stores) => {
              for (const each of Object.values(stores)) each.clear();
            });
            await pairing.joined(g);""",
            {"workshop": {"id": workshop_id, "name": "W"}, "device": {"id": name, "name": name}},
        )


class Server:
    """The exchange on a database, which can be killed and put back."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self.statements_left: int | None = None
        sql_event.listen(database.engine, "before_cursor_execute", self._count)
        sql_event.listen(database.engine, "commit", self._count)
        with database.write() as connection:
            self.workshop_id = str(workshops.make_workshop(connection, "W", START_MS)["id"])

    def _count(self, *_: Any) -> None:
        if self.statements_left is None:
            return
        self.statements_left -= 1
        if self.statements_left < 0:
            raise Died

    def exchange(self, message: Json, now_ms: int, dies_after: int | None = None) -> Json:
        """The answer as the phone reads it. Raises Died."""
        read = read_message(json.loads(json.dumps(message)))
        self.statements_left = dies_after
        try:
            with self.database.read() if read.is_empty else self.database.write() as connection:
                answer = exchange(connection, self.workshop_id, read, now_ms)
        finally:
            self.statements_left = None
        return {
            "now_ms": now_ms,
            "era": answer.era,
            "cursor": answer.cursor,
            "restart": answer.restart,
            "more": answer.more,
            "refused": [vars(refusal) for refusal in answer.refused],
            "records": [json.loads(text) for text in answer.records],
            "events": [json.loads(text) for text in answer.events],
        }

    def state(self) -> tuple[Json, Json]:
        """Records and events, as the phones hold them."""
        records, events = tables.record, tables.event
        with self.database.read() as connection:
            rows = connection.execute(
                select(records).where(records.c.workshop_id == self.workshop_id)
            )
            found = {f"{r.kind} {r.id}": json.loads(r.fields) for r in rows}
            kept = connection.execute(
                select(events).where(events.c.workshop_id == self.workshop_id)
            )
            return found, {row.id: json.loads(row.body) for row in kept}

    def copy(self) -> dict[str, list[dict[str, Any]]]:
        with self.database.read() as connection:
            return {
                table.name: [dict(row._mapping) for row in connection.execute(select(table))]
                for table in (tables.workshop, tables.record, tables.event)
            }

    def put_back(self, copy: dict[str, list[dict[str, Any]]], era: str) -> None:
        with self.database.write() as connection:
            for table in (tables.event, tables.record):
                connection.execute(table.delete())
                if copy[table.name]:
                    connection.execute(insert(table), copy[table.name])
            (shop,) = copy["workshop"]
            connection.execute(update(tables.workshop).values({**shop, "era": era}))


class Workshop(RuleBasedStateMachine):
    """Everything that can happen between three phones and their server."""

    def __init__(self, phones: list[Phone], server: Server) -> None:
        super().__init__()
        self.phones = phones
        self.server = server
        self.now_ms = START_MS
        self.made = 0
        self.eras = 0
        self.values: set[str] = set()
        self.spoiled: set[tuple[int, str]] = set()
        self.under_way: list[tuple[int, Json]] = []
        self.answers: list[tuple[int, Json, Json, int]] = []
        self.copies = [server.copy()]
        for number, phone in enumerate(phones):
            phone.wipe(server.workshop_id, f"phone{number}")

    def fresh(self) -> str:
        self.made += 1
        value = f"v{self.made}"
        self.values.add(value)
        return value

    # ---- what she does -------------------------------------------------------------------------

    @rule(
        who=st.integers(0, PHONES - 1),
        which=st.sampled_from("ab"),
        field=st.sampled_from(["name", "notes"]),
    )
    def edit(self, who: int, which: str, field: str) -> None:
        value = self.fresh()
        self.phones[who].do(
            self.now_ms,
            """const name = (await store.get('wick', g.id))?.name ?? g.value;
            await store.save('wick', g.id, { name, [g.field]: g.value });""",
            {"id": which, "field": field, "value": value},
        )

    @rule(who=st.integers(0, PHONES - 1), which=st.sampled_from("ab"), gone=st.booleans())
    def delete(self, who: int, which: str, gone: bool) -> None:
        self.phones[who].do(
            self.now_ms,
            """if (!(await store.get('wick', g.id))) return;
            await store.save('wick', g.id, { deleted: g.gone });""",
            {"id": which, "gone": gone},
        )

    @rule(who=st.integers(0, PHONES - 1), which=st.sampled_from("ab"))
    def take_back(self, who: int, which: str) -> None:
        """Settle a clash by letting the other value stand."""
        self.phones[who].do(
            self.now_ms,
            """const fields = (await store.getStored('wick', g))?.fields ?? {};
            for (const name of Object.keys(fields)) {
              const [other] = merge.clashes(fields, name);
              if (other) await settle.settle('wick', g, name, other.value);
            }""",
            which,
        )

    @rule(who=st.integers(0, PHONES - 1), which=st.sampled_from("ab"))
    def spoil(self, who: int, which: str) -> None:
        """A value that the server refuses, as an older bench might let through."""
        done = self.phones[who].do(
            self.now_ms,
            """if (!(await store.get('wick', g))) return false;
            await store.save('wick', g, { size: 7 });
            return true;""",
            which,
        )
        if done:
            self.spoiled.add((who, which))

    @rule(who=st.integers(0, PHONES - 1), pour=st.sampled_from(["p", "q"]), undo=st.booleans())
    def pour(self, who: int, pour: str, undo: bool) -> None:
        text = self.fresh()
        self.phones[who].do(
            self.now_ms,
            """const last = (await store.events('pour', g.pour)).at(-1)?.id ?? null;
            const noted = { type: 'noted', at: 1, text: g.text };
            const { id: event } = await store.append('pour', g.pour, noted, last);
            if (g.undo) await store.append('pour', g.pour, { type: 'undone', at: 2, event });""",
            {"pour": pour, "text": text, "undo": undo},
        )

    # ---- what the network and the clocks do ----------------------------------------------------

    @rule(who=st.integers(0, PHONES - 1))
    def send(self, who: int) -> None:
        sent = self.phones[who].do(self.now_ms, NEXT)
        self.under_way.append((who, sent))

    @rule(who=st.integers(0, PHONES - 1))
    def talk(self, who: int) -> None:
        self.round(who, self.phones[who].do(self.now_ms, NEXT))

    @precondition(lambda self: self.under_way)
    @rule(which=st.integers(0, 99), again=st.booleans(), heard=st.booleans())
    def deliver(self, which: int, again: bool, heard: bool) -> None:
        place = which % len(self.under_way)
        who, sent = self.under_way[place]
        if not again:
            del self.under_way[place]
        answer = self.server.exchange(sent["message"], self.now_ms)
        if heard:
            self.hear(who, sent, answer)
        else:
            self.answers.append((who, sent, answer, self.phones[who].skew_ms))

    @precondition(lambda self: self.under_way)
    @rule(which=st.integers(0, 99), statements=st.integers(0, 9))
    def deliver_to_a_server_that_dies(self, which: int, statements: int) -> None:
        _, sent = self.under_way[which % len(self.under_way)]
        before = self.server.state()
        try:
            self.server.exchange(sent["message"], self.now_ms, dies_after=statements)
        except Died:
            assert self.server.state() == before

    @precondition(lambda self: self.answers)
    @rule(which=st.integers(0, 99), again=st.booleans())
    def hear_late(self, which: int, again: bool) -> None:
        place = which % len(self.answers)
        who, sent, answer, _ = self.answers[place]
        if not again:
            del self.answers[place]
        self.hear(who, sent, answer)

    @precondition(lambda self: self.under_way)
    @rule(which=st.integers(0, 99))
    def lose(self, which: int) -> None:
        del self.under_way[which % len(self.under_way)]

    def hear(self, who: int, sent: Json, answer: Json) -> Json:
        """Take the answer; what it says next."""
        given = {"sent": sent, "answer": answer, "offset_ms": -self.phones[who].skew_ms}
        taking = "await outbox.takeAnswer(g.sent, g.answer, g.offset_ms);"
        return self.phones[who].do(self.now_ms, f"{taking} {NEXT}", given)

    @rule(ms=st.sampled_from([0, 1, 999, 60_000, DAY_MS]))
    def wait(self, ms: int) -> None:
        self.now_ms += ms

    @rule(who=st.integers(0, PHONES - 1), skew_ms=st.sampled_from(CLOCKS))
    def turn_the_clock(self, who: int, skew_ms: int) -> None:
        self.phones[who].skew_ms = skew_ms

    @rule()
    def copy(self) -> None:
        self.copies.append(self.server.copy())

    @rule(which=st.integers(0, 99))
    def put_a_copy_back(self, which: int) -> None:
        self.eras += 1
        self.server.put_back(self.copies[which % len(self.copies)], f"era{self.eras}")

    # ---- in the end ----------------------------------------------------------------------------

    def teardown(self) -> None:
        for who, which in sorted(self.spoiled):
            self.phones[who].do(self.now_ms, "await store.save('wick', g, { size: '7' });", which)
        sent = [phone.do(self.now_ms, NEXT) for phone in self.phones]
        for _ in range(40):
            quiet = []
            for who in range(PHONES):
                is_quiet, sent[who] = self.round(who, sent[who])
                quiet.append(is_quiet)
            if all(quiet):
                break
        else:
            raise AssertionError("They never came to rest.")
        records, events = self.server.state()
        for phone in self.phones:
            kept, waiting = phone.do(
                self.now_ms,
                "return [await store.everything(), (await outbox.waiting()).count];",
            )
            assert {f"{r['kind']} {r['id']}": r["fields"] for r in kept["records"]} == records
            assert {e["id"]: e for e in kept["events"]} == events
            # And both sides read it alike: who is deleted, and what stands.
            shown = phone.do(self.now_ms, "return g.map(merge.plainRecord);", kept["records"])
            for record, plain in zip(kept["records"], shown, strict=True):
                named = {"kind": record["kind"], "id": record["id"]}
                assert plain == named | plain_values(record["fields"])
            assert waiting == 0
        found = json.dumps([records, events])
        missing = {value for value in self.values if f'"{value}"' not in found}
        assert not missing, f"Made on a phone and lost: {missing}"
        undone = [each["event"] for each in events.values() if each["type"] == "undone"]
        assert set(undone) <= set(events), "An undo names an event that is not there."
        texts = [each["text"] for each in events.values() if each["type"] == "noted"]
        assert len(texts) == len(set(texts)), "An event is there twice."

    def round(self, who: int, sent: Json) -> tuple[bool, Json]:
        """One exchange: whether there was nothing to say and nothing to hear; what it says next."""
        answer = self.server.exchange(sent["message"], self.now_ms)
        after = self.hear(who, sent, answer)
        told = answer["records"] or answer["events"] or answer["restart"] or answer["more"]
        # Once the server's clock is heard, what happened is said as well.
        return not sent["rows"] and not after["rows"] and not told, after


@pytest.fixture(scope="module")
def phones(browser: Browser, records_url: str) -> Iterator[list[Phone]]:
    contexts = [browser.new_context() for _ in range(PHONES)]
    pages = [context.new_page() for context in contexts]
    for page in pages:
        page.goto(records_url)
    yield [Phone(page) for page in pages]
    for context in contexts:
        context.close()


def test_a_step_that_is_set_right_falls_on_no_other(phones: list[Phone], database_url: str) -> None:
    """Two steps of one moment, the second by a clock that ran ahead: set right, both are there."""
    database = Database(database_url)
    workshop = Workshop(phones, Server(database))
    workshop.pour(who=0, pour="p", undo=False)
    workshop.turn_the_clock(who=0, skew_ms=400 * DAY_MS)
    workshop.pour(who=0, pour="p", undo=False)
    workshop.teardown()
    database.close()


def test_all_come_to_know_the_same_and_nothing_is_lost(
    phones: list[Phone], database_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    database = Database(database_url)
    monkeypatch.setattr(benchapp.records.exchange, "PAGE_ITEMS", 2)

    def play() -> Workshop:
        with database.write() as connection:
            for table in (tables.event, tables.record, tables.workshop):
                connection.execute(table.delete())
        return Workshop(phones, Server(database))

    many = 36 if database.is_sqlite else 12
    quick = settings(
        max_examples=many,
        stateful_step_count=40,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(play, settings=quick)
    database.close()
