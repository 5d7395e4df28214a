"""What is here and not in a backup."""

from dataclasses import dataclass
from typing import IO

from sqlalchemy import Connection, func, select

from benchapp.records import tables
from benchapp.records.backups.checks import record_of
from benchapp.records.backups.file_format import batches
from benchapp.records.backups.rows import count_rows, existing, key_of
from benchapp.records.merge import merge_records

#: What the maker typed, and who may come in: the rest can be made anew from it.
_MADE = (tables.device, tables.record, tables.event)


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


def compare(connection: Connection, file: IO[bytes]) -> Compared:
    """What a restore would meet here. ``connection`` sees one state throughout."""
    compared = Compared(is_empty=is_empty(connection))
    if compared.is_empty:
        return compared
    unknown = {
        "record": count_rows(connection, tables.record),
        "event": count_rows(connection, tables.event),
    }
    for name, rows in batches(file):
        if name == "event":
            unknown[name] -= len(existing(connection, tables.event, rows))
        elif name == "record":
            kept = existing(connection, tables.record, rows)
            unknown[name] -= len(kept)
            for row in rows:
                here = kept.get(key_of(tables.record, row))
                if here is not None:
                    there = record_of(row)
                    compared.records += merge_records(there, record_of(here)) != there
    compared.records += unknown["record"]
    compared.events = unknown["event"]
    compared.newest_ms = connection.scalar(select(func.max(tables.workshop.c.newest_ms))) or 0
    return compared


def is_empty(connection: Connection) -> bool:
    """Nothing is here but, at most, the workshop that a server makes when it first starts."""
    if count_rows(connection, tables.workshop) > 1:
        return False
    return not any(count_rows(connection, table) for table in _MADE)
