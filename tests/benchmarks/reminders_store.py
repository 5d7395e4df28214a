"""Databases full of reminders: some that are due now, or a great many that are not."""

from sqlalchemy import Connection, insert, text

from benchapp.records import tables
from benchapp.records.database import Database
from tests.benchmarks.reminders_wire import Listener

DAY_MS = 86_400_000
BATCHES = 10
"""Of one workshop, where all of them are due."""


def fill_due(database: Database, listeners: list[Listener], app_key: str, now_ms: int) -> None:
    """A workshop with one phone for each listener; ten of its batches are ready to be trimmed."""
    with database.write() as connection:
        for number, (endpoint, p256dh, auth) in enumerate(listeners):
            add_workshop(connection, f"w{number}", now_ms)
            connection.execute(
                insert(tables.subscription).values(
                    device_id=f"w{number}",
                    workshop_id=f"w{number}",
                    endpoint=endpoint,
                    p256dh=p256dh,
                    auth=auth,
                    app_key=app_key,
                    origin="https://bench.example.net",
                    made_ms=now_ms,
                )
            )
        rows = [
            {
                "workshop_id": f"w{number}",
                "pour": f"p{batch}",
                "kind": "trim",
                "name": f"Wet slate, {12 + batch} × tin 120",
                "day": "2026-11-26",
                "on": "2026-11-26",
                "due_ms": now_ms,
                "done": False,
                "waits_ms": now_ms,
            }
            for number in range(len(listeners))
            for batch in range(BATCHES)
        ]
        connection.execute(insert(tables.reminder), rows)


def fill_kept(database: Database, rows: int, workshops: int, now_ms: int) -> None:
    """So many reminders, one in ten still to come, and as many messages that are over."""
    with database.write() as connection:
        for number in range(workshops):
            add_workshop(connection, f"w{number}", now_ms)
        given = {"rows": rows, "workshops": workshops, "now_ms": now_ms, "day_ms": DAY_MS}
        connection.execute(text(_REMINDERS), given)
        connection.execute(text(_MESSAGES), given)
    if not database.is_sqlite:
        # As its autovacuum does before long.
        with database.write() as connection:
            connection.execute(text("ANALYZE"))


def fall_due(connection: Connection, now_ms: int) -> None:
    """Let one reminder of the first workshop be due, and one message."""
    connection.execute(
        text("UPDATE reminder SET waits_ms = :now WHERE workshop_id = 'w0' AND pour = 'p0'"),
        {"now": now_ms},
    )
    connection.execute(
        text("UPDATE delivery SET next_ms = :now, expires_ms = :now + 1000 WHERE id = 'd0'"),
        {"now": now_ms},
    )


def add_workshop(connection: Connection, id_: str, now_ms: int) -> None:
    """A workshop of which all is reckoned, and its phone."""
    shop = {"id": id_, "name": id_, "seq": 1, "era": "e", "made_ms": now_ms, "newest_ms": now_ms}
    connection.execute(insert(tables.workshop).values(shop))
    # What `planning` writes down, as far as sending reads it.
    settings = '{"zone": "Europe/Lisbon"}'
    planned = {"era": "e", "seq": 1, "zone": "Europe/Lisbon", "zone_moves": 0, "settings": settings}
    connection.execute(insert(tables.planned).values(workshop_id=id_, **planned))
    device = {"id": id_, "workshop_id": id_, "name": id_, "secret_sha256": "", "agent": ""}
    times = {"made_ms": now_ms, "seen_ms": now_ms}
    connection.execute(insert(tables.device).values(device | times))


_NUMBERS = """
WITH RECURSIVE n(i) AS (SELECT CAST(0 AS BIGINT) UNION ALL SELECT i + 1 FROM n WHERE i < :rows - 1)
"""

_REMINDERS = f"""
INSERT INTO reminder
  (workshop_id, pour, kind, name, day, "on", due_ms, done, waits_ms, sent_on)
{_NUMBERS}
SELECT
  'w' || (i % :workshops), 'p' || i, 'cured', 'Wet slate, 12 × tin 120', '2026-11-26',
  '2026-11-26', :now_ms + (i % 400 - 360) * :day_ms, i % 400 < 360,
  CASE WHEN i % 400 > 360 THEN :now_ms + (i % 400 - 360) * :day_ms END, '2026-11-26'
FROM n
"""  # noqa: S608

_MESSAGES = f"""
INSERT INTO delivery
  (id, device_id, about, topic, urgency, payload, expires_ms, claim, tries, state, status, over_ms)
{_NUMBERS}
SELECT
  'd' || i, 'w' || (i % :workshops), 'p' || i || ' cured 2026-11-26', 'none', 'normal',
  '{{"web_push": 8030, "notification": {{"title": "Wet slate, 12 × tin 120: cured today"}}}}',
  :now_ms, NULL, 1, 'sent', 201, :now_ms
FROM n
"""  # noqa: S608
