"""The days of what is wanted, as far as the server knows them: by when, and when she pours them.

The last days to pour and to order follow from her shelf, which only the phone looks at
(``static/screens/wanted_calendar.js``, which has these two under the same names).
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, select

from benchapp.records import tables
from benchapp.records.merge import Fields, plain_values, versions
from benchapp.words import t

MOVING_FIELDS = ("by", "pour_on")
"""Fields after which its days may be others."""


@dataclass(frozen=True)
class WantedDay:
    """A day of something that is wanted; ``sequence`` only grows."""

    id: str
    what: str
    day: date
    summary: str
    sequence: int


def wanted_days(connection: Connection, workshop_id: str, *, since: date) -> list[WantedDay]:
    """The days of all that is not done, from ``since`` on, the first day first."""
    recipes = {
        id_: str(values.get("name", ""))
        for id_, _, values in _kept("recipe", connection, workshop_id)
    }
    found = [
        each
        for id_, fields, values in _kept("wanted", connection, workshop_id)
        if values.get("done") != "yes"
        for each in days_of(id_, fields, values, recipes)
        if each.day >= since
    ]
    return sorted(found, key=lambda each: (each.day, each.id, each.what))


def days_of(
    id_: str, fields: Fields, values: dict[str, Any], recipes: dict[str, str]
) -> Iterator[WantedDay]:
    """Of one that is wanted; ``recipes``: names by id."""
    name, count = values.get("name", ""), values.get("count", "")
    recipe = recipes.get(values.get("recipe", ""))
    what = str(count) if recipe is None else t("{count} × {vessel}", count=count, vessel=recipe)
    moves = [len(versions(fields[field])) for field in MOVING_FIELDS if field in fields]
    for kind, field, said in (
        ("wanted", "by", t("{name}: {what} wanted", name=name, what=what)),
        ("pour-on", "pour_on", t("{name}: pour {what}", name=name, what=what)),
    ):
        if values.get(field):
            yield WantedDay(id_, kind, date.fromisoformat(values[field]), said, sum(moves))


def _kept(
    kind: str, connection: Connection, workshop_id: str
) -> Iterator[tuple[str, Fields, dict[str, Any]]]:
    """Id, fields and values of all records of a kind that are not deleted."""
    table = tables.record
    rows = connection.execute(
        select(table.c.id, table.c.fields).where(
            table.c.workshop_id == workshop_id, table.c.kind == kind
        )
    )
    for row in rows:
        fields: Fields = json.loads(row.fields)
        values = plain_values(fields)
        if not values.get("deleted"):
            yield row.id, fields, values
