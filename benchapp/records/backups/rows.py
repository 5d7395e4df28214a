"""Rows of any table, looked up and inserted by their keys; and what a restore does to devices and
calendar addresses that were revoked."""

import secrets
from collections.abc import Iterator
from itertools import islice
from typing import Any, TypeVar

from sqlalchemy import Connection, Table, delete, func, insert, select, tuple_, update
from sqlalchemy.exc import IntegrityError

from benchapp.records import tables
from benchapp.records.backups.checks import DAMAGED, BadBackup, Row

#: Rows that are in memory at once.
AT_ONCE = 300

_T = TypeVar("_T")


def slices(items: Iterator[_T]) -> Iterator[list[_T]]:
    """The items, a few hundred at a time."""
    while some := list(islice(items, AT_ONCE)):
        yield some


def key_of(table: Table, row: Any) -> tuple[Any, ...]:
    """The values of a row's primary key."""
    return tuple(row[column.name] for column in table.primary_key)


def existing(connection: Connection, table: Table, rows: list[Row]) -> dict[tuple[Any, ...], Row]:
    """Those of the rows that are here already, as they are here, by their keys."""
    keys = [key_of(table, row) for row in rows]
    asked = select(table).where(tuple_(*table.primary_key).in_(keys))
    return {key_of(table, row): dict(row) for row in connection.execute(asked).mappings()}


def insert_rows(connection: Connection, table: Table, rows: list[Row]) -> None:
    """Add rows. Raises BadBackup where one is there already."""
    if not rows:
        return
    try:
        connection.execute(insert(table), rows)
    except IntegrityError as error:
        # Something is in the file twice: no backup of ours.
        raise BadBackup(DAMAGED) from error


def count_rows(connection: Connection, table: Table) -> int:
    """How many rows a table has."""
    return connection.scalar(select(func.count()).select_from(table)) or 0


def new_era() -> str:
    """A name that no era of a workshop had before."""
    return secrets.token_hex(8)


def revoke_as(connection: Connection, table: Table, rows: list[Row]) -> None:
    """Let devices or calendar addresses that are here be revoked as in these rows."""
    (key,) = table.primary_key
    for row in rows:
        if row["revoked_ms"] is not None:
            connection.execute(
                update(table)
                .where(key == row[key.name], table.c.revoked_ms.is_(None))
                .values(revoked_ms=row["revoked_ms"])
            )


def silence_revoked(connection: Connection) -> None:
    """A device that was revoked listens no more."""
    device, subscription = tables.device, tables.subscription
    outside = select(device.c.id).where(device.c.revoked_ms.is_not(None))
    connection.execute(delete(subscription).where(subscription.c.device_id.in_(outside)))
