"""The statements of an exchange, built once: to build one takes longer than to run it."""

from typing import Any

from sqlalchemy import ColumnElement, Select, Table, bindparam, select, update

from benchapp.records import tables

_records, _events, _workshop = tables.record, tables.event, tables.workshop


def _here(table: Table) -> ColumnElement[bool]:
    return table.c.workshop_id == bindparam("workshop_id")


def _numbered(table: Table, *columns: str) -> Select[Any]:
    """The first ``:most`` that are numbered after ``:cursor``, up to ``:last``."""
    seq = table.c.seq
    return (
        select(seq, *(table.c[name] for name in columns))
        .where(_here(table), seq > bindparam("cursor"), seq <= bindparam("last"))
        .order_by(seq)
        .limit(bindparam("most"))
    )


def _kept(table: Table, *columns: str) -> Select[Any]:
    """Which of ``:ids`` are there."""
    named = table.c.id.in_(bindparam("ids", expanding=True))
    return select(table.c.id, *(table.c[name] for name in columns)).where(_here(table), named)


SHOP = select(_workshop).where(_workshop.c.id == bindparam("workshop_id"))
SHOP_HELD = SHOP.with_for_update()

NEW_RECORDS = _numbered(_records, "kind", "id", "fields")
NEW_EVENTS = _numbered(_events, "id", "body")

KEPT_RECORDS = _kept(_records, "fields").where(_records.c.kind == bindparam("kind"))
KEPT_EVENTS = _kept(_events, "body")

CHANGE_RECORD = (
    update(_records)
    .where(
        _records.c.workshop_id == bindparam("of_workshop"),
        _records.c.kind == bindparam("of_kind"),
        _records.c.id == bindparam("of_id"),
    )
    .values(seq=bindparam("seq"), fields=bindparam("fields"))
)
REACHED = (
    update(_workshop)
    .where(_workshop.c.id == bindparam("of_workshop"))
    .values(seq=bindparam("seq"), newest_ms=bindparam("newest_ms"))
)
