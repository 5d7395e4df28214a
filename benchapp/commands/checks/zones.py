"""Time zones: whether any are known here, and each workshop's."""

import json
from collections.abc import Callable, Collection, Iterator
from pathlib import Path

from sqlalchemy import Connection, select

from benchapp.commands.checks.finding import Finding
from benchapp.records import tables
from benchapp.reminders import planning


def time_zone_data(load: Callable[[str], object], paths: Collection[str]) -> Finding:
    """Whether time zones are known; `paths` are the folders where a system keeps them."""
    subject = "time zones"
    if not is_zone("Europe/Lisbon", load):
        return Finding(
            "bad",
            subject,
            "No time zone is known here, so no reminder can be reckoned: pip install tzdata",
        )
    here = next((path for path in paths if Path(path, "Europe/Lisbon").is_file()), None)
    return Finding("ok", subject, f"They come from {here or 'the package tzdata'}.")


def time_zones(connection: Connection, load: Callable[[str], object]) -> Iterator[Finding]:
    """Each workshop's, as a phone told it or as it is set."""
    shop, planned = tables.workshop, tables.planned
    rows = connection.execute(
        select(shop.c.name, planned.c.zone, planned.c.zone_moves, planned.c.settings)
        .select_from(shop.outerjoin(planned, planned.c.workshop_id == shop.c.id))
        .order_by(shop.c.made_ms, shop.c.id)
    )
    for row in rows:
        used = json.loads(row.settings)["zone"] if row.settings else row.zone
        yield _zone(row.name, row.zone, used, row.zone_moves, load)


def _zone(
    name: str, told: str | None, used: str | None, moves: int | None, load: Callable[[str], object]
) -> Finding:
    subject = "time zone"
    if used is None or (used == told == planning.USUAL_ZONE and not moves):
        return Finding(
            "look",
            subject,
            f"{name}: no phone has told it yet, so it is UTC. Open the bench on a phone that is "
            "paired, or set it there under Units and room.",
        )
    if not is_zone(used, load):
        return Finding(
            "bad",
            subject,
            f"{name}: “{used}” is not known here, so nothing is reminded of. Get newer time "
            "zones (pip install -U tzdata), or set another on a phone under Units and room.",
        )
    return Finding(
        "ok", subject, f"{name}: {used}, as {'a phone told it' if used == told else 'it is set'}."
    )


def is_zone(name: str, load: Callable[[str], object]) -> bool:
    try:
        load(name)
    except (OSError, ValueError, LookupError):
        return False
    return True
