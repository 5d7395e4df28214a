"""Workshops: each holds what one maker keeps. Those of one server know nothing of each other."""

import secrets

from sqlalchemy import Connection, RowMapping, insert, select

from benchapp.records import tables
from benchapp.records.database import Lock, lock_until_commit
from benchapp.records.names import checked_name
from benchapp.words import t


def make_workshop(connection: Connection, name: str, now_ms: int) -> RowMapping:
    """Add a workshop. Raises InputError where the name can't be one."""
    made = {
        "id": secrets.token_hex(8),
        "name": checked_name(name),
        "seq": 0,
        "era": secrets.token_hex(8),
        "made_ms": now_ms,
        "newest_ms": 0,
    }
    connection.execute(insert(tables.workshop).values(made))
    return _workshops(connection, made["id"])[0]


def first_workshop(connection: Connection, now_ms: int) -> RowMapping:
    """The workshop that was made first; it is made where there is none. Needs a transaction that
    may write."""
    # Two at once could both find none.
    lock_until_commit(connection, Lock.FIRST_WORKSHOP)
    found = all_workshops(connection)
    return found[0] if found else make_workshop(connection, t("Workshop"), now_ms)


def all_workshops(connection: Connection) -> list[RowMapping]:
    """All workshops, the oldest first."""
    return _workshops(connection, None)


def _workshops(connection: Connection, workshop_id: object) -> list[RowMapping]:
    query = select(tables.workshop).order_by(tables.workshop.c.made_ms, tables.workshop.c.id)
    if workshop_id is not None:
        query = query.where(tables.workshop.c.id == workshop_id)
    return list(connection.execute(query).mappings())
