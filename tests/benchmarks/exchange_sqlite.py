"""The limit: the same rows into a bare SQLite file, as durably as the server writes them."""

import json
import sqlite3
import time
from pathlib import Path
from typing import Any

TABLE = """
CREATE TABLE record (
  workshop_id TEXT NOT NULL, kind TEXT NOT NULL, id TEXT NOT NULL, seq BIGINT NOT NULL,
  fields TEXT NOT NULL, PRIMARY KEY (workshop_id, kind, id)
);
CREATE INDEX ix_record_seq ON record (workshop_id, seq);
"""


def insert(path: Path, stored: list[dict[str, Any]], batch: int) -> float:
    """Return the seconds that ``stored`` records take, ``batch`` of them in a transaction."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.executescript(TABLE)
    rows = [
        ("w", each["kind"], each["id"], number, json.dumps(each["fields"], separators=(",", ":")))
        for number, each in enumerate(stored, 1)
    ]
    begun = time.perf_counter()
    for first in range(0, len(rows), batch):
        connection.execute("BEGIN IMMEDIATE")
        connection.executemany("INSERT INTO record VALUES (?,?,?,?,?)", rows[first : first + batch])
        connection.execute("COMMIT")
    took = time.perf_counter() - begun
    connection.close()
    return took
