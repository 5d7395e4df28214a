"""Two that write at the same moment, on PostgreSQL: on SQLite there is one writer.

`Meanwhile` lets a second transaction run in the middle of a first, at a statement of it, as far as
it gets: until it has ended, or waits for a lock that the first one holds.
"""

from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

import pytest
from sqlalchemy import Connection, event, text

from benchapp.records import devices, tables
from benchapp.records.database import Database
from benchapp.records.devices import Device
from benchapp.reminders import notifications, planning
from benchapp.reminders.notifications import Bell
from tests.reminders.conftest import KEY, Shop
from tests.reminders.push_service import PushService

_WAITS = text(
    "SELECT count(*) FROM pg_stat_activity"
    " WHERE usename = current_user AND wait_event_type = 'Lock'"
)


class Meanwhile:
    """Runs `second` just before the first statement that begins with `before`, once."""

    def __init__(self, database: Database, before: str, second: Callable[[], Any]) -> None:
        self.database = database
        self.before = before
        self.second = second
        self.pool = ThreadPoolExecutor(1)
        self.running: Future[Any] | None = None

    def __enter__(self) -> "Meanwhile":
        event.listen(self.database.engine, "before_cursor_execute", self._at_statement)
        return self

    def __exit__(self, *_: object) -> None:
        event.remove(self.database.engine, "before_cursor_execute", self._at_statement)
        assert self.running is not None, f"No statement began with {self.before!r}."
        self.running.result(20)
        self.pool.shutdown()

    def _at_statement(self, _connection: Any, _cursor: Any, statement: str, *_: Any) -> None:
        if self.running is None and statement.startswith(self.before):
            self.running = Future()
            self.running = self.pool.submit(self.second)
            while not self.running.done() and not self._waits():
                pass

    def _waits(self) -> bool:
        with self.database.read() as connection:
            return bool(connection.scalar(_WAITS))


@pytest.fixture
def shop(postgres: Any, service: PushService) -> Iterator[Shop]:
    database = Database(postgres.new_database())
    made = Shop(database, service, "2026-11-25T12:00")
    yield made
    made.sender.close()
    database.close()


def in_transaction(shop: Shop, work: Callable[[Connection], Any]) -> Callable[[], Any]:
    def run() -> Any:
        with shop.database.write() as connection:
            return work(connection)

    return run


def test_of_two_sets_of_bells_one_stays(shop: Shop) -> None:
    device, _ = shop.phone()

    def ring(jug: int) -> Callable[[], Any]:
        bell = Bell("pour", "p1", jug, shop.now_ms + 60_000, "Pour", "")
        return in_transaction(
            shop,
            lambda connection: notifications.set_bells(connection, device.id, [bell], shop.now_ms),
        )

    with Meanwhile(shop.database, "INSERT INTO delivery", ring(1)):
        ring(0)()
    assert len(shop.rows(tables.delivery, "about")) == 1


def test_a_device_that_subscribes_twice_at_once_listens_where_it_said_last(shop: Shop) -> None:
    device, _ = shop.phone(listens=False)
    first, last = shop.service.subscribe(KEY.public), shop.service.subscribe(KEY.public)

    def subscribe(subscriber: Any) -> Callable[[], Any]:
        return in_transaction(shop, lambda connection: shop.listen(device, subscriber, connection))

    with Meanwhile(shop.database, "INSERT INTO subscription", subscribe(last)):
        subscribe(first)()
    assert shop.rows(tables.subscription, "endpoint") == [(last.endpoint,)]


def test_of_two_devices_at_one_endpoint_the_last_listens(shop: Shop) -> None:
    """A browser that was paired anew is another device."""
    (old, subscriber), (new, _) = shop.phone(listens=False), shop.phone(listens=False)

    def subscribe(device: Device) -> Callable[[], Any]:
        return in_transaction(shop, lambda connection: shop.listen(device, subscriber, connection))

    with Meanwhile(shop.database, "INSERT INTO subscription", subscribe(new)):
        subscribe(old)()
    assert shop.rows(tables.subscription, "device_id") == [(new.id,)]


def test_a_device_that_is_revoked_while_it_subscribes_listens_nowhere(shop: Shop) -> None:
    device, subscriber = shop.phone(listens=False)
    revoke = in_transaction(
        shop, lambda connection: devices.revoke(connection, shop.id, device.id, shop.now_ms)
    )
    with Meanwhile(shop.database, "INSERT INTO subscription", revoke):
        in_transaction(shop, lambda connection: shop.listen(device, subscriber, connection))()
    assert shop.rows(tables.subscription) == []


def test_a_device_that_was_revoked_just_before_listens_nowhere(shop: Shop) -> None:
    device, subscriber = shop.phone(listens=False)
    with shop.database.write() as connection:
        assert devices.revoke(connection, shop.id, device.id, shop.now_ms)
        shop.listen(device, subscriber, connection)
    assert shop.rows(tables.subscription) == []


def test_two_phones_that_tell_the_first_zone_at_once_are_both_heard(shop: Shop) -> None:
    def tell(zone: str) -> Callable[[], Any]:
        return in_transaction(
            shop, lambda connection: planning.tell_zone(connection, shop.id, zone)
        )

    with Meanwhile(shop.database, "INSERT INTO planned", tell("Asia/Tokyo")):
        tell("Europe/Lisbon")()
    assert shop.rows(tables.planned, "zone") == [("Asia/Tokyo",)]


def test_a_zone_that_is_told_while_reminders_are_reckoned_is_not_forgotten(shop: Shop) -> None:
    shop.in_zone("Europe/Lisbon")
    shop.pour("p1", "2026-11-25")
    tell = in_transaction(
        shop, lambda connection: planning.tell_zone(connection, shop.id, "Asia/Tokyo")
    )
    with Meanwhile(shop.database, "UPDATE planned", tell):
        in_transaction(shop, lambda connection: planning.plan(connection, shop.now_ms))()
    shop.works()
    due_ms = {at_ms for (at_ms,) in shop.rows(tables.reminder, "due_ms")}
    # Nine in the morning in Tokyo is midnight in UTC.
    assert due_ms == {at_ms - at_ms % 86_400_000 for at_ms in due_ms}
