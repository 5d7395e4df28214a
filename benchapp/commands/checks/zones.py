"""Time zones: whether any are known here, and each workshop's."""

import json
from collections.abc import Callable, Collection, Iterator
from pathlib import Path

from sqlalchemy import Connection, select

from benchapp.commands.checks.finding import Finding
from benchapp.records import tables
from benchapp.reminders import planning
from benchapp.words import n_, t


def time_zone_data(load: Callable[[str], object], paths: Collection[str]) -> Finding:
    """Whether time zones are known; `paths` are the folders where a system keeps them."""
    subject = n_("time zones")
    if not is_zone("Europe/Lisbon", load):
        return Finding(
            "bad",
            subject,
            t(
                "No time zone is known here, so no reminder can be worked out: {command}",
                command="pip install tzdata",
            ),
        )
    here = next((path for path in paths if Path(path, "Europe/Lisbon").is_file()), None)
    if here is None:
        return Finding("ok", subject, t("They come from the package tzdata."))
    return Finding("ok", subject, t("They come from {directory}.", directory=here))


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
    subject = n_("time zone")
    if used is None or (used == told == planning.USUAL_ZONE and not moves):
        return Finding(
            "look",
            subject,
            t(
                "{workshop}: no phone has sent its time zone yet, so UTC is used. Open the bench "
                "on a phone that is paired, or set it there under Units and room.",
                workshop=name,
            ),
        )
    if not is_zone(used, load):
        return Finding(
            "bad",
            subject,
            t(
                "{workshop}: “{zone}” is not known here, so no reminders are sent. Get newer time "
                "zones ({command}), or set another on a phone under Units and room.",
                workshop=name,
                zone=used,
                command="pip install -U tzdata",
            ),
        )
    if used == told:
        said = t("{workshop}: {zone}, sent by a phone.", workshop=name, zone=used)
    else:
        said = t("{workshop}: {zone}, set under Units and room.", workshop=name, zone=used)
    return Finding("ok", subject, said)


def is_zone(name: str, load: Callable[[str], object]) -> bool:
    try:
        load(name)
    except (OSError, ValueError, LookupError):
        return False
    return True
