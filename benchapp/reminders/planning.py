"""From what a workshop keeps to rows of reminders: what changed since the last look is reckoned
anew.

A workshop's changes are numbered (``records/exchange.py``), so a look is 'what came after the
number reached', whoever made the change: a phone, an import, a restore. Other settings, another
time zone and another era begin at the first change again.
"""

import json
import logging
from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import asdict
from itertools import islice
from typing import Any, TypeVar

from sqlalchemy import (
    ColumnElement,
    Connection,
    Row,
    Select,
    delete,
    insert,
    or_,
    select,
    tuple_,
    update,
)

from benchapp.formulas.day import day_of
from benchapp.records import tables
from benchapp.records.events import Event
from benchapp.records.merge import plain_values
from benchapp.reminders import due
from benchapp.reminders.due import Reminder, Settings

LATE_MS = 3 * 86_400_000
"""What fell due longer ago, before the server heard of it, is passed over: it is in Today, and a
phone that brings a year of pours must not ring a hundred times."""

USUAL_ZONE = "UTC"
"""Before any phone has told its own."""

PAGE = 500
"""Changes that are looked at in one transaction."""

_AT_ONCE = 200

_T = TypeVar("_T")

log = logging.getLogger("benchapp.reminders")


def is_behind(connection: Connection) -> bool:
    """Whether there is anything to reckon."""
    return connection.execute(_behind().limit(1)).first() is not None


def plan(connection: Connection, now_ms: int, *, day_ms: int | None = None, after: str = "") -> str:
    """Reckon one page of changes of one workshop; its id, or "" where none had any.

    ``connection`` is inside a transaction that may write; whoever else plans takes another
    workshop. ``day_ms`` as in ``Settings``. ``after``: the workshop that was reckoned last. The
    next one is taken: each has its turn, and those that are done are not looked through again for
    each of the thousands that an update leaves to do.
    """
    locked = _first_behind(connection, after) or (_first_behind(connection, "") if after else None)
    if locked is None:
        return ""
    # Read once more: what was read before the lock was there may have changed meanwhile.
    shop = connection.execute(_behind().where(tables.workshop.c.id == locked.id)).first()
    if shop is None:
        return str(locked.id)
    hers = _settings(connection, shop, day_ms)
    settings = json.dumps(asdict(hers))
    anew = shop.planned_era != shop.era or shop.settings != settings
    reached, pours = _changed(connection, shop, 0 if anew else shop.planned_seq)
    for some in _slices(pours):
        _reckon(connection, shop.id, some, hers, now_ms)
    values = {"era": shop.era, "seq": reached, "settings": settings}
    planned = tables.planned
    if shop.planned_era is None:
        first = {"workshop_id": shop.id, "zone": USUAL_ZONE, "zone_moves": 0}
        connection.execute(insert(planned).values(first | values))
    else:
        connection.execute(update(planned).where(planned.c.workshop_id == shop.id).values(values))
    return str(shop.id)


def tell_zone(connection: Connection, workshop_id: str, zone: str) -> None:
    """Her phone is in this time zone now. Raises ValueError, with a sentence, where it is none."""
    day_of(1_764_000_000_000, zone)
    planned, shop = tables.planned, tables.workshop
    # Under the lock of `plan`, which writes the same row from what it has read there.
    connection.execute(
        select(shop.c.id).where(shop.c.id == workshop_id).with_for_update(key_share=True)
    )
    known = connection.execute(
        select(planned.c.zone).where(planned.c.workshop_id == workshop_id)
    ).first()
    if known is None:
        first = {"workshop_id": workshop_id, "era": "", "seq": 0, "zone": zone, "zone_moves": 0}
        connection.execute(insert(planned).values(first))
    elif known.zone != zone:
        connection.execute(
            update(planned)
            .where(planned.c.workshop_id == workshop_id)
            .values(zone=zone, zone_moves=planned.c.zone_moves + 1, settings=None)
        )


def zone_of(connection: Connection, workshop_id: str) -> str:
    """The zone that her phone last told."""
    planned = tables.planned
    told = connection.scalar(select(planned.c.zone).where(planned.c.workshop_id == workshop_id))
    return told or USUAL_ZONE


# ---- what changed ------------------------------------------------------------------------------


def _behind() -> Select[Any]:
    shop, planned = tables.workshop, tables.planned
    return (
        select(
            shop.c.id,
            shop.c.era,
            shop.c.seq,
            planned.c.era.label("planned_era"),
            planned.c.seq.label("planned_seq"),
            planned.c.zone,
            planned.c.settings,
        )
        .select_from(shop.outerjoin(planned, planned.c.workshop_id == shop.c.id))
        .where(
            or_(
                planned.c.workshop_id.is_(None),
                planned.c.era != shop.c.era,
                planned.c.seq < shop.c.seq,
                planned.c.settings.is_(None),
            )
        )
    )


def _first_behind(connection: Connection, after: str) -> Row[Any] | None:
    """The first that nobody else reckons just now, in the order of ids; it is locked."""
    shop = tables.workshop
    asked = _behind().where(shop.c.id > after).order_by(shop.c.id).limit(1)
    return connection.execute(asked.with_for_update(of=shop, skip_locked=True)).first()


def _settings(connection: Connection, shop: Row[Any], day_ms: int | None) -> Settings:
    record = tables.record
    fields = connection.scalar(
        select(record.c.fields).where(
            record.c.workshop_id == shop.id,
            record.c.kind == "workshop",
            record.c.id == "workshop",
        )
    )
    values = plain_values(json.loads(fields)) if fields else {}
    return due.settings_of(values, shop.zone or USUAL_ZONE, day_ms=day_ms)


