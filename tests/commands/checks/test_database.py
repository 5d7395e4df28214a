"""The database, looked into without changing it."""

import sqlite3
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import update
from sqlalchemy.exc import DBAPIError

from benchapp.commands.checks import database as database_checks
from benchapp.commands.checks.database import Unreadable, open_read_only
from benchapp.records import tables
from benchapp.records.database import Database
from tests.reminders.conftest import Shop


def test_looking_changes_nothing(shop: Shop, database_url: str) -> None:
    with open_read_only(database_url) as connection:
        assert database_checks.schema(connection).state == "ok"
        with pytest.raises(DBAPIError, match=r"read-?only"):
            connection.execute(update(tables.workshop).values(name="Elsewhere"))


def test_postgresql_tells_its_version(postgres: Any) -> None:
    with open_read_only(postgres.new_database()) as connection:
        found = database_checks.postgres(connection)
    assert found.state == "ok"
    assert found.says.startswith("PostgreSQL 1")


def test_no_file_is_made_where_none_is(tmp_path: Path) -> None:
    with (
        pytest.raises(Unreadable, match="Start benchapp serve once"),
        open_read_only(f"sqlite:///{tmp_path / 'none.sqlite3'}"),
    ):
        pass
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_no_database(tmp_path: Path) -> None:
    (tmp_path / "bench.sqlite3").write_bytes(b"no database at all " * 100)
    with (
        pytest.raises(Unreadable, match="put a backup back"),
        open_read_only(f"sqlite:///{tmp_path / 'bench.sqlite3'}"),
    ):
        pass


@pytest.mark.parametrize("query", ["?password=geheim", ""])
def test_no_password_is_told_in_a_drivers_words(query: str) -> None:
    url = f"postgresql+psycopg://bench{'' if query else ':geheim'}@host/bench{query}"
    error = DBAPIError("SELECT hers", {}, Exception("no entry for bench:geheim.\nmore"))
    assert database_checks.driver_reason(error, url) == "no entry for bench:…"


def test_sqlite_in_another_mode(tmp_path: Path) -> None:
    path = tmp_path / "bench.sqlite3"
    Database(f"sqlite:///{path}").close()
    with open_read_only(f"sqlite:///{path}") as connection:
        assert database_checks.sqlite_mode(connection).state == "ok"
    opened = sqlite3.connect(path)
    opened.execute("PRAGMA journal_mode = DELETE")
    opened.close()
    with open_read_only(f"sqlite:///{path}") as connection:
        assert database_checks.sqlite_mode(connection).state == "look"
        assert database_checks.sqlite_whole(connection).state == "ok"
