"""The time zone that a workshop is reckoned in, after a restore."""

from benchapp.formulas.day import day_of
from benchapp.records.backups.checks import Row

#: Before any phone has told its own.
_USUAL_ZONE = "UTC"
_SOME_MS = 1_764_000_000_000


def with_zone(here: Row | None, there: Row) -> Row:
    """A row of ``planned``, to be reckoned anew, in the zone that was told last: a zone is told
    again only when it is another one, so that is the one that was told more often."""
    row = there | {"seq": 0, "settings": None}
    try:
        day_of(_SOME_MS, row["zone"])
    except ValueError:
        # This machine's list of zones is older than the backup's.
        row["zone"] = _USUAL_ZONE
    if here is None:
        return row
    if _told(row) <= _told(here):
        return row | {"zone": here["zone"], "zone_moves": here["zone_moves"]}
    return row | {"zone_moves": row["zone_moves"] + (row["zone"] != here["zone"])}


def _told(planned: Row) -> tuple[int, bool]:
    return planned["zone_moves"], planned["zone"] != _USUAL_ZONE
