"""The devices that may come into workshops. `pairing_codes` lets them in.

A device shows a secret of 32 random bytes, of which the server keeps only the SHA-256. One that is
revoked stays outside.
"""

import hashlib
import hmac
import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import (
    Connection,
    RowMapping,
    Select,
    bindparam,
    delete,
    func,
    insert,
    select,
    update,
)

from benchapp.records import tables
from benchapp.records.names import checked_name

SEEN_MS = 60_000
"""When a device was last seen is written at most this often."""

_SHOW_REVOKED_MS = 30 * 24 * 3_600_000
_MOST_AGENT = 200


@dataclass(frozen=True)
class Device:
    """A paired device, and the workshop that it may come into."""

    id: str
    name: str
    workshop_id: str
    workshop_name: str
    made_ms: int
    seen_ms: int
    revoked_ms: int | None


def add_device(
    connection: Connection, workshop_id: str, name: str, agent: str, now_ms: int
) -> tuple[Device, str]:
    """Let another device into a workshop; return it and its secret, which is told this once.

    ``agent`` is what its browser calls itself.
    """
    secret = secrets.token_urlsafe(32)
    made = {
        "id": secrets.token_hex(8),
        "workshop_id": workshop_id,
        "name": name,
        "secret_sha256": sha256_of(secret),
        "agent": "".join(each for each in agent if each.isprintable())[:_MOST_AGENT],
        "made_ms": now_ms,
        "seen_ms": now_ms,
    }
    connection.execute(insert(tables.device).values(made))
    row = _row(connection, str(made["id"]))
    assert row is not None  # noqa: S101  (just written)
    return _device(row), secret


def device_of(connection: Connection, cookie: str, *, hold: bool = False) -> Device | None:
    """The device that shows this cookie (``<id>.<secret>``), or None: unknown, wrong or revoked.

    With `hold` it is not revoked before the transaction ends, which must be one that may write.
    """
    device_id, _, secret = cookie.partition(".")
    can_be = device_id.isascii() and device_id.isalnum()
    row = _row(connection, device_id, hold=hold) if can_be else None
    kept = row["secret_sha256"] if row else sha256_of("")
    right = hmac.compare_digest(kept, sha256_of(secret))
    return _device(row) if row and right and row["revoked_ms"] is None else None


def mark_seen(connection: Connection, device: Device, now_ms: int) -> None:
    """Write down that a device was there."""
    connection.execute(
        update(tables.device)
        .where(tables.device.c.id == device.id, tables.device.c.workshop_id == device.workshop_id)
        .values(seen_ms=now_ms)
    )


def is_seen_due(device: Device, now_ms: int) -> bool:
    """Whether `mark_seen` is due."""
    return abs(now_ms - device.seen_ms) >= SEEN_MS


def list_devices(connection: Connection, workshop_id: str, now_ms: int) -> list[Device]:
    """Who is paired with a workshop, the last seen first; then who was revoked in 30 days."""
    table = tables.device
    rows = connection.execute(
        _joined()
        .where(
            table.c.workshop_id == workshop_id,
            table.c.revoked_ms.is_(None) | (table.c.revoked_ms > now_ms - _SHOW_REVOKED_MS),
        )
        .order_by(table.c.revoked_ms.is_not(None), table.c.seen_ms.desc(), table.c.id)
    )
    return [_device(row) for row in rows.mappings()]


def rename(connection: Connection, workshop_id: str, device_id: str, name: str) -> bool:
    """Give a device another name. False: the workshop has none of that id. Raises InputError where
    the name can't be one."""
    return _change(connection, workshop_id, device_id, {"name": checked_name(name)})


def revoke(connection: Connection, workshop_id: str, device_id: str, now_ms: int) -> bool:
    """Let a device in no more, from this moment on, and forget where it listens. False: the
    workshop has none of that id."""
    if _change(connection, workshop_id, device_id, {"revoked_ms": now_ms}):
        listens = tables.subscription
        connection.execute(delete(listens).where(listens.c.device_id == device_id))
        return True
    return _is_there(connection, workshop_id, device_id)


def reached(connection: Connection, device_ids: Iterable[str]) -> dict[str, str]:
    """How far the workshop of each device has come, its era and number; a device that may not come
    in is left out."""
    device, workshop = tables.device, tables.workshop
    rows = connection.execute(
        select(device.c.id, workshop.c.era, workshop.c.seq)
        .join(workshop, workshop.c.id == device.c.workshop_id)
        .where(device.c.id.in_(list(device_ids)), device.c.revoked_ms.is_(None))
    )
    return {id_: f"{era} {seq}" for id_, era, seq in rows}


def is_anyone_paired(connection: Connection) -> bool:
    """Whether any device may come in, to any workshop."""
    query = select(func.count()).where(tables.device.c.revoked_ms.is_(None))
    return bool(connection.scalar(query))


def _change(
    connection: Connection, workshop_id: str, device_id: str, values: dict[str, object]
) -> bool:
    table = tables.device
    which = (table.c.id == device_id, table.c.workshop_id == workshop_id)
    changed = connection.execute(
        update(table).where(*which, table.c.revoked_ms.is_(None)).values(values)
    )
    return changed.rowcount == 1


def _is_there(connection: Connection, workshop_id: str, device_id: str) -> bool:
    row = _row(connection, device_id)
    return row is not None and row["workshop_id"] == workshop_id


def _joined() -> Select[Any]:
    return select(tables.device, tables.workshop.c.name.label("workshop_name")).join(
        tables.workshop, tables.workshop.c.id == tables.device.c.workshop_id
    )


_BY_ID = _joined().where(tables.device.c.id == bindparam("device_id"))
_BY_ID_HELD = _BY_ID.with_for_update(of=tables.device)


def _row(connection: Connection, device_id: str, *, hold: bool = False) -> RowMapping | None:
    found = connection.execute(_BY_ID_HELD if hold else _BY_ID, {"device_id": device_id})
    return found.mappings().first()


def _device(row: RowMapping) -> Device:
    return Device(**{name: row[name] for name in Device.__dataclass_fields__})


def sha256_of(secret: str) -> str:
    """What is kept of a secret or a code, in hexadecimal."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
