"""The whole database in one file, and back: on either database, from either.

A backup is gzip of JSON lines: a head that says what it is and how many rows follow, one line
``[table, row]`` a row (workshops, devices, records, events; since schema 0002 also how far
reminders are reckoned, the reminders, where devices listen, calendar addresses), and a last line
with the SHA-256 of all lines before it. Codes that let devices in, wrong ones, and messages on
their way to devices are not in it. Reading and writing hold a few hundred rows at a time.

Every restore gives each workshop that it touches a new era, so that phones send and read all of it
again and reminders are reckoned anew. It lets no device in and opens no calendar address that was
revoked here or in the backup, and a reminder that was sent by either is not sent again.
"""

import gzip
import hashlib
import json
import re
import secrets
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import groupby, islice
from typing import IO, Any, TypeVar

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Connection,
    MetaData,
    Table,
    and_,
    bindparam,
    case,
    delete,
    exists,
    func,
    insert,
    literal,
    null,
    or_,
    select,
    text,
    tuple_,
    update,
)
from sqlalchemy.exc import IntegrityError, OperationalError

from benchapp.formulas.cure import ready
from benchapp.formulas.day import day_of
from benchapp.records import tables
from benchapp.records.database import SCHEMA, WAIT_S, Unavailable
from benchapp.records.events import REMINDERS
from benchapp.records.exchange import MOST_RECORD
from benchapp.records.fields import ID
from benchapp.records.merge import merge_records
from benchapp.records.shapes import current_event, is_event, is_record

FORMAT = "pour-bench-backup"
VERSION = 1

#: What each schema added to a backup, in the order in which one row may name another.
_ADDED: dict[str, tuple[Table, ...]] = {
    "0001": (tables.workshop, tables.device, tables.record, tables.event),
    "0002": (tables.planned, tables.reminder, tables.subscription, tables.calendar),
    "0003": (),
}
_TABLES: dict[str, Table] = {each.name: each for some in _ADDED.values() for each in some}
#: What the maker typed, and who may come in: the rest can be made anew from it.
_MADE = ("workshop", "device", "record", "event")
#: What a restore takes away, each before what its rows name.
_GOING = (
    *(tables.delivery, tables.subscription, tables.calendar, tables.reminder, tables.planned),
    *(tables.event, tables.record, tables.pairing, tables.device, tables.workshop),
)
_AT_ONCE = 300
_MOST_LINE = 16_000_000
#: Before any phone has told its own.
_USUAL_ZONE = "UTC"
_SOME_MS = 1_764_000_000_000
_LOCK_S = 0.4
"""How long a try to shut others out takes: less than the second after which PostgreSQL looks
whether two wait for each other (``deadlock_timeout``)."""
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
    named = _Named({}, {})
    place = 0
    with gzip.GzipFile(fileobj=file) as packed, _in_words():
        schema, head = _head(line := packed.readline(_MOST_LINE))
        left: Counts = dict(head)
        names = [name for name in _TABLES if name in left]
        while True:
            sha256.update(line)
            line = packed.readline(_MOST_LINE)
            found = _parsed(line)
            if isinstance(found, dict):
                break
            if not isinstance(found, list) or len(found) != 2 or found[0] not in names[place:]:
                raise BadBackup(_DAMAGED)
            name, row = found
            if name == "event" and schema < "0003":
                row = _of_any_record(row)
            place = names.index(name)
            left[name] -= 1
            _check_row(_TABLES[name], row, named)
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


def _of_any_record(row: Any) -> Any:
    """An event's row of schema 0001 or 0002, when only pours had events, as it is now."""
    if not isinstance(row, dict) or "pour" not in row or not isinstance(row.get("body"), str):
        raise BadBackup(_DAMAGED)
    rest = {name: value for name, value in row.items() if name != "pour"}
    body = json.dumps(current_event(_parsed(row["body"])), separators=(",", ":"))
    return rest | {"of_kind": "pour", "of_id": row["pour"], "body": body}


def _head(line: bytes) -> tuple[str, Counts]:
    """The schema, and the number of rows of each table."""
    head = _parsed(line)
    if not isinstance(head, dict) or head.get("format") != FORMAT:
        raise BadBackup(_DAMAGED)
    version, schema, counts = head.get("version"), head.get("schema"), head.get("counts")
    if not isinstance(version, int) or not isinstance(schema, str):
        raise BadBackup(_DAMAGED)
    if version > VERSION or schema > SCHEMA:
        raise BadBackup(_NEWER)
    held = {each.name for since, some in _ADDED.items() if since <= schema for each in some}
    if (
        schema not in _ADDED
        or not isinstance(counts, dict)
        or set(counts) != held
        or not all(isinstance(count, int) for count in counts.values())
    ):
        raise BadBackup(_DAMAGED)
    return schema, counts


