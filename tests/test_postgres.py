"""The databases that the other tests are given."""

import socket
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import create_engine, inspect, text
from sqlalchemy.pool import NullPool

from benchapp.records import tables
from benchapp.records.database import SCHEMA, Database
from tests.postgres import Postgres, find_binaries, postgres_server
from tests.schemas import Schemas

pytestmark = pytest.mark.slow  # starts PostgreSQL


def _run(url: str, *statements: str) -> list[tuple]:
    engine = create_engine(url, poolclass=NullPool)
    with engine.begin() as connection:
        for statement in statements:
            result = connection.execute(text(statement))
        return [tuple(row) for row in result] if result.returns_rows else []


def test_a_database_starts_empty_and_keeps_what_is_written(empty_database_url):
    engine = create_engine(empty_database_url, poolclass=NullPool)
    assert inspect(engine).get_table_names() == []
    _run(
        empty_database_url,
        "CREATE TABLE jug (name TEXT)",
        "INSERT INTO jug VALUES ('steel, 2 l – näppärä')",
    )
    assert inspect(engine).get_table_names() == ["jug"]
    assert _run(empty_database_url, "SELECT name FROM jug") == [("steel, 2 l – näppärä",)]


def test_two_databases_of_one_server_are_apart(postgres: Postgres):
    one, other = postgres.new_database(), postgres.new_database()
    _run(one, "CREATE TABLE jug (name TEXT)", "INSERT INTO jug VALUES ('one')")
    assert inspect(create_engine(other, poolclass=NullPool)).get_table_names() == []
    _run(other, "CREATE TABLE jug (name TEXT)", "INSERT INTO jug VALUES ('other')")
    assert _run(one, "SELECT name FROM jug") == [("one",)]


def test_text_sorts_by_its_bytes_as_stamps_must(empty_database_url):
    _run(
        empty_database_url,
        "CREATE TABLE stamp (text TEXT)",
        "INSERT INTO stamp VALUES ('1.a'), ('1.B'), ('1-c'), ('10.a'), ('1.b')",
    )
    found = [row[0] for row in _run(empty_database_url, "SELECT text FROM stamp ORDER BY text")]
    assert found == sorted(found)


@pytest.mark.parametrize("fsync", [True, False])
def test_a_server_leaves_nothing_behind(fsync):
    binaries = find_binaries()
    if binaries is None:
        pytest.skip("PostgreSQL was not found.")
    with postgres_server(binaries, fsync=fsync) as postgres:
        assert _run(postgres.new_database(), "SHOW fsync") == [("on" if fsync else "off",)]
    assert not postgres.scratch.exists()
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.1", postgres.port))


_KILLED = """
import sys
from contextlib import closing
from pathlib import Path
from tests.postgres import postgres_server
with postgres_server(Path(sys.argv[1])) as postgres:
    print(postgres.scratch, flush=True)
    sys.stdin.read()
"""


def test_a_server_goes_even_when_the_tests_are_killed():
    binaries = find_binaries()
    if binaries is None:
        pytest.skip("PostgreSQL was not found.")
    with subprocess.Popen(
        [sys.executable, "-c", _KILLED, str(binaries)],
        cwd=Path(__file__).resolve().parents[1],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as tests:
        scratch = Path(tests.stdout.readline().strip())
        assert scratch.is_dir()
        tests.kill()
        # The keeper holds the other end of the output until it has removed everything.
        assert tests.stdout.read() == ""
    assert not scratch.exists()


def test_a_schema_that_was_put_there_is_what_the_migrations_make(request, tmp_path):
    def all_of(url: str) -> dict[str, list]:
        with closing(Database(url)) as opened, opened.read() as connection:
            there = MigrationContext.configure(connection)
            assert compare_metadata(there, tables.metadata) == []
            names = inspect(connection).get_table_names()
            return {each: _run(url, f"SELECT * FROM {each}") for each in names}  # noqa: S608

    def urls(name: str) -> list[str]:
        if name == "sqlite":
            return [f"sqlite:///{tmp_path / str(number)}.sqlite3" for number in range(3)]
        postgres = request.getfixturevalue("postgres")
        return [postgres.new_database() for _ in range(3)]

    schemas = Schemas(tmp_path)
    for name in ("sqlite", "postgres"):
        migrated, *put_there = urls(name)
        wanted = all_of(migrated)
        assert wanted["alembic_version"] == [(SCHEMA,)]
        for url in put_there:
            schemas.put_into(url)
            assert all_of(url) == wanted
