"""The whole database in one file, and back: on either database, from either.

A backup is gzip of JSON lines: a head that says what it is and how many rows follow, one line
``[table, row]`` a row (workshops, devices, records, events), and a last line with the SHA-256 of
all lines before it. Codes that let devices in, and wrong ones, are not in it. Reading and writing
hold a few hundred rows at a time.

Every restore gives each workshop that it touches a new era, so that phones send and read all of it
again, and lets no device in that was revoked here or in the backup.
"""

import gzip
import hashlib
import json
import secrets
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import groupby, islice
from typing import IO, Any, TypeVar

from sqlalchemy import (
    BigInteger,
    Connection,
    Table,
    bindparam,
    delete,
    func,
    insert,
    select,
    text,
    tuple_,
    update,
)
from sqlalchemy.exc import IntegrityError

from . import tables
from .database import SCHEMA
from .exchange import misshapen, misshapen_event
from .merge import merge_records

FORMAT = "pour-bench-backup"
VERSION = 1

#: In the order in which one row may name another.
_TABLES: dict[str, Table] = {
    each.name: each for each in (tables.workshop, tables.device, tables.record, tables.event)
}
_AT_ONCE = 300
_MOST_LINE = 16_000_000
_DAMAGED = "This backup is damaged, or is none: it can't be restored. Nothing was changed."
_NEWER = "This backup was made by a newer version of benchapp. Update benchapp first."

Row = dict[str, Any]
Counts = dict[str, int]
_T = TypeVar("_T")


class BadBackup(ValueError):
    """The file can't be restored; the text is a sentence."""


@dataclass
class Compared:
    """What is here and not in a backup.

    Attributes:
        records: new here, or with something new.
        events: new here.
        newest_ms: when the latest change here was made; 0 without any.
        is_empty: there is nothing here at all that could be lost.
    """

    records: int = 0
    events: int = 0
    newest_ms: int = 0
    is_empty: bool = False


# ---- writing -----------------------------------------------------------------------------------


def write_backup(connection: Connection, made_ms: int, out: IO[bytes]) -> Counts:
    """Write everything to ``out`` and return the number of rows of each table.

    ``connection`` sees one state of the database throughout.
    """
    counts = {
        name: connection.scalar(select(func.count()).select_from(table)) or 0
        for name, table in _TABLES.items()
    }
    sha256 = hashlib.sha256()
    # No name and no time in the wrapping: the same rows are the same bytes.
    with gzip.GzipFile(filename="", fileobj=out, mode="wb", compresslevel=6, mtime=0) as packed:

        def put(what: Any) -> None:
            line = json.dumps(what, separators=(",", ":")).encode() + b"\n"
            sha256.update(line)
            packed.write(line)

        put(
            {
                "format": FORMAT,
                "version": VERSION,
                "schema": SCHEMA,
                "made_ms": made_ms,
                "counts": counts,
            }
        )
        for name, table in _TABLES.items():
            asked = select(table).order_by(*table.primary_key)
            streamed = connection.execute(asked.execution_options(yield_per=_AT_ONCE))
            for row in streamed.mappings():
                put([name, dict(row)])
        packed.write(json.dumps({"sha256": sha256.hexdigest()}).encode() + b"\n")
    return counts


# ---- reading -----------------------------------------------------------------------------------


def verify(file: IO[bytes]) -> Counts:
    """The number of rows of each table. Raises BadBackup where anything is wrong with the file."""
    counts = dict.fromkeys(_TABLES, 0)
    for name, _ in _rows(file):
        counts[name] += 1
    return counts


