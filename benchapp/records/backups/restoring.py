"""Putting a backup in, while nobody else writes."""

from collections.abc import Callable
from typing import IO

from sqlalchemy import Connection, delete, text
from sqlalchemy.exc import OperationalError

from benchapp.records import tables
from benchapp.records.attachments.stores import Store
from benchapp.records.backups.attachments import Putting
from benchapp.records.backups.comparing import is_empty
from benchapp.records.backups.file_format import TABLES, Part, batches
from benchapp.records.backups.merging import Merging
from benchapp.records.backups.replacing import Outlasting
from benchapp.records.backups.rows import insert_rows, new_era
from benchapp.records.database import BUSY, WAIT_S, Unavailable

#: What a restore takes away, each before what its rows name.
_EMPTIED = (
    *(
        tables.attachment,
        tables.delivery,
        tables.subscription,
        tables.calendar,
        tables.reminder,
        tables.planned,
    ),
    *(tables.event, tables.record, tables.pairing, tables.device, tables.workshop),
)
_LOCK_S = 0.4
"""How long a try to lock the tables takes: less than the second after which PostgreSQL looks
whether two wait for each other (``deadlock_timeout``)."""
#: PostgreSQL documentation, appendix A: query_canceled, deadlock_detected.
_CANCELED, _DEADLOCK = "57014", "40P01"


class NotEmpty(Exception):
    """There is data here by now, and the caller did not say what to do with it."""


def restore(
    connection: Connection,
    file: IO[bytes],
    *,
    merge: bool = False,
    replace: Callable[[Connection], None] | None = None,
    store: Store | None = None,
) -> None:
    """Put a backup in, in ``connection``'s transaction, which may write.

    With ``merge`` beside what is here; with ``replace`` in its place, once ``replace`` has been
    called with the connection, to keep what goes; else only where nothing is here. The bytes of
    attachments go into ``store``; without one, none of them is restored. Raises BadBackup and
    NotEmpty; whoever began the transaction then rolls it back.
    """
    _lock_tables(connection)
    putting = None if store is None else Putting(store)
    take = None if putting is None else putting.take
    try:
        if is_empty(connection):
            _replace(connection, file, take)
        elif merge:
            Merging(connection).take(file, take)
        elif replace is None:
            raise NotEmpty
        else:
            replace(connection)
            _replace(connection, file, take)
    finally:
        if putting is not None:
            putting.end()


def _replace(
    connection: Connection, file: IO[bytes], take: Callable[[Part], object] | None
) -> None:
    """Put a backup in the place of all that is here."""
    outlasting = Outlasting(connection)
    for table in _EMPTIED:
        connection.execute(delete(table))
    for name, rows in batches(file, take):
        if name == "attachment" and take is None:
            continue
        anew = {"era": new_era()} if name == "workshop" else {}
        put = outlasting.with_zones(rows) if name == "planned" else [row | anew for row in rows]
        insert_rows(connection, TABLES[name], put)
    outlasting.put_back()


def _lock_tables(connection: Connection) -> None:
    """Let nobody else write until the end of this transaction; on SQLite nobody does.

    The server takes these tables in more than one order, so there is none that could be kept to
    here. Whoever waits for this transaction while it waits for them is let go first instead.
    Raises Unavailable.
    """
    if connection.dialect.name == "sqlite":
        return
    names = ", ".join(table.name for table in reversed(_EMPTIED))
    for _ in range(round(WAIT_S / _LOCK_S)):
        try:
            with connection.begin_nested():
                limit = f"SET LOCAL statement_timeout = {round(_LOCK_S * 1000)}"
                connection.execute(text(limit))
                connection.execute(text(f"LOCK TABLE {names} IN EXCLUSIVE MODE"))
        except OperationalError as error:
            if getattr(error.orig, "sqlstate", None) not in (_CANCELED, _DEADLOCK):
                raise
        else:
            connection.execute(text("SET LOCAL statement_timeout TO DEFAULT"))
            return
    raise Unavailable(BUSY)
