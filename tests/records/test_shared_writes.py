"""Writers that share a commit: what each was told is so, whatever the others and the disk do."""

import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from random import Random

import pytest
from sqlalchemy import Connection, text

from benchapp.records.database import Database, Unavailable, sqlite_url

LONG_S = 30


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "bench.sqlite3"


@pytest.fixture
def database(file: Path) -> Iterator[Database]:
    opened = Database(sqlite_url(file))
    with opened.write() as connection:
        connection.execute(text("CREATE TABLE kept (number INTEGER PRIMARY KEY)"))
    yield opened
    opened.close()


class Refusal(Exception):
    pass


def keep(connection: Connection, number: int) -> None:
    connection.execute(text("INSERT INTO kept VALUES (:number)"), {"number": number})


def kept(file: Path) -> set[int]:
    """What another program finds in the file."""
    with closing(sqlite3.connect(file)) as found:
        return {number for (number,) in found.execute("SELECT number FROM kept")}


def commits(database: Database) -> list[int]:
    """Counts the commits from now on, one entry each."""
    counted: list[int] = []
    do_commit = database.engine.dialect.do_commit

    def count(connection: object) -> None:
        counted.append(1)
        do_commit(connection)  # type: ignore[arg-type]

    database.engine.dialect.do_commit = count  # type: ignore[method-assign]
    return counted


def at_once(database: Database, works: list[Callable[[], None]]) -> None:
    """Run them in threads, all of which wait to write before the first may."""
    assert database._shared is not None
    queue = database._shared._queue
    assert queue.acquire(LONG_S)
    threads = [threading.Thread(target=work) for work in works]
    for count, thread in enumerate(threads):
        thread.start()
        while len(queue._waiting) <= count:
            threading.Event().wait(0.001)
    queue.release()
    for thread in threads:
        thread.join()


@pytest.mark.parametrize("seed", range(10))
def test_what_was_acknowledged_is_on_disk_and_nothing_else(
    database: Database, file: Path, seed: int
) -> None:
    draw = Random(seed)
    acknowledged: set[int] = set()
    shared = commits(database)

    def work(number: int, ends_how: str) -> Callable[[], None]:
        def run() -> None:
            try:
                with database.write() as connection:
                    keep(connection, number)
                    if ends_how == "refused":
                        raise Refusal
                    if ends_how == "twice":
                        keep(connection, number)  # breaks the primary key
            except Exception:
                assert ends_how != "kept"
            else:
                # Another program has it before its writer goes on.
                assert number in kept(file)
                acknowledged.add(number)

        return run

    ends = draw.choices(("kept", "refused", "twice"), (6, 1, 1), k=24)
    at_once(database, [work(number, how) for number, how in enumerate(ends)])
    assert acknowledged == {number for number, how in enumerate(ends) if how == "kept"}
    assert kept(file) == acknowledged
    assert len(shared) < len(acknowledged)


def test_where_the_commit_fails_nobody_is_told_that_it_is_kept(
    database: Database, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(connection: object) -> None:
        raise sqlite3.OperationalError("disk I/O error")

    told: list[str] = []

    def work(number: int) -> Callable[[], None]:
        def run() -> None:
            try:
                with database.write() as connection:
                    keep(connection, number)
            except Unavailable:
                told.append("not kept")
            else:
                told.append("kept")

        return run

    with monkeypatch.context() as broken:
        broken.setattr(database.engine.dialect, "do_commit", fail)
        at_once(database, [work(number) for number in range(8)])
    assert told == ["not kept"] * 8
    assert kept(file) == set()
    with database.write() as connection:
        keep(connection, 100)
    assert kept(file) == {100}


def test_where_sqlite_gives_all_of_it_up_nobody_is_told_that_it_is_kept(
    database: Database, file: Path
) -> None:
    """As SQLite may after a full disk ("Response To Errors Within A Transaction")."""
    told: dict[int, str] = {}

    def work(number: int) -> Callable[[], None]:
        def run() -> None:
            try:
                with database.write() as connection:
                    keep(connection, number)
                    if number == 2:
                        raw = connection.connection.dbapi_connection
                        assert raw is not None
                        raw.rollback()
                        raise Refusal
            except (Unavailable, Refusal):
                told[number] = "not kept"
            else:
                told[number] = "kept"

        return run

    at_once(database, [work(number) for number in range(5)])
    assert told[2] == "not kept"
    assert kept(file) == {number for number, what in told.items() if what == "kept"}
    # Those who came before it, in the same transaction, and nobody after it.
    assert [told[number] for number in (0, 1)] == ["not kept"] * 2
    assert [told[number] for number in (3, 4)] == ["kept"] * 2


def test_an_old_transaction_is_handed_on_to_nobody(
    database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("benchapp.records.shared_writes.SHARED_S", 0)
    counted = commits(database)

    def work(number: int) -> Callable[[], None]:
        def run() -> None:
            with database.write() as connection:
                keep(connection, number)

        return run

    at_once(database, [work(number) for number in range(6)])
    assert len(counted) == 6