@dataclass
class _Named:
    """What rows that came before may be named for: the last change of each workshop, and the
    workshop of each device."""

    seqs: dict[str, int]
    homes: dict[str, str]


def _check_row(table: Table, row: Any, named: _Named) -> None:
    """Raise BadBackup where a row would not go into its table, or does not belong there."""
    if not isinstance(row, dict) or set(row) != {column.name for column in table.columns}:
        raise BadBackup(_DAMAGED)
    if not all(_fits(column, row[column.name]) for column in table.columns):
        raise BadBackup(_DAMAGED)
    if table is tables.workshop:
        named.seqs[row["id"]] = row["seq"]
        return
    if row["workshop_id"] not in named.seqs:
        raise BadBackup(_DAMAGED)
    if table is tables.device:
        named.homes[row["id"]] = row["workshop_id"]
    elif not _belongs(table, row, named):
        raise BadBackup(_DAMAGED)


def _fits(column: Column[Any], value: Any) -> bool:
    """Whether a column takes a value, and whoever reads it can."""
    if value is None and column.nullable:
        return True
    if isinstance(column.type, Boolean):
        return isinstance(value, bool)
    if isinstance(column.type, BigInteger):
        most = _MOST.get(column, 2**63 - 1)
        return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= most
    # PostgreSQL keeps no text with a NUL, and neither keeps half of a character.
    if not isinstance(value, str) or "\0" in value or not _is_text(value):
        return False
    shape = _SHAPES.get(column)
    return shape is None or shape.fullmatch(value) is not None


#: The latest moment that is told: the year 9892, which a calendar can still write.
_LATEST_MS = 250_000_000_000_000
_MOST: dict[Column[Any], int] = {
    # It counts in a calendar's SEQUENCE, which has 32 bits (RFC 5545 sections 3.3.8, 3.8.7.4).
    tables.planned.c.zone_moves: 2**30,
    **{
        column: _LATEST_MS
        for table in (tables.reminder, tables.subscription, tables.calendar)
        for column in table.columns
        if column.name.endswith("_ms")
    },
}
_SHAPES: dict[Column[Any], re.Pattern[str]] = {
    tables.planned.c.zone: re.compile(r"[A-Za-z0-9_+/-]{1,64}"),
    tables.reminder.c.pour: ID,
    tables.reminder.c.kind: re.compile("|".join(REMINDERS)),
    tables.reminder.c.name: re.compile(rf".{{0,{MOST_RECORD}}}", re.DOTALL),
    tables.subscription.c.endpoint: re.compile(r"https://[!-~]{1,1992}"),
    # Of 65 and 16 octets (RFC 8291 section 3).
    tables.subscription.c.p256dh: re.compile(r"[A-Za-z0-9_-]{87}=?"),
    tables.subscription.c.auth: re.compile(r"[A-Za-z0-9_-]{22}(==)?"),
    tables.subscription.c.app_key: re.compile(r"[A-Za-z0-9_-]{1,200}"),
    tables.subscription.c.origin: re.compile(r"https?://[!-~]{1,300}"),
    tables.subscription.c.trouble: re.compile(r".{0,2000}", re.DOTALL),
    tables.calendar.c.token_sha256: re.compile(r"[0-9a-f]{64}"),
}


def _belongs(table: Table, row: Row, named: _Named) -> bool:
    """Whether what a row says of others, and of itself, holds together."""
    if table is tables.reminder:
        days = {row["day"], row["on"], row["sent_on"]} - {None}
        return all(map(_is_day, days)) and row["waits_ms"] in (None, row["due_ms"])
    if table is tables.subscription:
        return bool(named.homes.get(row["device_id"]) == row["workshop_id"])
    if table is tables.calendar:
        return True
    seq: int = named.seqs[row["workshop_id"]]
    if table is tables.planned:
        return bool(row["seq"] <= seq)
    if not 0 < row["seq"] <= seq:
        return False
    if table is tables.record:
        return is_record(_record(row))
    body = _parsed(row["body"])
    if not is_event(body):
        return False
    return bool((body["id"], *body["of"]) == (row["id"], row["of_kind"], row["of_id"]))