def _rows(file: IO[bytes]) -> Iterator[tuple[str, Row]]:
    """Every row, in order. Raises BadBackup, if need be only after the last one."""
    file.seek(0)
    sha256 = hashlib.sha256()
    seqs: dict[str, int] = {}
    place = 0
    names = list(_TABLES)
    with gzip.GzipFile(fileobj=file) as packed, _in_words():
        head = _head(line := packed.readline(_MOST_LINE))
        left: Counts = dict(head)
        while True:
            sha256.update(line)
            line = packed.readline(_MOST_LINE)
            found = _parsed(line)
            if isinstance(found, dict):
                break
            if not isinstance(found, list) or len(found) != 2 or found[0] not in names[place:]:
                raise BadBackup(_DAMAGED)
            name, row = found
            place = names.index(name)
            left[name] -= 1
            _check_row(_TABLES[name], row, seqs)
            yield name, row
        is_whole = found == {"sha256": sha256.hexdigest()} and not any(left.values())
        if not is_whole or packed.read(1):
            raise BadBackup(_DAMAGED)


@contextmanager
def _in_words() -> Iterator[None]:
    try:
        yield
    except (EOFError, zlib.error, OSError) as error:
        raise BadBackup(_DAMAGED) from error


def _parsed(line: bytes) -> Any:
    try:
        return json.loads(line)
    except (ValueError, RecursionError) as error:
        raise BadBackup(_DAMAGED) from error


def _head(line: bytes) -> Counts:
    head = _parsed(line)
    if not isinstance(head, dict) or head.get("format") != FORMAT:
        raise BadBackup(_DAMAGED)
    version, schema, counts = head.get("version"), head.get("schema"), head.get("counts")
    if not isinstance(version, int) or not isinstance(schema, str):
        raise BadBackup(_DAMAGED)
    if version > VERSION or schema > SCHEMA:
        raise BadBackup(_NEWER)
    if (
        not isinstance(counts, dict)
        or set(counts) != set(_TABLES)
        or not all(isinstance(count, int) for count in counts.values())
    ):
        raise BadBackup(_DAMAGED)
    return counts


def _check_row(table: Table, row: Any, seqs: dict[str, int]) -> None:
    """Raise BadBackup where a row would not go into its table, or does not belong there."""
    if not isinstance(row, dict) or set(row) != {column.name for column in table.columns}:
        raise BadBackup(_DAMAGED)
    for column in table.columns:
        value = row[column.name]
        if value is None and column.nullable:
            continue
        if isinstance(column.type, BigInteger):
            fits = isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 2**63
        else:
            # PostgreSQL keeps no text with a NUL, and neither keeps half of a character.
            fits = isinstance(value, str) and "\0" not in value and _is_text(value)
        if not fits:
            raise BadBackup(_DAMAGED)
    if table is tables.workshop:
        seqs[row["id"]] = row["seq"]
        return
    if row["workshop_id"] not in seqs:
        raise BadBackup(_DAMAGED)
    if table is tables.device:
        return
    if not 0 < row["seq"] <= seqs[row["workshop_id"]]:
        raise BadBackup(_DAMAGED)
    if table is tables.record:
        fits = misshapen(_record(row)) is None
    else:
        body = _parsed(row["body"])
        fits = misshapen_event(body) is None and (body["id"], body["pour"]) == (
            row["id"],
            row["pour"],
        )
    if not fits:
        raise BadBackup(_DAMAGED)


def _is_text(value: str) -> bool:
    try:
        value.encode()
    except UnicodeEncodeError:
        return False
    return True


def _record(row: Row) -> dict[str, Any]:
    return {"kind": row["kind"], "id": row["id"], "fields": _parsed(row["fields"])}


# ---- comparing ---------------------------------------------------------------------------------


def compare(connection: Connection, file: IO[bytes]) -> Compared:
    """What a restore would meet here. ``connection`` sees one state throughout."""
    compared = Compared(is_empty=_is_empty(connection))
    if compared.is_empty:
        return compared
    known = {name: _count(connection, _TABLES[name]) for name in ("record", "event")}
    for name, rows in _batches(file):
        if name == "event":
            known[name] -= len(_kept(connection, tables.event, rows))
        elif name == "record":
            kept = _kept(connection, tables.record, rows)
            known[name] -= len(kept)
            for row in rows:
                here = kept.get(_key(tables.record, row))
                if here is not None:
                    there = _record(row)
                    compared.records += merge_records(there, _record(here)) != there
    compared.records += known["record"]
    compared.events = known["event"]
    compared.newest_ms = connection.scalar(select(func.max(tables.workshop.c.newest_ms))) or 0
    return compared


