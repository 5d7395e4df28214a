"""Databases with today's schema and nothing in them, as the migrations leave an empty one.

The migrations run once for each kind of database; after that, what came of them is put into the
others. That takes a tenth of their time, of which hundreds of tests would spend most of theirs.
"""

import shutil
from pathlib import Path
from typing import Any

import psycopg
from sqlalchemy import Engine, event
from sqlalchemy.engine import make_url

from benchapp.records.database import Database, sqlite_url


class Schemas:
    """`scratch` is a directory for the file that is copied."""

    def __init__(self, scratch: Path) -> None:
        self._file = scratch / "today.sqlite3"
        self._statements: list[tuple[str, Any, bool]] = []

    def put_into(self, url: str) -> None:
        """Let the empty database at `url` have the schema."""
        if make_url(url).get_backend_name() == "sqlite":
            self._copy_to(Path(str(make_url(url).database)))
        elif self._statements:
            self._say_again(url)
        else:
            self._listen_to_migrations(url)

    def _copy_to(self, path: Path) -> None:
        if not self._file.exists():
            Database(sqlite_url(self._file)).close()
        shutil.copy(self._file, path)

    def _listen_to_migrations(self, url: str) -> None:
        def note(_connection: Any, _cursor: Any, statement: str, given: Any, *more: Any) -> None:
            if not statement.lstrip().startswith("SELECT"):
                self._statements.append((statement, given, more[-1]))

        event.listen(Engine, "before_cursor_execute", note)
        try:
            Database(url).close()
        finally:
            event.remove(Engine, "before_cursor_execute", note)

    def _say_again(self, url: str) -> None:
        plain = url.replace("+psycopg", "", 1)
        with psycopg.connect(plain) as connection, connection.pipeline():
            cursor = connection.cursor()
            for statement, given, is_many in self._statements:
                if is_many:
                    cursor.executemany(statement, given)
                else:
                    cursor.execute(statement, given or None)
