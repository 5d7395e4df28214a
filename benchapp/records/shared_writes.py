"""Writers of a SQLite file that wait for one another end in one commit.

A commit waits for the disk, so where many want to write the disk decides how many can. Here
whoever has written hands the open transaction to the next who waits, and the last one commits for
all. Nobody goes on before what it wrote is on disk.
"""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from sqlalchemy import Connection

from benchapp.records.write_queue import WriteQueue

MOST = 32
"""Writers that share a commit."""
SHARED_S = 0.02
"""How old a transaction may be that is handed on, in seconds."""


class NoTurn(Exception):
    """It was not its turn in time."""


class NotKept(Exception):
    """SQLite has given the transaction up."""


class SharedWrites:
    """Who may write to one file now, among the threads of this process.

    Args:
        connect: opens a connection whose transactions lock the file from their first moment.
        wait_s: how long one waits for its turn, in seconds.
    """

    def __init__(self, connect: Callable[[], Connection], wait_s: float) -> None:
        self._connect = connect
        self._wait_s = wait_s
        self._queue = WriteQueue()
        self._handed_on: _Transaction | None = None

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """A part of a transaction, alone to write in. What raises is taken back, and the parts of
        others stay. Raises NoTurn where its turn does not come, and what the database raises
        where the transaction could not be kept."""
        if not self._queue.acquire(self._wait_s):
            raise NoTurn
        transaction, self._handed_on = self._handed_on, None
        try:
            transaction = transaction or _Transaction(self._connect())
        except BaseException:
            self._queue.release()
            raise
        try:
            with transaction.part() as connection:
                yield connection
        finally:
            self._hand_on_or_end(transaction)
        transaction.wait()

    def _hand_on_or_end(self, transaction: "_Transaction") -> None:
        if transaction.may_be_handed_on():
            self._handed_on = transaction
            if self._queue.hand_over():
                return
            self._handed_on = None
        transaction.end()
        self._queue.release()


class _Transaction:
    """One transaction, in which threads take turns."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        try:
            self._transaction = connection.begin()
        except BaseException:
            connection.close()
            raise
        self._begun = time.monotonic()
        self._parts = 0
        self._fault: BaseException | None = None
        self._ended = threading.Event()

    @contextmanager
    def part(self) -> Iterator[Connection]:
        """A part of it, taken back where it raises."""
        is_first = self._parts == 0
        try:
            if not is_first:
                self._say("SAVEPOINT part")
            yield self._connection
            if not is_first:
                self._say("RELEASE part")
        except BaseException as error:
            self._take_back(error)
            raise
        self._parts += 1

    def may_be_handed_on(self) -> bool:
        """Whether another may add to it."""
        is_young = time.monotonic() - self._begun < SHARED_S
        return self._fault is None and 0 < self._parts < MOST and is_young

    def end(self) -> None:
        """Commit what is in it, and let go those who wait."""
        try:
            if self._fault is None and self._parts > 0:
                self._commit()
        except BaseException as error:
            self._fault = error
        finally:
            if self._fault is not None:
                # In what state it is then is not known: nobody else shall have it.
                self._connection.invalidate()
            # Rolls back what is not committed.
            self._connection.close()
            self._ended.set()

    def wait(self) -> None:
        """Wait until it is on disk. Raises what the database raised where it is not."""
        self._ended.wait()
        if self._fault is not None:
            raise self._fault

    def _commit(self) -> None:
        if not self._is_open():
            raise NotKept
        self._transaction.commit()

    def _take_back(self, error: BaseException) -> None:
        try:
            if not self._is_open():
                # After some errors SQLite gives up all of it.
                self._fault = error
            elif self._parts > 0:
                self._say("ROLLBACK TO part")
                self._say("RELEASE part")
        except BaseException:
            self._fault = error

    def _is_open(self) -> bool:
        raw = self._connection.connection.dbapi_connection
        return raw is not None and bool(raw.in_transaction)

    def _say(self, statement: str) -> None:
        self._connection.exec_driver_sql(statement)