def _changed(connection: Connection, shop: Row[Any], since: int) -> tuple[int, list[str]]:
    """The number reached, and the pours that changed up to it."""
    record, event = tables.record, tables.event

    def after(table: Any) -> tuple[ColumnElement[bool], ...]:
        return table.c.workshop_id == shop.id, table.c.seq > since, table.c.seq <= shop.seq

    asked = (
        (select(record.c.seq, record.c.id).where(*after(record), record.c.kind == "pour"), record),
        (select(event.c.seq, event.c.of_id).where(*after(event), event.c.of_kind == "pour"), event),
    )
    found = [
        connection.execute(query.order_by(table.c.seq).limit(PAGE)).all() for query, table in asked
    ]
    # Of a full page the rest is not known yet.
    reached = min([rows[-1].seq for rows in found if len(rows) == PAGE], default=shop.seq)
    pours = dict.fromkeys(pour for rows in found for seq, pour in rows if seq <= reached)
    return reached, list(pours)


# ---- reckoning ---------------------------------------------------------------------------------


def _reckon(
    connection: Connection, workshop_id: str, pours: list[str], hers: Settings, now_ms: int
) -> None:
    record, event, reminder = tables.record, tables.event, tables.reminder
    records = {
        row.id: plain_values(json.loads(row.fields))
        for row in connection.execute(
            select(record.c.id, record.c.fields).where(
                record.c.workshop_id == workshop_id,
                record.c.kind == "pour",
                record.c.id.in_(pours),
            )
        )
    }
    events: dict[str, list[Event]] = defaultdict(list)
    for row in connection.execute(
        select(event.c.of_id, event.c.body).where(
            event.c.workshop_id == workshop_id,
            event.c.of_kind == "pour",
            event.c.of_id.in_(pours),
        )
    ):
        events[row.of_id].append(json.loads(row.body))
    before = {
        (row["pour"], row["kind"]): dict(row)
        for row in connection.execute(
            select(reminder).where(
                reminder.c.workshop_id == workshop_id, reminder.c.pour.in_(pours)
            )
        ).mappings()
    }
    after = {}
    for pour, values in records.items():
        # Not sorted by the database, which may rank letters its own way.
        happened = sorted(events[pour], key=lambda each: str(each["id"]))
        name, reminders = _reminders_of(pour, values, happened, hers)
        for each in reminders:
            of = {"workshop_id": workshop_id, "pour": pour, "name": name}
            old = before.get((pour, each.kind))
            after[pour, each.kind] = of | _row(each, old, now_ms)
    changed = [key for key in {**before, **after} if before.get(key) != after.get(key)]
    gone = [key for key in changed if key in before]
    for some in _slices(gone):
        connection.execute(
            delete(reminder).where(
                reminder.c.workshop_id == workshop_id,
                tuple_(reminder.c.pour, reminder.c.kind).in_(some),
            )
        )
    rows = [after[key] for key in changed if key in after]
    if rows:
        connection.execute(insert(reminder), rows)
    moved = [before[key] for key in gone if not _is_still_to_come(before[key], after.get(key))]
    _take_back(connection, workshop_id, [about(*key, on=row["on"]) for key, row in _keyed(moved)])


def _reminders_of(
    pour: str, values: dict[str, Any], events: list[Event], hers: Settings
) -> tuple[str, list[Reminder]]:
    """What the pour is called, and what it reminds of."""
    try:
        return due.name_of(values), due.reminders_of(values, events, hers)
    except Exception:
        # An odd pour, such as one of a backup made by hand, must not keep the others waiting.
        log.exception("unreadable pour", extra={"told": {"pour": pour}})
        return "", []


def _row(each: Reminder, old: dict[str, Any] | None, now_ms: int) -> dict[str, Any]:
    waits_ms, sent_on = None, old["sent_on"] if old else None
    if not each.done and sent_on != each.on:
        waited = old is not None and old["waits_ms"] is not None and old["on"] == each.on
        earlier = sent_on is not None and each.on < sent_on
        if waited or not (each.at_ms < now_ms - LATE_MS or (earlier and each.at_ms <= now_ms)):
            waits_ms = each.at_ms
        else:
            sent_on = each.on
    return {
        "kind": each.kind,
        "day": each.day,
        "on": each.on,
        "due_ms": each.at_ms,
        "done": each.done,
        "waits_ms": waits_ms,
        "sent_on": sent_on,
    }


def _is_still_to_come(old: dict[str, Any], new: dict[str, Any] | None) -> bool:
    return new is not None and not new["done"] and new["on"] == old["on"]


def _keyed(rows: list[dict[str, Any]]) -> Iterator[tuple[tuple[str, str], dict[str, Any]]]:
    for row in rows:
        yield (row["pour"], row["kind"]), row


def about(pour: str, kind: str, *, on: str) -> str:
    """What a message tells: one reminder on one day."""
    return f"{pour} {kind} {on}"


def _take_back(connection: Connection, workshop_id: str, told: Collection[str]) -> None:
    """Messages of reminders that are no more, and that nobody has begun to send."""
    delivery, device = tables.delivery, tables.device
    here = select(device.c.id).where(device.c.workshop_id == workshop_id)
    for some in _slices(told):
        connection.execute(
            delete(delivery).where(
                delivery.c.device_id.in_(here),
                delivery.c.about.in_(some),
                delivery.c.next_ms.is_not(None),
                delivery.c.claim.is_(None),
            )
        )


def _slices(items: Collection[_T]) -> Iterator[list[_T]]:
    rest = iter(items)
    while some := list(islice(rest, _AT_ONCE)):
        yield some
