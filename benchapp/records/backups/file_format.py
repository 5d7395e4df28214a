"""The file of a backup: gzip of JSON lines.

A head says what it is and how many rows follow; then comes one line ``[table, row]`` for each row
(workshops, devices, records, events; since schema 0002 also how far reminders are reckoned, the
reminders, where devices listen, calendar addresses; since 0004 attachments, each followed by its
bytes in lines ``["bytes", base64]``), and a last line with the SHA-256 of all lines before it. A
backup may leave attachments out: its head says how many. Codes that let devices in, wrong ones, and
messages on their way to devices are not in it. Reading and writing hold a few hundred rows at a
time, and a megabyte of an attachment.
"""

import base64
import binascii
import gzip
import hashlib
import json
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import groupby
from typing import IO, Any

from sqlalchemy import Connection, Table, select

from benchapp.records import tables
from benchapp.records.attachments.file_type import first_look
from benchapp.records.attachments.stores import Missing, Store
from benchapp.records.backups.checks import (
    DAMAGED,
    BadBackup,
    Row,
    RowsBefore,
    check_row,
    parse_line,
)
from benchapp.records.backups.rows import AT_ONCE, count_rows, slices
from benchapp.records.database import SCHEMA, broken_row
from benchapp.records.shapes import current_event
from benchapp.words import n_

FORMAT = "pour-bench-backup"
VERSION = 1

#: The tables that each schema added to a backup, in the order in which one row may name another.
_TABLES_SINCE: dict[str, tuple[Table, ...]] = {
    "0001": (tables.workshop, tables.device, tables.record, tables.event),
    "0002": (tables.planned, tables.reminder, tables.subscription, tables.calendar),
    "0003": (),
    "0004": (tables.attachment,),
}
TABLES: dict[str, Table] = {each.name: each for some in _TABLES_SINCE.values() for each in some}
_MOST_LINE = 16_000_000
_PART = 1_000_000
"""Bytes of an attachment in one line."""
_NEWER = n_("This backup was made by a newer version of benchapp. Update benchapp first.")

Counts = dict[str, int]
"""The rows of each table; `left_out`: attachments that are not in it."""

Part = tuple[Row, int, bytes]
"""Of an attachment's bytes: its row, where the part begins, and the part."""


def write_backup(
    connection: Connection, made_ms: int, out: IO[bytes], store: Store | None = None
) -> Counts:
    """Write everything to ``out`` and return the number of rows of each table.

    ``connection`` sees one state of the database throughout. Attachments are in it where ``store``
    has their bytes; without one they are left out. Raises Broken where it holds what could not be
    restored: a disk may have spoilt it.
    """
    before = RowsBefore({}, {})
    counts = {name: count_rows(connection, table) for name, table in TABLES.items()}
    there = {} if store is None else _lying(store)
    attached = connection.execute(
        select(tables.attachment).order_by(*tables.attachment.primary_key)
    ).mappings()
    with_bytes = [
        dict(row)
        for row in attached
        if there.get((row["workshop_id"], row["sha256"])) == row["bytes"]
    ]
    left_out = counts["attachment"] - len(with_bytes)
    counts["attachment"] = len(with_bytes)
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
                "left_out": left_out,
            }
        )
        for name, table in TABLES.items():
            if table is tables.attachment:
                for row in with_bytes:
                    _put_attachment(put, row, before, store)
                continue
            asked = select(table).order_by(*table.primary_key)
            streamed = connection.execute(asked.execution_options(yield_per=AT_ONCE))
            for each in streamed.mappings():
                row = dict(each)
                try:
                    check_row(table, row, before)
                except BadBackup as error:
                    raise broken_row(name, row.get("id", "")) from error
                put([name, row])
        packed.write(json.dumps({"sha256": sha256.hexdigest()}).encode() + b"\n")
    return counts | {"left_out": left_out}


def _lying(store: Store) -> dict[tuple[str, str], int]:
    return {(each.workshop_id, each.sha256): each.size for each in store.lying()}


def _put_attachment(
    put: Callable[[Any], None], row: Row, before: RowsBefore, store: Store | None
) -> None:
    """Write a row and its bytes. Raises Broken where they are not what the row says."""
    assert store is not None  # noqa: S101  (without one there is no such row)
    broken = broken_row("attachment", row["sha256"])
    try:
        check_row(tables.attachment, row, before)
        put(["attachment", row])
        sha256 = hashlib.sha256()
        for start in range(0, row["bytes"], _PART):
            end = min(row["bytes"], start + _PART)
            is_all = (start, end) == (0, row["bytes"])
            part = store.read(row["workshop_id"], row["sha256"], start, None if is_all else end)
            sha256.update(part)
            put(["bytes", base64.b64encode(part).decode()])
    except (BadBackup, Missing) as error:
        raise broken from error
    if sha256.hexdigest() != row["sha256"]:
        raise broken