def _is_empty(connection: Connection) -> bool:
    """Nothing is here but, at most, the workshop that a server makes when it first starts."""
    counted = {name: _count(connection, table) for name, table in _TABLES.items()}
    return counted.pop("workshop") <= 1 and not any(counted.values())


def _count(connection: Connection, table: Table) -> int:
    return connection.scalar(select(func.count()).select_from(table)) or 0


# ---- restoring ---------------------------------------------------------------------------------


class NotEmpty(Exception):
    """There is data here by now, and nothing was said about it."""


def restore(
    connection: Connection,
    file: IO[bytes],
    *,
    merge: bool = False,
    replace: Callable[[Connection], None] | None = None,
) -> None:
    """Put a backup in, in ``connection``'s transaction, which may write.

    With ``merge`` beside what is here; with ``replace`` in its place, once ``replace`` has been
    called with the connection, to keep what goes; else only where nothing is here. Raises
    BadBackup and NotEmpty; whoever began the transaction then rolls it back.
    """
    _shut_out_others(connection)
    if not _is_empty(connection):
        if merge:
            _Beside(connection).take(file)
            return
        if replace is None:
            raise NotEmpty
        replace(connection)
    device = tables.device
    shut = connection.execute(select(device).where(device.c.revoked_ms.is_not(None))).mappings()
    revoked = [dict(row) for row in shut]
    for table in (tables.event, tables.record, tables.pairing, tables.device, tables.workshop):
        connection.execute(delete(table))
    for name, rows in _batches(file):
        anew = {"era": _era()} if name == "workshop" else {}
        _put(connection, _TABLES[name], [row | anew for row in rows])
    _keep_out(connection, revoked)


def _shut_out_others(connection: Connection) -> None:
    """Let nobody else write until the end of this transaction; on SQLite nobody does."""
    if connection.dialect.name != "sqlite":
        # In the order in which the server takes them, so that none waits for the other.
        connection.execute(
            text("LOCK TABLE pairing, device, workshop, record, event IN EXCLUSIVE MODE")
        )


def _keep_out(connection: Connection, revoked: list[Row]) -> None:
    """A device that was revoked here stays so, also one that the backup does not know: another
    backup may."""
    device, shop = tables.device, tables.workshop
    shops = set(connection.scalars(select(shop.c.id)))
    there = {row["id"]: row for row in revoked}
    for some in _slices(iter(there)):
        known = set(connection.scalars(select(device.c.id).where(device.c.id.in_(some))))
        for id_ in some:
            row = there[id_]
            if id_ in known:
                connection.execute(
                    update(device)
                    .where(device.c.id == id_, device.c.revoked_ms.is_(None))
                    .values(revoked_ms=row["revoked_ms"])
                )
            elif row["workshop_id"] in shops:
                connection.execute(insert(device).values(row))


