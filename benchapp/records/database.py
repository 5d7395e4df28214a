"""The server's database: SQLite in one file, or PostgreSQL by its URL, its schema kept up to date.

``read`` and ``write`` are the only ways in. Each is one transaction: what a ``write`` has left is
on disk, or nothing of it is there.
"""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from enum import IntEnum
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, create_engine, event, inspect, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from benchapp.records import sqlite_file
from benchapp.records.shared_writes import NotKept, NoTurn, SharedWrites
from benchapp.records.sqlite_file import SqliteFile
from benchapp.words import InputError, WordedError, n_, t

#: The newest schema, by the name of its file in ``migrations/versions``.
SCHEMA = "0004"

WAIT_S = 10
"""How long a write waits for others before it gives up."""

_NO_ANSWER = n_("The server's database does not answer: try again later.")
BUSY = n_("The server is busy: try again in a moment.")


class Unavailable(WordedError):
    """Nothing could be read or written just now. Try again later."""


class Broken(Unavailable):
    """The records can't be used until the operator has set something right: a file is damaged, was
    moved, or can't be read or written. The sentence says where it lies, and is not for phones."""


def broken_row(table: str, id_: object) -> Broken:
    """A row does not hold what it must: what is copied from here could not be read back."""
    return Broken(
        "“{id}” in the table {table} can't be read: the database is damaged. Nothing was changed. "
        "Put the latest backup into a new directory (benchapp restore --data DIRECTORY BACKUP): "
        "paired phones then send what they keep.",
        id=id_,
        table=table,
    )


class WrongSchema(WordedError):
    """The database was written by a newer version."""


def sqlite_url(path: Path) -> str:
    """The URL of a SQLite file."""
    return f"sqlite:///{path.resolve()}"


class Database:
    """A pool of connections. Opened once per process; safe to use from several threads.

    Raises Unavailable where nothing answers, Broken where what is there can't be used, WrongSchema
    where the schema is newer than this version, InputError where the URL can't be used.
    """

    def __init__(self, url: str) -> None:
        try:
            parsed = make_url(url)
            self.is_sqlite = parsed.get_backend_name() == "sqlite"
            options: dict[str, Any] = {
                "pool_pre_ping": not self.is_sqlite,
                "pool_timeout": WAIT_S,
                # What is kept is nobody's business in a log.
                "hide_parameters": True,
            }
            if not self.is_sqlite:
                waits = f"-c lock_timeout={WAIT_S}s"
                options["connect_args"] = {"options": waits, "connect_timeout": WAIT_S}
            self.engine = create_engine(parsed, pool_size=8, max_overflow=24, **options)
            self._file = _sqlite_file(parsed)
        except (ArgumentError, NoSuchModuleError, ImportError) as error:
            raise InputError(
                "The database URL can't be used ({why}). It looks like {sqlite} or {postgresql}; "
                "PostgreSQL needs {command}.",
                why=error,
                sqlite="sqlite:////home/me/bench.sqlite3",
                postgresql="postgresql+psycopg://user@host/name",
                command="pip install 'benchapp[postgres]'",
            ) from error
        # SQLite polls for its lock and waits for the disk at each commit; the threads of one
        # process can queue for the one and share the other instead.
        self._shared = SharedWrites(self._connect_to_write, WAIT_S) if self.is_sqlite else None
        if self.is_sqlite:
            event.listen(self.engine, "connect", _prepare_sqlite)
            event.listen(self.engine, "begin", _begin_sqlite)
        try:
            self._bring_up_to_date()
        except BaseException:
            self.close()
            raise

    @contextmanager
    def read(self, *, snapshot: bool = False) -> Iterator[Connection]:
        """A transaction that changes nothing. With `snapshot` all of it sees one state."""
        with self._as_unavailable(), self.engine.connect() as connected:
            connection = connected
            # On SQLite a transaction sees one state anyway.
            if snapshot and not self.is_sqlite:
                connection = connected.execution_options(
                    isolation_level="REPEATABLE READ", postgresql_readonly=True
                )
            with connection.begin():
                yield connection

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """A transaction; on SQLite the only one that writes, from its first statement on."""
        if self._shared is not None:
            with self._as_unavailable(), self._shared.write() as connection:
                yield connection
        else:
            with self._as_unavailable(), self.engine.connect() as connection, connection.begin():
                yield connection

    def _connect_to_write(self) -> Connection:
        return self.engine.connect().execution_options(benchapp_writes=True)

    @contextmanager
    def _as_unavailable(self) -> Iterator[None]:
        """Raise what the database can't do as Unavailable."""
        if self._file is not None and self._file.is_another():
            raise Broken(sqlite_file.GONE, file=self._file.path)
        try:
            yield
        except (PoolTimeout, NoTurn) as error:
            raise Unavailable(BUSY) from error
        except NotKept as error:
            raise Unavailable(_NO_ANSWER) from error
        except json.JSONDecodeError as error:
            # What phones send was read before: this came from a row.
            raise Broken(
                "A row of the database can't be read: it is damaged. Nothing was changed. Put the "
                "latest backup into a new directory (benchapp restore --data DIRECTORY BACKUP): "
                "paired phones then send what they keep."
            ) from error
        except DBAPIError as error:
            if (unavailable := _unavailable(error, self._file)) is None:
                raise
            raise unavailable from error

    def forget(self) -> None:
        """Empty SQLite's write-ahead log, in which what was erased stands until it is written over.

        Where somebody reads at the moment, it is done when the next is erased, or at the end.
        """
        if not self.is_sqlite:
            return
        with self._as_unavailable(), closing(self.engine.raw_connection()) as raw:
            cursor = raw.cursor()
            cursor.execute("PRAGMA busy_timeout = 1000")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            cursor.execute(f"PRAGMA busy_timeout = {WAIT_S * 1000}")

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()

    def _bring_up_to_date(self) -> None:
        with self.read() as connection:
            if _schema(connection) == SCHEMA:
                return
        from alembic import command  # noqa: PLC0415  (large, and rarely needed)
        from alembic.config import Config  # noqa: PLC0415
        from alembic.script import ScriptDirectory  # noqa: PLC0415

        config = Config()
        config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
        with self.write() as connection:
            # Several processes may start at once: one migrates, the others find it done.
            lock_until_commit(connection, Lock.MIGRATION)
            found = _schema(connection)
            known = {each.revision for each in ScriptDirectory.from_config(config).walk_revisions()}
            if found is not None and found not in known:
                raise WrongSchema(
                    "These records were written by a newer version of benchapp. Update benchapp, "
                    "or restore a backup that this version made."
                )
            config.attributes["connection"] = connection
            command.upgrade(config, SCHEMA)


