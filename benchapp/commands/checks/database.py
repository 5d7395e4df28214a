"""The database: whether it can be read, is whole, and has the tables of this version."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, NullPool, create_engine, inspect, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError

from benchapp.commands.checks.finding import Finding
from benchapp.records import sqlite_file
from benchapp.records.database import SCHEMA, WAIT_S
from benchapp.records.sqlite_file import SqliteFile
from benchapp.words import WordedError, n_, plural, t

DATABASE = n_("database")
_INTEGRITY = n_("integrity")
_SCHEMA = n_("schema")


class Unreadable(WordedError):
    """The database can't be looked into; the sentence says why, and what to do."""


@contextmanager
def open_read_only(url: str) -> Iterator[Connection]:
    """A connection that can change nothing, and makes nothing where nothing is.

    Raises Unreadable, with a sentence, where there is none to be had.
    """
    engine = _engine(url)
    try:
        try:
            opened = engine.connect()
            if engine.dialect.name == "sqlite":
                # Only now the file is read.
                opened.execute(text("PRAGMA schema_version"))
        except DBAPIError as error:
            why = driver_reason(error, url)
            if engine.dialect.name == "sqlite":
                raise Unreadable(
                    "{file} can't be read ({why}). If it is damaged, move it away and put a "
                    "backup back with benchapp restore.",
                    file=engine.url.database,
                    why=why,
                ) from error
            raise Unreadable(
                "The database did not open ({why}). Start it, or correct --database.", why=why
            ) from error
        with opened:
            yield opened
    finally:
        engine.dispose()


def _engine(url: str) -> Engine:
    try:
        parsed = make_url(url)
        if parsed.get_backend_name() != "sqlite":
            options = (
                f"-c default_transaction_read_only=on -c lock_timeout={WAIT_S}s "
                f"-c statement_timeout={WAIT_S}s"
            )
            asked: dict[str, Any] = {"options": options, "connect_timeout": WAIT_S}
            return create_engine(parsed, poolclass=NullPool, connect_args=asked)
    except (ArgumentError, NoSuchModuleError, ImportError):
        # What it says may hold a password.
        raise Unreadable(
            "The database URL can't be used. It looks like {sqlite} or {postgresql}; PostgreSQL "
            "needs {command}.",
            sqlite="sqlite:////home/me/bench.sqlite3",
            postgresql="postgresql+psycopg://user@host/name",
            command="pip install 'benchapp[postgres]'",
        ) from None
    path = Path(parsed.database or "")
    if not os.path.isfile(path):  # Path's own raises where it may not look.
        raise Unreadable(
            "There are no records in {directory} yet. Start benchapp serve once, or say with "
            "--data or --database where its records are.",
            directory=path.parent,
        )
    if SqliteFile(path).is_cut():
        raise Unreadable(sqlite_file.DAMAGED, file=path, why=t(sqlite_file.CUT))
    read_only = f"{path.resolve().as_uri()}?mode=ro"
    return create_engine(
        parsed,
        poolclass=NullPool,
        creator=lambda: sqlite3.connect(read_only, uri=True, timeout=WAIT_S),
    )


def unreadable(error: DBAPIError, url: str) -> Finding:
    """What ended the look at a database that had opened."""
    why = driver_reason(error, url)
    parsed = make_url(url)
    if parsed.get_backend_name() != "sqlite":
        said = t("The rest of the database can't be read: {why}.", why=why)
        return Finding("bad", DATABASE, said)
    return Finding(
        "bad",
        DATABASE,
        t(
            "The rest of {file} can't be read ({why}). Stop the server, put the latest backup into "
            "a new directory with benchapp restore --data, and serve that.",
            file=parsed.database,
            why=why,
        ),
    )


def driver_reason(error: DBAPIError, url: str) -> str:
    """The driver's own words, without what was asked for and without a password."""
    said = next(iter(str(error.orig).splitlines()), "").rstrip(". ")
    parsed = make_url(url)
    for hidden in (parsed.password, parsed.query.get("password")):
        if hidden:
            said = said.replace(str(hidden), "…")
    return said or t("no reason given")


def sqlite_mode(connection: Connection) -> Finding:
    """Where it is, and whether phones that read and phones that write wait for each other."""
    file = connection.engine.url.database
    mode = connection.scalar(text("PRAGMA journal_mode"))
    if mode != "wal":
        return Finding(
            "look",
            DATABASE,
            t(
                "{file} is in mode {mode}, not WAL, so phones wait for each other: benchapp serve "
                "sets it right.",
                file=file,
                mode=mode,
            ),
        )
    said = t("SQLite {version} in {file}, in WAL mode.", version=sqlite3.sqlite_version, file=file)
    return Finding("ok", DATABASE, said)


def sqlite_whole(connection: Connection) -> Finding:
    """SQLite's own check of the file, without the costly part."""
    try:
        said = str(connection.scalar(text("PRAGMA quick_check(1)")))
    except DBAPIError as error:
        said = str(error.orig)
    if said != "ok":
        return Finding(
            "bad",
            _INTEGRITY,
            t(
                "SQLite found damage ({what}). Stop the server, keep the file, put the latest "
                "backup into a new directory with benchapp restore --data, and serve that.",
                what=" ".join(said.split())[:120],
            ),
        )
    return Finding("ok", _INTEGRITY, t("SQLite found no damage."))


def sqlite_rows_whole(connection: Connection) -> Finding | None:
    """What is wrong with what is in the rows, which SQLite does not look at."""
    spoilt = connection.scalar(
        text(
            "SELECT (SELECT count(*) FROM record WHERE NOT json_valid(fields)) "
            "+ (SELECT count(*) FROM event WHERE NOT json_valid(body))"
        )
    )
    if not spoilt:
        return None
    return Finding(
        "bad",
        _INTEGRITY,
        plural(
            int(spoilt),
            "{n} record or step of a pour is damaged. Stop the server, put the latest backup into "
            "a new directory with benchapp restore --data, and serve that: paired phones send what "
            "they keep.",
            "{n} records and steps of pours are damaged. Stop the server, put the latest backup "
            "into a new directory with benchapp restore --data, and serve that: paired phones send "
            "what they keep.",
        ),
    )


def postgres(connection: Connection) -> Finding:
    """That it answers, and its version."""
    version = str(connection.scalar(text("SHOW server_version"))).split(maxsplit=1)[0]
    return Finding("ok", DATABASE, t("PostgreSQL {version} answers.", version=version))


def schema(connection: Connection) -> Finding:
    """Whether the tables are those of this version. They are left as they are."""
    found = None
    if inspect(connection).has_table("alembic_version"):
        found = connection.scalar(text("SELECT version_num FROM alembic_version"))
    if found is None:
        return Finding("look", _SCHEMA, t("There are no tables yet: benchapp serve makes them."))
    if found > SCHEMA:
        return Finding(
            "bad",
            _SCHEMA,
            t(
                "The tables ({found}) are those of a newer version of benchapp. Update this one.",
                found=found,
            ),
        )
    if found < SCHEMA:
        return Finding(
            "look",
            _SCHEMA,
            t(
                "The tables ({found}) are older than this version's ({ours}): benchapp serve "
                "brings them up to date when it starts.",
                found=found,
                ours=SCHEMA,
            ),
        )
    return Finding("ok", _SCHEMA, t("The tables are those of this version ({ours}).", ours=SCHEMA))