class _Beside:
    """A backup on its way into a database that holds something: a union, in which what is here
    stands where both give one name to different things."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        #: the number of the last change of each workshop that was here
        self.seqs: dict[str, int] = {}

    def take(self, file: IO[bytes]) -> None:
        takes = {
            "workshop": self._workshops,
            "device": self._devices,
            "record": self._records,
            "event": self._events,
        }
        for name, rows in _batches(file):
            takes[name](rows)
        shop = tables.workshop
        for id_, seq in self.seqs.items():
            self.connection.execute(update(shop).where(shop.c.id == id_).values(seq=seq))

    def _workshops(self, rows: list[Row]) -> None:
        shop = tables.workshop
        kept = _kept(self.connection, shop, rows)
        for row in rows:
            here = kept.get((row["id"],))
            if here is None:
                self.connection.execute(insert(shop).values(row | {"era": _era()}))
                continue
            self.seqs[row["id"]] = here["seq"]
            newest_ms = max(here["newest_ms"], row["newest_ms"])
            self.connection.execute(
                update(shop).where(shop.c.id == row["id"]).values(era=_era(), newest_ms=newest_ms)
            )

    def _devices(self, rows: list[Row]) -> None:
        device = tables.device
        kept = _kept(self.connection, device, rows)
        _put(self.connection, device, [row for row in rows if (row["id"],) not in kept])
        for row in rows:
            if (row["id"],) in kept and row["revoked_ms"] is not None:
                self.connection.execute(
                    update(device)
                    .where(device.c.id == row["id"], device.c.revoked_ms.is_(None))
                    .values(revoked_ms=row["revoked_ms"])
                )

    def _records(self, rows: list[Row]) -> None:
        record = tables.record
        kept = _kept(self.connection, record, rows)
        new, changed = [], []
        for row in rows:
            here = kept.get(_key(record, row))
            if here is None:
                new.append(self._numbered(row))
                continue
            before = _record(here)
            after = merge_records(before, _record(row))
            if after != before:
                fields = json.dumps(after["fields"], separators=(",", ":"))
                changed.append(self._numbered(row) | {"fields": fields})
        _put(self.connection, record, new)
        if changed:
            self.connection.execute(
                update(record)
                .where(
                    record.c.workshop_id == bindparam("in_workshop"),
                    record.c.kind == bindparam("of_kind"),
                    record.c.id == bindparam("of_id"),
                )
                .values(seq=bindparam("seq"), fields=bindparam("fields")),
                [
                    {
                        "in_workshop": row["workshop_id"],
                        "of_kind": row["kind"],
                        "of_id": row["id"],
                        "seq": row["seq"],
                        "fields": row["fields"],
                    }
                    for row in changed
                ],
            )

    def _events(self, rows: list[Row]) -> None:
        event = tables.event
        kept = _kept(self.connection, event, rows)
        new = [self._numbered(row) for row in rows if _key(event, row) not in kept]
        _put(self.connection, event, new)

    def _numbered(self, row: Row) -> Row:
        """The row as the next change of its workshop; as it is, where all of that is new."""
        workshop_id = row["workshop_id"]
        if workshop_id not in self.seqs:
            return row
        self.seqs[workshop_id] += 1
        return row | {"seq": self.seqs[workshop_id]}


def _batches(file: IO[bytes]) -> Iterator[tuple[str, list[Row]]]:
    """The rows of a backup, a few hundred of one table at a time."""
    for name, of_table in groupby(_rows(file), key=lambda each: each[0]):
        for some in _slices(of_table):
            yield name, [row for _, row in some]


def _slices(items: Iterator[_T]) -> Iterator[list[_T]]:
    while some := list(islice(items, _AT_ONCE)):
        yield some


def _key(table: Table, row: Any) -> tuple[Any, ...]:
    return tuple(row[column.name] for column in table.primary_key)


def _kept(connection: Connection, table: Table, rows: list[Row]) -> dict[tuple[Any, ...], Row]:
    """Those of the rows that are here already, as they are here, by their keys."""
    keys = [_key(table, row) for row in rows]
    asked = select(table).where(tuple_(*table.primary_key).in_(keys))
    return {_key(table, row): dict(row) for row in connection.execute(asked).mappings()}


def _put(connection: Connection, table: Table, rows: list[Row]) -> None:
    if not rows:
        return
    try:
        connection.execute(insert(table), rows)
    except IntegrityError as error:
        # Something is in the file twice: no backup of ours.
        raise BadBackup(_DAMAGED) from error


def _era() -> str:
    return secrets.token_hex(8)
