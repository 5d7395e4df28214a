"""What a row of a backup may be: a file from elsewhere must not spoil a database."""

import json
import re
from dataclasses import dataclass
from typing import Any

from sqlalchemy import BigInteger, Boolean, Column, Table

from benchapp.formulas.cure import ready
from benchapp.records import tables
from benchapp.records.attachments.file_type import MOST_BYTES, TYPES
from benchapp.records.attachments.form import SHA256
from benchapp.records.exchange import MOST_RECORD
from benchapp.records.fields import ID
from benchapp.records.pour_events import REMINDERS
from benchapp.records.shapes import is_event, is_record
from benchapp.words import WordedError, n_

DAMAGED = n_(
    "This file is damaged, or is not a backup, so it can't be restored. Nothing was changed."
)

Row = dict[str, Any]


class BadBackup(WordedError):
    """The file can't be restored."""


@dataclass
class RowsBefore:
    """What is known of the rows before the one that is checked.

    Attributes:
        seqs: the number of the last change of each workshop, by its id.
        homes: the workshop of each device, by its id.
    """

    seqs: dict[str, int]
    homes: dict[str, str]


def check_row(table: Table, row: Any, before: RowsBefore) -> None:
    """Raise BadBackup where a row would not go into its table, or does not belong there."""
    if not isinstance(row, dict) or set(row) != {column.name for column in table.columns}:
        raise BadBackup(DAMAGED)
    if not all(_fits(column, row[column.name]) for column in table.columns):
        raise BadBackup(DAMAGED)
    if table is tables.workshop:
        before.seqs[row["id"]] = row["seq"]
        return
    if row["workshop_id"] not in before.seqs:
        raise BadBackup(DAMAGED)
    if table is tables.device:
        before.homes[row["id"]] = row["workshop_id"]
    elif not _belongs(table, row, before):
        raise BadBackup(DAMAGED)


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
    tables.attachment.c.bytes: MOST_BYTES,
    **{
        column: _LATEST_MS
        for table in (tables.reminder, tables.subscription, tables.calendar)
        for column in table.columns
        if column.name.endswith("_ms")
    },
}
_SHAPES: dict[Column[Any], re.Pattern[str]] = {
    tables.attachment.c.sha256: SHA256,
    tables.attachment.c.type: re.compile("|".join(map(re.escape, TYPES))),
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


def _belongs(table: Table, row: Row, before: RowsBefore) -> bool:
    """Whether what a row says of others, and of itself, holds together."""
    if table is tables.reminder:
        days = {row["day"], row["on"], row["sent_on"]} - {None}
        return all(map(_is_day, days)) and row["waits_ms"] in (None, row["due_ms"])
    if table is tables.subscription:
        return bool(before.homes.get(row["device_id"]) == row["workshop_id"])
    if table is tables.calendar:
        return True
    if table is tables.attachment:
        return bool(row["bytes"] > 0)
    seq: int = before.seqs[row["workshop_id"]]
    if table is tables.planned:
        return bool(row["seq"] <= seq)
    if not 0 < row["seq"] <= seq:
        return False
    if table is tables.record:
        return is_record(record_of(row))
    body = parse_line(row["body"])
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


def record_of(row: Row) -> dict[str, Any]:
    """The record that a row of the table holds. Raises BadBackup."""
    return {"kind": row["kind"], "id": row["id"], "fields": parse_line(row["fields"])}


def parse_line(line: bytes) -> Any:
    """What a line of JSON says. Raises BadBackup."""
    try:
        return json.loads(line)
    except (ValueError, RecursionError) as error:
        raise BadBackup(DAMAGED) from error