class Lock(IntEnum):
    """What only one transaction does at a time, by the number of its advisory lock."""

    MIGRATION = 5209741
    PAIRING = 5209742
    FIRST_WORKSHOP = 5209743
    SUBSCRIBING = 5209744


def lock_until_commit(connection: Connection, lock: Lock) -> None:
    """Hold a lock until the transaction ends: whoever else asks for it waits. On SQLite a
    transaction that writes is alone anyway."""
    if connection.dialect.name != "sqlite":
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": int(lock)})


def _schema(connection: Connection) -> str | None:
    """The schema of the database; None: it is empty."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found: str | None = connection.scalar(text("SELECT version_num FROM alembic_version"))
    return found


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    # SQLAlchemy begins the transactions, not the driver.
    connection.isolation_level = None
    for pragma in (
        "journal_mode = WAL",
        # An acknowledged write survives a power cut.
        "synchronous = FULL",
        "foreign_keys = ON",
        # What a person asked to be forgotten is not left in a page that is free now.
        "secure_delete = ON",
        f"busy_timeout = {WAIT_S * 1000}",
    ):
        connection.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("benchapp_writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _sqlite_file(url: URL) -> SqliteFile | None:
    """The file of a SQLite database, ready to be opened. Raises Broken."""
    file = sqlite_file.of_url(url)
    try:
        if file is not None:
            file.make_ready()
            if file.is_cut():
                raise Broken(sqlite_file.DAMAGED, file=file.path, why=t(sqlite_file.CUT))
    except OSError as error:
        assert file is not None  # noqa: S101  (only it touches the disk)
        raise Broken(sqlite_file.UNUSABLE, file=file.path, why=error.strerror) from error
    return file


def _unavailable(error: DBAPIError, file: SqliteFile | None) -> Unavailable | None:
    """What is told of an error; None where it is a fault of ours."""
    fault = _fault(error)
    if fault in _NO_ROOM:
        return Unavailable(
            "The server has no room left on its disk, so nothing was stored there. Free some "
            "space on it; the phone keeps everything until then."
        )
    if fault in _LOCKED:
        return Unavailable(BUSY)
    if fault in _DAMAGED or str(error.orig).startswith(_NO_TEXT):
        why = sqlite_file.reason(error.orig)
        if file is not None:
            return Broken(sqlite_file.DAMAGED, file=file.path, why=why)
        return Broken(
            "The database is damaged ({why}). Restore the latest backup into a new one, and ask "
            "benchapp doctor about it.",
            why=why,
        )
    if fault in _UNUSABLE and file is not None:
        return Broken(sqlite_file.UNUSABLE, file=file.path, why=sqlite_file.reason(error.orig))
    if (
        error.connection_invalidated
        or type(error).__name__ == "OperationalError"
        or fault in _NOT_NOW
    ):
        return Unavailable(_NO_ANSWER)
    return None


# PostgreSQL names a fault by its SQLSTATE (appendix A of its documentation): disk_full, io_error;
# lock_not_available; data_corrupted, index_corrupted; read_only_sql_transaction. SQLite numbers it
# ("Result Codes"), the extended codes only where they are told apart.
_NO_ROOM = (
    *("53100", "58030", sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_WRITE),
    *(sqlite3.SQLITE_IOERR_FSYNC, sqlite3.SQLITE_IOERR_TRUNCATE),
    *(sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_IOERR_SHMMAP),
)
_LOCKED = ("55P03", sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
_DAMAGED = ("XX001", "XX002", sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
_UNUSABLE = (
    *(sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM),
    *(sqlite3.SQLITE_AUTH, sqlite3.SQLITE_IOERR),
)
_NOT_NOW = ("25006",)
_NO_TEXT = "Could not decode to UTF-8"
"""What Python's driver says of text that is none: it gives no number."""


def _fault(error: DBAPIError) -> str | int | None:
    """The code that a database gives an error; None where it gives none."""
    result_code = getattr(error.orig, "sqlite_errorcode", None)
    if result_code is not None:
        code = int(result_code)
        return code if code in _NO_ROOM else code & 0xFF
    sqlstate: str | None = getattr(error.orig, "sqlstate", None)
    return sqlstate
