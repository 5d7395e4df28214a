"""What a server asks its PostgreSQL all day takes no longer with more workshops: each statement is
answered from an index."""

from typing import Any

import pytest

from benchapp.records import devices
from benchapp.records.database import Database
from benchapp.records.exchange import exchange, read_message
from benchapp.reminders import deliveries, notifications, planning
from benchapp.reminders.push import Outcome
from tests.benchmarks import workshops_store as store
from tests.query_plans import statements_of, whole_reads

pytestmark = pytest.mark.slow  # starts PostgreSQL

NOW_MS = 1_795_680_000_000
KEY = "key"


@pytest.fixture(scope="module")
def database(postgres: Any) -> Any:
    made = Database(postgres.new_database())
    listeners = [(f"https://push.test/push/{n}", "p", "a") for n in range(3)]
    store.fill(made, 3, NOW_MS, pours=2, listeners=listeners, app_key=KEY)
    yield made
    made.close()


def a_day(database: Database) -> None:
    """A phone exchanges and listens, and a worker looks, reckons, and sends."""
    stamp = f"{NOW_MS:015d}.0000.phone"
    record = {"kind": "wax", "id": "wax", "fields": {"name": {"value": "Dune", "stamp": stamp}}}
    noted = {"id": stamp, "of": ["pour", "pour0"], "type": "noted", "at": NOW_MS, "text": "cold"}
    for cursor, sent in ((0, {}), (1, {"records": [record], "events": [noted]})):
        message = read_message({"era": "era", "cursor": cursor, **sent})
        with database.write() as connection:
            device = devices.device_of(connection, store.cookie(1, "a"), hold=bool(sent))
            assert device is not None
            assert not exchange(connection, device.workshop_id, message, NOW_MS).refused
            devices.mark_seen(connection, device, NOW_MS)
            devices.reached(connection, [device.id])
    with database.write() as connection:
        assert planning.plan(connection, NOW_MS)
        planning.tell_zone(connection, "w1", "Europe/Lisbon")
    store.let_fall_due(database, NOW_MS)
    with database.write() as connection:
        assert notifications.is_due(connection, NOW_MS)
        assert notifications.fall_due(connection, NOW_MS) == 6
    with database.write() as connection:
        assert deliveries.is_due(connection, NOW_MS, KEY)
        parcels = deliveries.claim(connection, NOW_MS, KEY, most=10)
        assert len(parcels) == 6
    with database.write() as connection:
        deliveries.settle(
            connection, [(each, Outcome("sent", 201, "")) for each in parcels], NOW_MS
        )
        deliveries.prune(connection, NOW_MS)


def test_no_statement_of_a_day_reads_a_whole_table(database: Database) -> None:
    with statements_of(database) as sent:
        a_day(database)
    assert len(sent) > 20
    found = whole_reads(database, sent, forced=True)
    # Which workshops changed is found by holding each one's number against what was reckoned.
    behind = {asked for asked in found if "LEFT OUTER JOIN planned" in asked}
    assert {asked: found[asked] for asked in found.keys() - behind} == {}


def test_a_statement_without_an_index_is_seen(database: Database) -> None:
    """A guard for the test above."""
    asked = [("SELECT id FROM event WHERE body = 'x'", ()), ("SELECT id FROM device", ())]
    assert set(whole_reads(database, asked, forced=True).values()) >= {"event"}
