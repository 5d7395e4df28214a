"""How PostgreSQL answers the statements that code under test has sent."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import event

from benchapp.records.database import Database

Statement = tuple[str, Any]

_ASKED = ("SELECT", "UPDATE", "DELETE", "WITH")


@contextmanager
def statements_of(database: Database) -> Iterator[list[Statement]]:
    """The statements that are sent while the block runs, each once, with what it was given first;
    there once it is over."""
    found: dict[str, Any] = {}

    def note(
        _connection: Any, _cursor: Any, statement: str, given: Any, _context: Any, many: bool
    ) -> None:
        if statement.lstrip().upper().startswith(_ASKED):
            found.setdefault(statement, given[0] if many else given)

    event.listen(database.engine, "before_cursor_execute", note)
    told: list[Statement] = []
    try:
        yield told
    finally:
        event.remove(database.engine, "before_cursor_execute", note)
        told.extend(found.items())


def whole_reads(database: Database, statements: list[Statement], *, forced: bool) -> dict[str, str]:
    """Which of the statements read a whole table, and which table it is. `forced`: they do so only
    where there is no other way, however small it is."""
    found = {}
    with database.write() as connection:
        if forced:
            connection.exec_driver_sql("SET LOCAL enable_seqscan = off")
        for statement, given in statements:
            told = connection.exec_driver_sql(f"EXPLAIN (FORMAT JSON) {statement}", given).scalar()
            plan = (json.loads(told) if isinstance(told, str) else told)[0]["Plan"]
            if tables := sorted(set(_whole(plan))):
                found[" ".join(statement.split())] = ", ".join(tables)
    return found


def _whole(plan: dict[str, Any]) -> Iterator[str]:
    if plan["Node Type"] == "Seq Scan":
        yield plan["Relation Name"]
    for each in plan.get("Plans", ()):
        yield from _whole(each)