def _is_day(value: str) -> bool:
    try:
        ready(value, 0)
    except ValueError:
        return False
    return True


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
    counted = {name: _count(connection, _TABLES[name]) for name in _MADE}
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
    here = _Here(connection)
    for table in _GOING:
        connection.execute(delete(table))
    for name, rows in _batches(file):
        anew = {"era": _era()} if name == "workshop" else {}
        put = here.zoned(rows) if name == "planned" else [row | anew for row in rows]
        _put(connection, _TABLES[name], put)
    here.stand()


def _shut_out_others(connection: Connection) -> None:
    """Let nobody else write until the end of this transaction; on SQLite nobody does.

    The server takes these tables in more than one order, so there is none that could be kept to
    here. Whoever waits for this transaction while it waits for them is let go first instead.
    Raises Unavailable.
    """
    if connection.dialect.name == "sqlite":
        return
    names = ", ".join(table.name for table in reversed(_GOING))
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
    raise Unavailable("The server is busy: try again in a moment.")


#: PostgreSQL documentation, appendix A: query_canceled, deadlock_detected.
_CANCELED, _DEADLOCK = "57014", "40P01"


class _Here:
    """What must outlast a restore that takes the place of all that is here: what was revoked, what
    was told already, and the time zones that phones told, which they do not tell again."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.revoked = {
            table: [
                dict(row)
                for row in connection.execute(
                    select(table).where(table.c.revoked_ms.is_not(None))
                ).mappings()
            ]
            for table in (tables.device, tables.calendar)
        }
        planned = connection.execute(select(tables.planned)).mappings()
        self.planned = {row["workshop_id"]: dict(row) for row in planned}
        reminder = tables.reminder
        # Beside the tables, not in memory: there is one for nearly all that was ever told.
        self.told = Table(
            "told_here",
            MetaData(),
            *(Column(column.name, column.type) for column in reminder.columns),
            prefixes=["TEMPORARY"],
        )
        self.told.create(connection, checkfirst=False)
        told = select(reminder).where(reminder.c.sent_on.is_not(None))
        connection.execute(insert(self.told).from_select(reminder.columns.keys(), told))

    def zoned(self, rows: list[Row]) -> list[Row]:
        """Rows of ``planned`` from a backup, as they may stand."""
        return [_zoned(self.planned.pop(row["workshop_id"], None), row) for row in rows]

    def stand(self) -> None:
        """Let it stand, once the backup is in."""
        shops = set(self.connection.scalars(select(tables.workshop.c.id)))
        left = [_zoned(None, row) for id_, row in self.planned.items() if id_ in shops]
        _put(self.connection, tables.planned, left)
        for table, rows in self.revoked.items():
            self._keep_out(table, [row for row in rows if row["workshop_id"] in shops])
        _silence_revoked(self.connection)
        self._tell_no_more()

    def _keep_out(self, table: Table, revoked: list[Row]) -> None:
        """What was revoked here stays so, also what the backup does not know: another may."""
        for some in _slices(iter(revoked)):
            known = _kept(self.connection, table, some)
            _revoke(self.connection, table, [row for row in some if _key(table, row) in known])
            _put(self.connection, table, [row for row in some if _key(table, row) not in known])

    def _tell_no_more(self) -> None:
        reminder, told, shop = tables.reminder, self.told, tables.workshop
        same = and_(*(reminder.c[key.name] == told.c[key.name] for key in reminder.primary_key))
        self.connection.execute(
            update(reminder)
            .where(same, or_(reminder.c.sent_on.is_(None), reminder.c.sent_on < told.c.sent_on))
            .values(
                sent_on=told.c.sent_on,
                waits_ms=case((reminder.c.on > told.c.sent_on, reminder.c.waits_ms)),
            )
        )
        # Of a pour that the backup lacks, and that a phone may bring back.
        as_it_is = {column.name: column for column in told.columns}
        over = as_it_is | {"done": literal(True), "waits_ms": null()}
        unknown = select(*over.values()).where(
            ~exists().where(same), exists().where(shop.c.id == told.c.workshop_id)
        )
        self.connection.execute(insert(reminder).from_select(list(over), unknown))
        told.drop(self.connection, checkfirst=False)


def _revoke(connection: Connection, table: Table, rows: list[Row]) -> None:
    """Let devices or calendar addresses that are here be revoked as in these rows."""
    (key,) = table.primary_key
    for row in rows:
        if row["revoked_ms"] is not None:
            connection.execute(
                update(table)
                .where(key == row[key.name], table.c.revoked_ms.is_(None))
                .values(revoked_ms=row["revoked_ms"])
            )


def _silence_revoked(connection: Connection) -> None:
    """A device that was revoked listens no more."""
    device, subscription = tables.device, tables.subscription
    outside = select(device.c.id).where(device.c.revoked_ms.is_not(None))
    connection.execute(delete(subscription).where(subscription.c.device_id.in_(outside)))


def _zoned(here: Row | None, there: Row) -> Row:
    """A row of ``planned``, to be reckoned anew, in the zone that was told last: a zone is told
    again only when it is another one, so that is the one that was told more often."""
    row = there | {"seq": 0, "settings": None}
    try:
        day_of(_SOME_MS, row["zone"])
    except ValueError:
        # This machine's list of zones is older than the backup's.
        row["zone"] = _USUAL_ZONE
    if here is None:
        return row
    if _told(row) <= _told(here):
        return row | {"zone": here["zone"], "zone_moves": here["zone_moves"]}
    return row | {"zone_moves": row["zone_moves"] + (row["zone"] != here["zone"])}


def _told(planned: Row) -> tuple[int, bool]:
    return planned["zone_moves"], planned["zone"] != _USUAL_ZONE


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
            "planned": self._planned,
            "reminder": self._reminders,
            "subscription": self._subscriptions,
            "calendar": self._calendars,
        }
        for name, rows in _batches(file):
            takes[name](rows)
        shop = tables.workshop
        for id_, seq in self.seqs.items():
            self.connection.execute(update(shop).where(shop.c.id == id_).values(seq=seq))
        _silence_revoked(self.connection)

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
        self._revocable(tables.device, rows)

    def _revocable(self, table: Table, rows: list[Row]) -> None:
        kept = _kept(self.connection, table, rows)
        _put(self.connection, table, [row for row in rows if _key(table, row) not in kept])
        _revoke(self.connection, table, [row for row in rows if _key(table, row) in kept])

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

    def _planned(self, rows: list[Row]) -> None:
        planned = tables.planned
        kept = _kept(self.connection, planned, rows)
        merged = [_zoned(kept.get(_key(planned, row)), row) for row in rows]
        shops = [row["workshop_id"] for row in rows]
        self.connection.execute(delete(planned).where(planned.c.workshop_id.in_(shops)))
        _put(self.connection, planned, merged)

    def _reminders(self, rows: list[Row]) -> None:
        reminder = tables.reminder
        kept = _kept(self.connection, reminder, rows)
        new = []
        for row in rows:
            here = kept.get(_key(reminder, row))
            if here is None:
                # Beside what is here it may be wrong by now, so it waits for its reckoning.
                is_sure = row["workshop_id"] not in self.seqs
                new.append(row if is_sure else row | {"waits_ms": None})
            elif row["sent_on"] is not None and (here["sent_on"] or "") < row["sent_on"]:
                waits_ms = here["waits_ms"] if here["on"] > row["sent_on"] else None
                self.connection.execute(
                    update(reminder)
                    .where(*(key == row[key.name] for key in reminder.primary_key))
                    .values(sent_on=row["sent_on"], waits_ms=waits_ms)
                )
        _put(self.connection, reminder, new)

    def _subscriptions(self, rows: list[Row]) -> None:
        device, subscription = tables.device, tables.subscription
        kept = _kept(self.connection, subscription, rows)
        endpoints = [row["endpoint"] for row in rows]
        taken = set(
            self.connection.scalars(
                select(subscription.c.endpoint).where(subscription.c.endpoint.in_(endpoints))
            )
        )
        ids = [row["device_id"] for row in rows]
        asked = select(device.c.id, device.c.workshop_id).where(device.c.id.in_(ids))
        homes = {row.id: row.workshop_id for row in self.connection.execute(asked)}
        new = [
            row
            for row in rows
            if _key(subscription, row) not in kept
            and row["endpoint"] not in taken
            and homes[row["device_id"]] == row["workshop_id"]
        ]
        _put(self.connection, subscription, new)

    def _calendars(self, rows: list[Row]) -> None:
        self._revocable(tables.calendar, rows)

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
