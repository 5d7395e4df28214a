"""Private calendar addresses."""

from sqlalchemy import Connection, func, select

from benchapp.commands.checks.finding import Finding, when_text
from benchapp.records import tables
from benchapp.words import n_, plural, t

_SUBJECT = n_("calendar")


def calendars(connection: Connection) -> Finding:
    """How many private addresses are open, and when one was last read."""
    table = tables.calendar
    count, read_ms = connection.execute(
        select(func.count(), func.max(table.c.read_ms)).where(table.c.revoked_ms.is_(None))
    ).one()
    if not count:
        return Finding("ok", _SUBJECT, t("No private address is open."))
    if read_ms is None:
        said = plural(
            count,
            "{n} private address is open, never read.",
            "{n} private addresses are open, never read.",
        )
    else:
        said = plural(
            count,
            "{n} private address is open, last read about {time}.",
            "{n} private addresses are open, last read about {time}.",
            time=when_text(read_ms),
        )
    return Finding("ok", _SUBJECT, said)