def verify(file: IO[bytes]) -> Counts:
    """The number of rows of each table. Raises BadBackup where anything is wrong with the file."""
    counts = dict.fromkeys([*TABLES, "left_out"], 0)

    def take_left_out(count: int) -> None:
        counts["left_out"] = count

    for name, _ in read_rows(file, left_out=take_left_out):
        counts[name] += 1
    return counts


def read_rows(
    file: IO[bytes],
    take: Callable[[Part], object] | None = None,
    left_out: Callable[[int], object] | None = None,
) -> Iterator[tuple[str, Row]]:
    """Every row, in order. Raises BadBackup, if need be only after the last one.

    ``take`` is given the bytes of attachments part by part, all of them before their row comes.
    ``left_out`` is told how many attachments are not in the file.
    """
    file.seek(0)
    sha256 = hashlib.sha256()
    before = RowsBefore({}, {})
    place = 0
    with gzip.GzipFile(fileobj=file) as packed, _bad_if_damaged():
        schema, head, missing = _head(line := packed.readline(_MOST_LINE))
        if left_out is not None:
            left_out(missing)
        left: Counts = dict(head)
        names = [name for name in TABLES if name in left]
        while True:
            sha256.update(line)
            line = packed.readline(_MOST_LINE)
            found = parse_line(line)
            if isinstance(found, dict):
                break
            if not isinstance(found, list) or len(found) != 2 or found[0] not in names[place:]:
                raise BadBackup(DAMAGED)
            name, row = found
            if name == "event" and schema < "0003":
                row = _of_any_record(row)
            place = names.index(name)
            left[name] -= 1
            check_row(TABLES[name], row, before)
            if name == "attachment":
                for part_line, part in _parts(packed, row):
                    sha256.update(line)
                    line = part_line
                    if take is not None:
                        take(part)
            yield name, row
        is_whole = found == {"sha256": sha256.hexdigest()} and not any(left.values())
        if not is_whole or packed.read(1):
            raise BadBackup(DAMAGED)


def _parts(packed: gzip.GzipFile, row: Row) -> Iterator[tuple[bytes, Part]]:
    """The lines with the bytes of an attachment, and what they hold; of the last one also that it
    was the last. Raises BadBackup."""
    sha256, far, line = hashlib.sha256(), 0, b""
    while far < row["bytes"]:
        line = packed.readline(_MOST_LINE)
        found = parse_line(line)
        is_part = isinstance(found, list) and len(found) == 2 and found[0] == "bytes"
        part = _decoded(found[1]) if is_part else b""
        is_right = far > 0 or first_look(part[:12]) == row["type"]
        if not part or far + len(part) > row["bytes"] or not is_right:
            raise BadBackup(DAMAGED)
        sha256.update(part)
        yield line, (row, far, part)
        far += len(part)
    if sha256.hexdigest() != row["sha256"]:
        raise BadBackup(DAMAGED)


def _decoded(text: Any) -> bytes:
    try:
        return base64.b64decode(text, validate=True) if isinstance(text, str) else b""
    except (binascii.Error, ValueError):
        return b""


@contextmanager
def _bad_if_damaged() -> Iterator[None]:
    """Raise what a damaged file leads to as BadBackup."""
    try:
        yield
    except (EOFError, zlib.error, OSError) as error:
        raise BadBackup(DAMAGED) from error


def _of_any_record(row: Any) -> Any:
    """An event's row of schema 0001 or 0002, when only pours had events, as it is now."""
    if not isinstance(row, dict) or "pour" not in row or not isinstance(row.get("body"), str):
        raise BadBackup(DAMAGED)
    rest = {name: value for name, value in row.items() if name != "pour"}
    body = json.dumps(current_event(parse_line(row["body"])), separators=(",", ":"))
    return rest | {"of_kind": "pour", "of_id": row["pour"], "body": body}


def _head(line: bytes) -> tuple[str, Counts, int]:
    """The schema, the number of rows of each table, and of attachments that are not in it."""
    head = parse_line(line)
    if not isinstance(head, dict) or head.get("format") != FORMAT:
        raise BadBackup(DAMAGED)
    version, schema, counts = head.get("version"), head.get("schema"), head.get("counts")
    if type(version) is not int or not isinstance(schema, str):
        raise BadBackup(DAMAGED)
    if version > VERSION or schema > SCHEMA:
        raise BadBackup(_NEWER)
    held = {each.name for since, some in _TABLES_SINCE.items() if since <= schema for each in some}
    if (
        schema not in _TABLES_SINCE
        or not isinstance(counts, dict)
        or set(counts) != held
        or not all(type(count) is int for count in counts.values())
        or type(left_out := head.get("left_out", 0)) is not int
    ):
        raise BadBackup(DAMAGED)
    return schema, counts, left_out


def batches(
    file: IO[bytes], take: Callable[[Part], object] | None = None
) -> Iterator[tuple[str, list[Row]]]:
    """The rows of a backup, a few hundred of one table at a time; ``take`` as for `read_rows`."""
    for name, of_table in groupby(read_rows(file, take), key=lambda each: each[0]):
        for some in slices(of_table):
            yield name, [row for _, row in some]
