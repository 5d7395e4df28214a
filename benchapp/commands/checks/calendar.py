"""Private calendar addresses."""

from sqlalchemy import Connection, func, select

from benchapp.commands.checks.finding import Finding, when_text
from benchapp.records import tables


def calendars(connection: Connection) -> Finding:
    """How many private addresses are open, and when one was last read."""
    table = tables.calendar
    count, read_ms = connection.execute(
        select(func.count(), func.max(table.c.read_ms)).where(table.c.revoked_ms.is_(None))
    ).one()
    if not count:
        return Finding("ok", "calendar", "No private address is open.")
    those = "1 private address is" if count == 1 else f"{count} private addresses are"
    last = "never read" if read_ms is None else f"last read about {when_text(read_ms)}"
    return Finding("ok", "calendar", f"{those} open, {last}.")
