"""A database of many workshops: one is made as phones make it, the others are copied from it row by
row, so that thousands are there within a minute."""

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, insert, text

from benchapp.records import tables
from benchapp.records.database import Database
from benchapp.records.devices import sha256_of
from benchapp.records.exchange import MOST_ITEMS, exchange, read_message
from benchapp.reminders import planning
from tests.benchmarks.exchange_records import records
from tests.benchmarks.reminders_wire import Listener

DAY_MS = 86_400_000
DEVICES = ("a", "b")
"""What ends the ids of a workshop's devices. The first listens for reminders."""
SECRET = "known"  # noqa: S105  (of devices that are nobody's)

FIRST_STAMP = "001700000000000.0000.filler"
"""Of all fields."""

RECORDS = 40
POURS = 12
EVENTS = 30
"""Of one pour."""

_POUR = Path(__file__).parents[1] / "bench" / "pour_of_version_1.json"


def fill(
    database: Database,
    count: int,
    now_ms: int,
    *,
    pours: int = POURS,
    listeners: list[Listener] | None = None,
    app_key: str = "",
) -> None:
    """`count` workshops, 'w0' and on, each with two devices, records, and pours with events and
    their reminders. Of each the first device listens, where there are `listeners`."""
    with database.write() as connection:
        _first(connection, pours, now_ms)
    while _plan(database, now_ms):
        pass
    with database.write() as connection:
        for table in (
            tables.workshop,
            tables.record,
            tables.event,
            tables.planned,
            tables.reminder,
        ):
            _copy(connection, table, count)
        _devices(connection, count, now_ms)
        if listeners:
            _listen(connection, listeners, app_key, now_ms)
    if not database.is_sqlite:
        # As its autovacuum does before long; it must not do so while anything is measured.
        with database.engine.connect() as connection:
            alone = connection.execution_options(isolation_level="AUTOCOMMIT")
            alone.execute(text("VACUUM ANALYZE"))


def cookie(workshop: int, device: str) -> str:
    """What a device shows."""
    return f"{device_id(workshop, device)}.{SECRET}"


def device_id(workshop: int, device: str) -> str:
    return f"w{workshop}{device}"


def let_fall_due(database: Database, now_ms: int) -> int:
    """Let two reminders of each workshop be due now; how many it are."""
    with database.write() as connection:
        return connection.execute(
            text(
                "UPDATE reminder SET done = false, waits_ms = :now, due_ms = :now, sent_on = NULL, "
                "\"on\" = :today WHERE kind = 'best' AND pour IN ('pour0', 'pour1')"
            ),
            {"now": now_ms, "today": _day(now_ms)},
        ).rowcount


def size_mb(database: Database) -> float:
    """Megabytes of tables and indexes."""
    with database.read() as connection:
        sizes = connection.execute(
            text(
                "SELECT sum(pg_total_relation_size(c.oid)) FROM pg_class c "
                "JOIN pg_namespace n ON n.oid = c.relnamespace "
                "WHERE n.nspname = current_schema() AND c.relkind = 'r'"
            )
        )
        return float(sizes.scalar_one()) / 1e6


# ---- the first workshop --------------------------------------------------------------------------


def _first(connection: Connection, pours: int, now_ms: int) -> None:
    shop = {"id": "w0", "name": "Tallow Lane", "seq": 0, "era": "era", "made_ms": now_ms}
    connection.execute(insert(tables.workshop).values(**shop, newest_ms=0))
    stamp = FIRST_STAMP
    kept: list[dict[str, Any]] = [
        {**each, "fields": _stamped(each["fields"], stamp)} for each in records(RECORDS)
    ]
    whole = json.loads(_POUR.read_text(encoding="utf-8"))
    events: list[dict[str, Any]] = []
    for number in range(pours):
        id_ = f"pour{number}"
        begun_ms = now_ms - (60 + 9 * number) * DAY_MS
        sheet = {**whole["sheet"], "cure_least_days": 7, "cure_best_days": 14}
        fields = {"name": sheet["title"], "sheet": sheet, "started_at": begun_ms}
        kept.append({"kind": "pour", "id": id_, "fields": _stamped(fields, stamp)})
        events += _events(whole["events"], id_, number, begun_ms)
    for some in _slices(kept):
        _send(connection, {"records": some}, now_ms)
    for some in _slices(events):
        _send(connection, {"events": some}, now_ms)


def _events(told: list[dict[str, Any]], pour: str, number: int, begun_ms: int) -> list[Any]:
    """What happened to a pour, up to its being set aside."""
    found = []
    for n, event in enumerate(told[: EVENTS - 1]):
        at = begun_ms + n * 60_000
        rest = {key: each for key, each in event.items() if key not in ("id", "of", "pour", "at")}
        id_ = f"{at:015d}.{n:04d}.p{number}"
        found.append({"id": id_, "of": ["pour", pour], "at": at, **rest})
    at = begun_ms + EVENTS * 60_000
    set_ = {"type": "set", "on": _day(begun_ms), "id": f"{at:015d}.0000.p{number}", "at": at}
    return [*found, {**set_, "of": ["pour", pour]}]


def _day(at_ms: int) -> str:
    return datetime.fromtimestamp(at_ms / 1000, UTC).date().isoformat()


def _stamped(fields: dict[str, Any], stamp: str) -> dict[str, Any]:
    return {name: {"value": value, "stamp": stamp} for name, value in fields.items()}


def _slices(items: list[Any]) -> list[list[Any]]:
    return [items[at : at + MOST_ITEMS] for at in range(0, len(items), MOST_ITEMS)]


def _send(connection: Connection, sent: dict[str, Any], now_ms: int) -> None:
    message = read_message({"era": "era", "cursor": 0, **sent})
    answer = exchange(connection, "w0", message, now_ms)
    if answer.refused:
        raise ValueError(answer.refused[0].why)


def _plan(database: Database, now_ms: int) -> bool:
    with database.write() as connection:
        return planning.plan(connection, now_ms)


# ---- the others ----------------------------------------------------------------------------------


def _copy(connection: Connection, table: Any, count: int) -> None:
    """What the first workshop has in a table, for the others as well."""
    own = "id" if table is tables.workshop else "workshop_id"
    rest = ", ".join(f'"{each.name}"' for each in table.columns if each.name != own)
    connection.execute(
        text(
            f'INSERT INTO {table.name} ("{own}", {rest}) '  # noqa: S608  (of our own tables)
            f"SELECT 'w' || n, {rest} FROM {table.name}, generate_series(1, :last) n "
            f"WHERE \"{own}\" = 'w0'"
        ),
        {"last": count - 1},
    )


def _devices(connection: Connection, count: int, now_ms: int) -> None:
    fields = {"name": "phone", "secret_sha256": sha256_of(SECRET), "agent": ""}
    times = {"made_ms": now_ms, "seen_ms": now_ms}
    rows = [
        {"id": device_id(number, each), "workshop_id": f"w{number}", **fields, **times}
        for number in range(count)
        for each in DEVICES
    ]
    connection.execute(insert(tables.device), rows)


def _listen(connection: Connection, listeners: list[Listener], app_key: str, now_ms: int) -> None:
    rows = [
        {
            **{"device_id": device_id(number, "a"), "workshop_id": f"w{number}"},
            **{"endpoint": endpoint, "p256dh": p256dh, "auth": auth, "app_key": app_key},
            **{"origin": "https://bench.example.net", "made_ms": now_ms},
        }
        for number, (endpoint, p256dh, auth) in enumerate(listeners)
    ]
    connection.execute(insert(tables.subscription), rows)
