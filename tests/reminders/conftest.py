"""A workshop with phones that listen at a push service of the tests, and a worker beside it."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from sqlalchemy import select

from benchapp.records.database import Database
from benchapp.records.devices import Device
from benchapp.records.exchange import exchange, read_message
from benchapp.records.pairing_codes import make_code, pair
from benchapp.records.workshops import make_workshop
from benchapp.reminders import planning, subscriptions, vapid_keys
from benchapp.reminders.dispatch import Worker
from benchapp.reminders.push import Sender
from tests.reminders.push_service import PushService, Subscriber, push_service

Json = Any
KEY = vapid_keys.VapidKey(vapid_keys.ec.generate_private_key(vapid_keys.ec.SECP256R1()))
CONTACT = "mailto:bench@example.net"


def ms(text: str) -> int:
    """Milliseconds since 1970 of a time in UTC, such as '2026-11-25T09:00'."""
    return round(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp() * 1000)


def sheet(**given: Json) -> Json:
    """A pour sheet, as far as the server reads it."""
    return {
        **{"title": "Wet slate", "count": 12, "vessel": {"name": "tin 120"}},
        **{"jug": {}, "jugs": [], "cure_least_days": 7, "cure_best_days": 14},
        **given,
    }


class Shop:
    """A workshop on the server, with a clock that is set by hand."""

    def __init__(self, database: Database, service: PushService, now: str) -> None:
        self.database = database
        self.service = service
        self.now_ms = ms(now)
        self.sender = Sender(KEY, CONTACT, trial=service.trial)
        self._count = 0
        with database.write() as connection:
            self.id: str = make_workshop(connection, "Tallow Lane", self.now_ms)["id"]

    def at(self, now: str) -> None:
        self.now_ms = ms(now)

    def phone(self, name: str = "phone", *, listens: bool = True) -> tuple[Device, Subscriber]:
        """A paired phone, and where it listens."""
        subscriber = self.service.subscribe(KEY.public)
        with self.database.write() as connection:
            code, _ = make_code(connection, self.id, self.now_ms)
            done: Any = pair(
                connection, code, name=name, agent="", address=name, now_ms=self.now_ms
            )
            if listens:
                self.listen(done.device, subscriber, connection)
        return done.device, subscriber

    def listen(self, device: Device, subscriber: Subscriber, connection: Any) -> None:
        subscriptions.subscribe(
            connection,
            device,
            endpoint=subscriber.endpoint,
            p256dh=subscriber.p256dh,
            auth=subscriber.auth,
            app_key=KEY.public,
            origin="https://bench.example.net/",
            now_ms=self.now_ms,
        )

    def stamp(self) -> str:
        self._count += 1
        return f"{self.now_ms:015d}.{self._count:04d}.a"

    def keep(self, kind: str, id_: str, **values: Json) -> None:
        """Some fields of a record, as a phone sends them."""
        stamp = self.stamp()
        fields = {name: {"value": value, "stamp": stamp} for name, value in values.items()}
        self._exchange([{"kind": kind, "id": id_, "fields": fields}], [])

    def happens(self, pour: str, type_: str, **told: Json) -> str:
        """An event of a pour, as a phone sends it; its id."""
        id_ = self.stamp()
        event = {"id": id_, "of": ["pour", pour], "type": type_, "at": self.now_ms, **told}
        self._exchange([], [event])
        return id_

    def pour(self, id_: str, on: str, **given: Json) -> str:
        """A pour that was set aside; the id of that event."""
        self.keep("pour", id_, name="Wet slate", sheet=sheet(**given), started_at=self.now_ms)
        return self.happens(id_, "set", on=on)

    def _exchange(self, records: list[Json], events: list[Json]) -> None:
        message = read_message({"era": None, "cursor": 0, "records": records, "events": events})
        with self.database.write() as connection:
            answer = exchange(connection, self.id, message, self.now_ms)
        assert not answer.refused, answer.refused

    def in_zone(self, zone: str) -> None:
        with self.database.write() as connection:
            planning.tell_zone(connection, self.id, zone)

    def worker(self, **given: Any) -> Worker:
        return Worker(self.database, self.sender, KEY.public, lambda: self.now_ms, **given)

    def works(self, now: str | None = None) -> None:
        """A worker does all that there is to do."""
        if now is not None:
            self.at(now)
        with self.worker() as worker:
            worker.once()

    def rows(self, table: Any, *columns: str) -> list[Any]:
        asked = select(*(table.c[name] for name in columns)) if columns else select(table)
        with self.database.read() as connection:
            return [tuple(row) for row in connection.execute(asked)]

    def told(self) -> list[Json]:
        """What the push service was sent, as the phones read it."""
        assert self.service.problems == []
        return [json.loads(push.data) for push in self.service.received]

    def titles(self) -> list[str]:
        return [each["notification"]["title"] for each in self.told()]


@pytest.fixture
def service() -> Iterator[PushService]:
    with push_service() as started:
        yield started


@pytest.fixture
def shop(database_url: str, service: PushService) -> Iterator[Shop]:
    database = Database(database_url)
    made = Shop(database, service, "2026-11-25T12:00")
    made.in_zone("Europe/Lisbon")
    yield made
    made.sender.close()
    database.close()
