"""The private calendar: all reminders of a workshop, and the days of what is wanted, for any
calendar program (RFC 5545), at an address that is its own secret.

Moments are written in UTC (RFC 5545 section 3.3.5, form 2): each is one instant, which is right in
every time zone and over every change of the clocks, so the feed needs no table of zones. A reminder
keeps its UID for good, and SEQUENCE only grows. What is told between a change and its reckoning
(`planning`) has the new SEQUENCE and the old moment: the later DTSTAMP is then right (RFC 5546
section 2.1.5). UID and SEQUENCE are those of the file that a phone makes of one batch
(``static/bench/calendar.js``), but that only the server knows how often her phone was in another
time zone.

An address ends with 32 random bytes, of which only the SHA-256 is kept.
"""

import hashlib
import json
import re
import secrets
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from icalendar import Alarm, Calendar, Event, Timezone, TimezoneStandard
from icalendar.prop import vText
from sqlalchemy import ColumnElement, Connection, RowMapping, insert, or_, select, update

from benchapp.records import tables
from benchapp.records.events import TYPES
from benchapp.records.merge import versions
from benchapp.reminders import due
from benchapp.reminders.wanted import WantedDay, wanted_days
from benchapp.words import InputError, t

MOST_ADDRESSES = 5
"""Addresses of one workshop that are open at once."""

READ_MS = 3_600_000
"""When an address was last read is written at most this often."""

LONG = timedelta(minutes=15)
REFRESH = timedelta(hours=6)

MOVES = {each.name for each in TYPES["pour"].values() if each.moves_reminders}
"""Events of a pour after which its reminders may say something else."""

MOVING_FIELDS = ("remind_at", "quiet_from", "quiet_to", "time_zone")
"""Fields of her workshop's record, of which the same is true."""

_AT_ONCE = 300


# ---- the addresses -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Address:
    """An open address: ``id`` names it in a list, ``read_ms`` is about when it was last read."""

    id: str
    made_ms: int
    read_ms: int | None


@dataclass(frozen=True)
class Reader:
    """Who shows a token: a calendar program of this workshop."""

    workshop_id: str
    read_ms: int | None


def make_address(connection: Connection, workshop_id: str, now_ms: int) -> tuple[str, str]:
    """Open another address; its id, and the token that is told this once.

    Raises InputError where there are MOST_ADDRESSES already.
    """
    table, shop = tables.calendar, tables.workshop
    # Two at once could both be the fifth.
    connection.execute(select(shop.c.id).where(shop.c.id == workshop_id).with_for_update())
    if len(addresses(connection, workshop_id)) >= MOST_ADDRESSES:
        raise InputError(
            "There are {n} calendar addresses already. End one that you no longer use, then make "
            "a new one.",
            n=MOST_ADDRESSES,
        )
    token = secrets.token_urlsafe(32)
    made = {"token_sha256": _sha256(token), "workshop_id": workshop_id, "made_ms": now_ms}
    connection.execute(insert(table).values(made))
    return _id(_sha256(token)), token


def addresses(connection: Connection, workshop_id: str) -> list[Address]:
    """The open addresses of a workshop, the newest first."""
    table = tables.calendar
    rows = connection.execute(
        select(table)
        .where(table.c.workshop_id == workshop_id, _is_open())
        .order_by(table.c.made_ms.desc(), table.c.token_sha256)
    )
    return [Address(_id(row.token_sha256), row.made_ms, row.read_ms) for row in rows]


def revoke(connection: Connection, workshop_id: str, id_: str, now_ms: int) -> bool:
    """Close an address for good. False: the workshop has none of that id that is open."""
    table = tables.calendar
    tokens = connection.scalars(
        select(table.c.token_sha256).where(table.c.workshop_id == workshop_id, _is_open())
    )
    named = [token for token in tokens if _id(token) == id_]
    connection.execute(
        update(table).where(table.c.token_sha256.in_(named)).values(revoked_ms=now_ms)
    )
    return bool(named)


def reader_of(connection: Connection, token: str) -> Reader | None:
    """Whose calendar a token opens; None: nobody's, or the address is closed.

    It is looked up by its hash, so how long that takes tells nothing of the tokens there are.
    """
    table = tables.calendar
    row = connection.execute(
        select(table).where(table.c.token_sha256 == _sha256(token), _is_open())
    ).first()
    return None if row is None else Reader(row.workshop_id, row.read_ms)


def is_read_due(reader: Reader, now_ms: int) -> bool:
    """Whether `mark_read` is due."""
    return reader.read_ms is None or abs(now_ms - reader.read_ms) >= READ_MS


def mark_read(connection: Connection, token: str, now_ms: int) -> None:
    """Write down that an address was read."""
    table = tables.calendar
    which = table.c.token_sha256 == _sha256(token)
    connection.execute(update(table).where(which).values(read_ms=now_ms))


def _is_open() -> ColumnElement[bool]:
    return tables.calendar.c.revoked_ms.is_(None)


def _id(token_sha256: str) -> str:
    return token_sha256[:12]


