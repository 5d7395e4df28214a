"""Private calendar addresses."""

from benchapp.commands.checks import calendar as calendar_checks
from benchapp.reminders import calendar
from tests.commands.workshop import NOW_MS
from tests.reminders.conftest import Shop


def test_private_calendar_addresses(shed: Shop) -> None:
    def found() -> str:
        with shed.database.read() as connection:
            return calendar_checks.calendars(connection).says

    assert found() == "No private address is open."
    with shed.database.write() as connection:
        id_, token = calendar.make_address(connection, shed.id, NOW_MS)
    assert found() == "1 private address is open, never read."
    with shed.database.write() as connection:
        calendar.mark_read(connection, token, NOW_MS)
        calendar.make_address(connection, shed.id, NOW_MS)
    assert found() == "2 private addresses are open, last read about 2026-11-25 12:00 UTC."
    with shed.database.write() as connection:
        calendar.revoke(connection, shed.id, id_, NOW_MS)
    assert found() == "1 private address is open, never read."
