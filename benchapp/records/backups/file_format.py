"""The file of a backup: gzip of JSON lines.

A head says what it is and how many rows follow; then comes one line ``[table, row]`` for each row
(workshops, devices, records, events; since schema 0002 also how far reminders are reckoned, the
reminders, where devices listen, calendar addresses), and a last line with the SHA-256 of all lines
before it. Codes that let devices in, wrong ones, and messages on their way to devices are not in
it. Reading and writing hold a few hundred rows at a time.
"""

import gzip
import hashlib
import json
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import groupby
from typing import IO, Any

from sqlalchemy import Connection, Table, select

from benchapp.records import tables
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
    "0004": (),
}
TABLES: dict[str, Table] = {each.name: each for some in _TABLES_SINCE.values() for each in some}
_MOST_LINE = 16_000_000
_NEWER = n_("This backup was made by a newer version of benchapp. Update benchapp first.")

Counts = dict[str, int]


def write_backup(connection: Connection, made_ms: int, out: IO[bytes]) -> Counts:
    """Write everything to ``out`` and return the number of rows of each table.

    ``connection`` sees one state of the database throughout. Raises Broken where it holds what
    could not be restored: a disk may have spoilt it.
    """
    before = RowsBefore({}, {})
    counts = {name: count_rows(connection, table) for name, table in TABLES.items()}
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
        for name, table in TABLES.items():
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
    return counts


def verify(file: IO[bytes]) -> Counts:
    """The number of rows of each table. Raises BadBackup where anything is wrong with the file."""
    counts = dict.fromkeys(TABLES, 0)
    for name, _ in read_rows(file):
        counts[name] += 1
    return counts


def read_rows(file: IO[bytes]) -> Iterator[tuple[str, Row]]:
    """Every row, in order. Raises BadBackup, if need be only after the last one."""
    file.seek(0)
    sha256 = hashlib.sha256()
    before = RowsBefore({}, {})
    place = 0
    with gzip.GzipFile(fileobj=file) as packed, _bad_if_damaged():
        schema, head = _head(line := packed.readline(_MOST_LINE))
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
            yield name, row
        is_whole = found == {"sha256": sha256.hexdigest()} and not any(left.values())
        if not is_whole or packed.read(1):
            raise BadBackup(DAMAGED)


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


def _head(line: bytes) -> tuple[str, Counts]:
    """The schema, and the number of rows of each table."""
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
    ):
        raise BadBackup(DAMAGED)
    return schema, counts


def batches(file: IO[bytes]) -> Iterator[tuple[str, list[Row]]]:
    """The rows of a backup, a few hundred of one table at a time."""
    for name, of_table in groupby(read_rows(file), key=lambda each: each[0]):
        for some in slices(of_table):
            yield name, [row for _, row in some]