def _sha256(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


# ---- the feed ----------------------------------------------------------------------------------


def feed(connection: Connection, workshop_id: str, origin: str, now_ms: int) -> bytes:
    """The calendar of a workshop: what is not done, and not long past.

    Args:
        connection: inside a transaction that sees one state.
        origin: where the bench is found, such as 'https://bench.example', for the links.
        now_ms: milliseconds since 1970.
    """
    rows = _reminders(connection, workshop_id, now_ms)
    days = wanted_days(connection, workshop_id, since=_utc(now_ms - due.STALE_MS).date())
    moves = _moves(connection, workshop_id, {row["pour"] for row in rows})
    settled = _settings_moves(connection, workshop_id)
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", "-//Pour bench//Calendar//EN")
    calendar.add("method", "PUBLISH")
    # RFC 7986; the other name is older, and read by more.
    calendar.add("name", _Text(t("Pour bench")))
    calendar.add("x-wr-calname", _Text(t("Pour bench")))
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    for row in rows:
        event = _event(row, origin, moves[row["pour"]] + settled)
        event.add("dtstamp", _utc(now_ms))
        calendar.add_component(event)
    for day in days:
        event = _day_event(day, origin)
        event.add("dtstamp", _utc(now_ms))
        calendar.add_component(event)
    if not rows and not days:
        # A calendar must hold something (RFC 5545 section 3.6), if only what time UTC is.
        calendar.add_component(_time_zone())
    written: bytes = calendar.to_ical(sorted=False)
    return written


def version_of(feed: bytes) -> str:
    """A name of what a feed says, whenever it was made: 32 hexadecimal digits."""
    said = re.sub(rb"^DTSTAMP:\w+\r\n", b"", feed, flags=re.MULTILINE)
    return hashlib.sha256(said).hexdigest()[:32]


def _event(row: RowMapping, origin: str, sequence: int) -> Event:
    at = _utc(row["due_ms"])
    summary = due.summary(row["name"], row["kind"])
    event = Event()
    event.add("uid", f"{row['kind']}.{row['pour']}@pour-bench.invalid")
    event.add("sequence", sequence)
    event.add("dtstart", at)
    event.add("dtend", at + LONG)
    event.add("summary", _Text(summary))
    event.add("description", _Text(t(due.TELLS[row["kind"]])))
    event.add("url", f"{origin}/#/entry/{row['pour']}")
    event.add("transp", "TRANSPARENT")
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    # The library writes a duration of nothing as P0D, which fewer programs know.
    alarm.add("trigger", _Text("PT0S"))
    alarm.add("description", _Text(summary))
    event.add_component(alarm)
    return event


def _day_event(wanted: WantedDay, origin: str) -> Event:
    """It lasts for its day, wherever she is: without an end, as section 3.6.1 has it of a date."""
    event = Event()
    event.add("uid", f"{wanted.what}.{wanted.id}@pour-bench.invalid")
    event.add("sequence", wanted.sequence)
    event.add("dtstart", wanted.day)
    event.add("summary", _Text(wanted.summary))
    event.add("url", f"{origin}/#/wanted/{wanted.id}")
    event.add("transp", "TRANSPARENT")
    return event


def _time_zone() -> Timezone:
    always = TimezoneStandard()
    always.add("dtstart", datetime(1970, 1, 1))  # noqa: DTZ001  (local time, as in the RFC)
    always.add("tzoffsetfrom", timedelta(0))
    always.add("tzoffsetto", timedelta(0))
    zone = Timezone()
    zone.add("tzid", "Etc/UTC")
    zone.add_component(always)
    return zone


def _utc(at_ms: int) -> datetime:
    return datetime.fromtimestamp(at_ms // 1000, UTC)


class _Text(vText):
    """A value of type TEXT, which holds no control character but a tab (section 3.3.11).

    The library's own takes a backslash before a capital N for a line break.
    """

    def to_ical(self) -> bytes:
        said = re.sub("\r\n|[\r\v\f\x85\u2028\u2029]", "\n", self)
        said = re.sub("[\x00-\x08\x0e-\x1f\x7f-\x9f]", "\ufffd", said)
        return re.sub(r"[\\;,]", r"\\\g<0>", said).replace("\n", r"\n").encode()


# ---- what it is made from ----------------------------------------------------------------------


def _reminders(connection: Connection, workshop_id: str, now_ms: int) -> list[RowMapping]:
    table = tables.reminder
    rows = connection.execute(
        select(table.c.pour, table.c.kind, table.c.name, table.c.due_ms).where(
            table.c.workshop_id == workshop_id,
            table.c.done.is_(False),
            or_(table.c.due_ms >= now_ms - due.STALE_MS, table.c.kind.in_(("trim", "label"))),
        )
    )
    # Not sorted by the database, which may rank letters its own way.
    return sorted(rows.mappings(), key=lambda row: (row["due_ms"], row["pour"], row["kind"]))


def _moves(connection: Connection, workshop_id: str, pours: Iterable[str]) -> Counter[str]:
    """How often something has happened to each pour that may move its reminders."""
    table = tables.event
    found: Counter[str] = Counter()
    every = sorted(pours)
    for start in range(0, len(every), _AT_ONCE):
        rows = connection.execute(
            select(table.c.of_id, table.c.body).where(
                table.c.workshop_id == workshop_id,
                table.c.of_kind == "pour",
                table.c.of_id.in_(every[start : start + _AT_ONCE]),
            )
        )
        found.update(row.of_id for row in rows if json.loads(row.body).get("type") in MOVES)
    return found


def _settings_moves(connection: Connection, workshop_id: str) -> int:
    """How often something has happened to her settings that may move every reminder."""
    record, planned = tables.record, tables.planned
    kept = connection.scalar(
        select(record.c.fields).where(
            record.c.workshop_id == workshop_id,
            record.c.kind == "workshop",
            record.c.id == "workshop",
        )
    )
    fields: dict[str, Any] = json.loads(kept) if kept else {}
    zone_moves = connection.scalar(
        select(planned.c.zone_moves).where(planned.c.workshop_id == workshop_id)
    )
    changed = [len(versions(fields[name])) for name in MOVING_FIELDS if name in fields]
    return sum(changed) + (zone_moves or 0)
