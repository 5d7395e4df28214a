"""The benchmark of reminders measures what it says: all that is due is sent, and what is due is
found among what is not."""

from pathlib import Path

import pytest

from benchapp.records import tables
from benchapp.records.database import Database
from benchapp.reminders import deliveries, notifications, planning, vapid_keys
from tests.benchmarks import reminders_store as store
from tests.benchmarks.reminders import NOW_MS
from tests.benchmarks.reminders_wire import bare, ours, service

pytestmark = pytest.mark.slow  # starts a push service and sends to it


def test_a_hundred_reminders_and_the_limit_beside_them(tmp_path: Path):
    key = vapid_keys.load(tmp_path)
    url = f"sqlite:///{tmp_path / 'bench.sqlite3'}"
    database = Database(url)
    with service(key.public, 10) as (trial, listeners):
        store.fill_due(database, listeners, key.public, NOW_MS)
        own = ours(url, tmp_path, trial, NOW_MS)
        assert bare(trial, listeners, 100).per_s > 0
    with database.read() as connection:
        assert deliveries.counts(connection)["sent"] == 100
        assert not notifications.is_due(connection, NOW_MS)
    database.close()
    assert 10 < own.memory < 1000


def test_one_is_due_among_many_kept(database_url: str):
    database = Database(database_url)
    store.fill_kept(database, 800, 10, NOW_MS)
    with database.write() as connection:
        assert not planning.is_behind(connection)
        assert not notifications.is_due(connection, NOW_MS)
        waiting = tables.reminder.c.waits_ms.is_not(None)
        assert len(connection.execute(tables.reminder.select().where(waiting)).all()) == 78
        assert len(connection.execute(tables.delivery.select()).all()) == 800
        store.fall_due(connection, NOW_MS)
        assert notifications.is_due(connection, NOW_MS)
        assert notifications.fall_due(connection, NOW_MS) == 1
    database.close()
