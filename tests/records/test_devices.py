"""Devices: who is let in by a secret, who is revoked, and when each was seen."""

import threading
from dataclasses import dataclass

import pytest
from sqlalchemy import select, text

from benchapp.records import devices, tables, workshops
from benchapp.records.database import Database
from benchapp.records.devices import Device
from tests.records.conftest import NOW

MINUTE = 60_000


@dataclass(frozen=True)
class Paired:
    """A device, and its secret."""

    device: Device
    secret: str


@pytest.fixture
def paired(store, shop):
    return Paired(*devices.add_device(store, shop, "Android phone", "x", NOW))


def cookie(paired):
    return f"{paired.device.id}.{paired.secret}"


def test_the_secret_is_the_way_in(store, paired):
    found = devices.device_of(store, cookie(paired))
    assert found == paired.device


@pytest.mark.parametrize(
    "spoil",
    [
        lambda known: known[:-1],
        lambda known: known + "A",
        lambda known: known.replace(".", ""),
        lambda known: known.replace(".", ".."),
        lambda known: known.upper(),
        lambda known: known.partition(".")[0] + ".",
        lambda known: "." + known.partition(".")[2],
        lambda known: "0" * 16 + "." + known.partition(".")[2],
        lambda known: "' OR 1=1 --." + known.partition(".")[2],
        lambda known: "\x00." + known.partition(".")[2],
        lambda known: "\ud800." + "\ud800",
        lambda known: "",
        lambda known: "." * 9000,
    ],
)
def test_anything_else_is_not(store, paired, spoil):
    assert devices.device_of(store, spoil(cookie(paired))) is None


def test_the_hash_that_is_kept_is_no_way_in(store, paired):
    kept = store.scalar(select(tables.device.c.secret_sha256))
    assert devices.device_of(store, f"{paired.device.id}.{kept}") is None


def test_a_revoked_device_stays_outside(store, shop, paired):
    assert devices.is_anyone_paired(store)
    assert devices.revoke(store, shop, paired.device.id, NOW + 5)
    assert devices.device_of(store, cookie(paired)) is None
    assert not devices.is_anyone_paired(store)
    # Once more changes nothing, not even the time; and no name brings it back.
    assert devices.revoke(store, shop, paired.device.id, NOW + 9)
    assert not devices.rename(store, shop, paired.device.id, "Back")
    assert [each.revoked_ms for each in devices.list_devices(store, shop, NOW + 9)] == [NOW + 5]
    assert devices.list_devices(store, shop, NOW + 31 * 24 * 60 * MINUTE) == []


def test_another_workshop_reaches_no_device(store, shop, paired):
    other = workshops.make_workshop(store, "Second", NOW)["id"]
    assert devices.list_devices(store, other, NOW) == []
    assert not devices.rename(store, other, paired.device.id, "Mine")
    assert not devices.revoke(store, other, paired.device.id, NOW)
    assert devices.device_of(store, cookie(paired)) == paired.device


def test_when_it_was_seen_is_written_once_a_minute(store, shop, paired):
    assert not devices.is_seen_due(paired.device, NOW + MINUTE - 1)
    assert devices.is_seen_due(paired.device, NOW + MINUTE)
    devices.mark_seen(store, paired.device, NOW + MINUTE)
    assert [each.seen_ms for each in devices.list_devices(store, shop, NOW)] == [NOW + MINUTE]


def someone_waits(database):
    """Whether a transaction waits for another one to end."""
    if database._shared is not None:
        return bool(database._shared._queue._waiting)
    with database.read() as connection:
        asked = text("SELECT count(*) FROM pg_locks WHERE NOT granted")
        return connection.scalar(asked) > 0


def test_nobody_is_revoked_while_it_is_held(database_url):
    database = Database(database_url)
    with database.write() as connection:
        shop = workshops.make_workshop(connection, "Shop", NOW)["id"]
        paired = Paired(*devices.add_device(connection, shop, "Android phone", "x", NOW))
    done = []

    def revoke():
        with database.write() as connection:
            assert devices.revoke(connection, shop, paired.device.id, NOW)
        done.append("revoked")

    with database.write() as connection:
        assert devices.device_of(connection, cookie(paired), hold=True)
        other = threading.Thread(target=revoke)
        other.start()
        while not someone_waits(database) and not done:
            threading.Event().wait(0.005)
        done.append("written")
    other.join()
    assert done == ["written", "revoked"]
    with database.read() as connection:
        assert devices.device_of(connection, cookie(paired)) is None
    database.close()
