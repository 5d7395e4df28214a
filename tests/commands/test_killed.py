"""`backup`, `restore` and `import`, killed at each step that they take: what was there is whole,
what came instead is whole too, and the next try succeeds.

They are ended by SIGKILL before each statement of the database, and before and after each file is
opened, renamed, removed or flushed; and in the middle of the writes themselves, those within SQLite
too, by the kernel (SIGXFSZ, where a file would grow beyond RLIMIT_FSIZE).

With more records, so at more steps: ``python -m tests.commands.test_killed --records 400``.
"""

import argparse
import os
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from sqlalchemy import Engine, event

from benchapp.cli import main
from benchapp.records import backups, tables
from benchapp.records.database import Database, sqlite_url
from tests.records.test_copies import fill, send, wax

FILE = "bench.sqlite3"
State = dict[str, list[tuple[Any, ...]]]


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="Windows has no fork")
def test_killed_at_every_step_nothing_is_half_done() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.commands.test_killed", "--records", "20", "--every", "24"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    kills = dict(re.findall(r"^(\w[\w -]*): (\d+) kills", done.stdout, re.MULTILINE))
    assert kills.keys() == {"backup", "restore --replace", "restore --merge", "import"}
    assert min(map(int, kills.values())) >= 2, done.stdout


# ---- one that dies -----------------------------------------------------------------------------


def run(arguments: list[str]) -> int:
    """Run a command; its exit status."""
    done = CliRunner().invoke(main, arguments)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.exit_code


def forked(work: Callable[[], int]) -> int:
    """Do it in a process of its own; how that ended: its status, or minus the signal."""
    child = os.fork()
    if child == 0:
        try:
            os._exit(work())
        except BaseException as error:
            os.write(2, f"{type(error).__name__}: {error}\n".encode())
        finally:
            os._exit(99)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


class Steps:
    """Counts the steps of this process from now on, and kills it at one of them."""

    def __init__(self, last: int | None) -> None:
        self.count = 0
        self.last = last
        fsync, replace = os.fsync, os.replace

        def flushed(file: int) -> None:
            self.step()
            fsync(file)
            self.step()

        def replaced(*given: Any, **named: Any) -> None:
            replace(*given, **named)
            self.step()

        os.fsync, os.replace = flushed, replaced
        sys.addaudithook(self._heard)
        event.listen(Engine, "connect", lambda opened, _: opened.set_trace_callback(self.step))

    def step(self, *_: object) -> None:
        self.count += 1
        if self.count == self.last:
            os.kill(os.getpid(), signal.SIGKILL)

    def _heard(self, name: str, given: tuple[Any, ...]) -> None:
        writes = name == "open" and isinstance(given[2], int) and given[2] & _WRITES
        if writes or name in ("os.rename", "os.remove", "os.link", "os.mkdir", "os.chmod"):
            self.step()


_WRITES = os.O_WRONLY | os.O_RDWR


def steps_of(arguments: list[str]) -> int:
    """How many steps a command takes that is let live."""
    reader, writer = os.pipe()

    def work() -> int:
        steps = Steps(None)
        status = run(arguments)
        os.write(writer, str(steps.count).encode())
        return status

    assert forked(work) == 0
    return int(os.read(reader, 100))


def killed_at(step: int) -> Callable[[list[str]], int]:
    def work(arguments: list[str]) -> int:
        Steps(step)
        return run(arguments)

    return work


def killed_beyond(size: int) -> Callable[[list[str]], int]:
    def work(arguments: list[str]) -> int:
        import resource  # there is none on Windows

        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
        signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
        return run(arguments)

    return work


# ---- what it leaves ----------------------------------------------------------------------------


def state(data: Path) -> State:
    """All rows, but for what a restore makes anew each time."""
    with closing(sqlite3.connect(data / FILE)) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        found = {}
        for table in tables.metadata.sorted_tables:
            names = ", ".join(
                f'"{column.name}"' for column in table.columns if column.name not in ("era", "seq")
            )
            rows = database.execute(f'SELECT {names} FROM "{table.name}"').fetchall()  # noqa: S608
            found[table.name] = sorted(rows, key=repr)
        return found


def whole_backups(folder: Path) -> Iterator[Path]:
    """Each that has its name is whole."""
    for path in folder.rglob("*.benchbackup"):
        if not path.name.startswith("."):
            with path.open("rb") as file:
                backups.verify(file)
            yield path


class Trial:
    """A command on a data directory of its own, killed again and again."""

    def __init__(self, folder: Path, before: Path, name: str, *arguments: str) -> None:
        self.name = name
        self.before = before
        self.data = folder / "data"
        self.arguments = [*arguments, "--data", str(self.data)]
        self.counts: Counter[str] = Counter()
        self.anew()
        self.was = state(self.data)
        self.steps = steps_of(self.arguments)
        self.becomes = state(self.data)
        self.largest = max(path.stat().st_size for path in self.data.rglob("*") if path.is_file())

    def anew(self) -> None:
        shutil.rmtree(self.data, ignore_errors=True)
        shutil.copytree(self.before, self.data)

    def kill(self, work: Callable[[list[str]], int]) -> None:
        self.anew()
        ended = forked(lambda: work(self.arguments))
        assert ended in (0, -signal.SIGKILL, -signal.SIGXFSZ), (self.name, ended)
        self.counts["lived" if ended == 0 else "kills"] += 1
        made = list(whole_backups(self.data))
        found = state(self.data)
        if found == self.was:
            self.counts["nothing had changed"] += 1
        else:
            # An import goes in by itself batch by batch; all else at once.
            assert found == self.becomes or self.name == "import", self.name
            assert made or "--replace" not in self.arguments
        assert forked(lambda: run(self.arguments)) == 0, self.name
        assert state(self.data) == self.becomes, self.name
        list(whole_backups(self.data))

    def kill_at_all(self, every: int) -> None:
        for step in range(1, self.steps + 1, every):
            self.kill(killed_at(step))
        # In pages and frames of the log, and between them.
        sizes = range(0, self.largest + 1, max(512, self.largest // (self.steps // every + 1)))
        for size in sizes:
            self.kill(killed_beyond(size + 100))


def make(folder: Path, records: int) -> list[Trial]:
    """What is here, and another workshop's backup and copy to be brought in."""
    here, there = folder / "here", folder / "there"
    for path, make_it in ((here, _little), (there, lambda database: fill(database, records))):
        path.mkdir()
        database = Database(sqlite_url(path / FILE))
        make_it(database)
        database.close()
    assert run(["backup", str(folder / "other.benchbackup"), "--data", str(there)]) == 0
    copy = str(folder / "copy.json")
    assert run(["export", copy, "--workshop", "Workshop", "--data", str(there)]) == 0
    backup = str(folder / "other.benchbackup")
    return [
        Trial(folder, there, "backup", "backup"),
        Trial(folder, here, "restore --replace", "restore", backup, "--replace"),
        Trial(folder, here, "restore --merge", "restore", backup, "--merge"),
        Trial(folder, here, "import", "import", copy),
    ]


def _little(database: Database) -> None:
    send(database, [wax("mine", "Bog")], [])


def main_() -> None:
    parser = argparse.ArgumentParser(description="Kill backup, restore and import at their steps.")
    parser.add_argument("--records", type=int, default=400, help="in the backup")
    parser.add_argument("--every", type=int, default=1, help="kill at every so many steps")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        for trial in make(Path(name), given.records):
            trial.kill_at_all(given.every)
            kills, same = trial.counts["kills"], trial.counts["nothing had changed"]
            print(f"{trial.name}: {kills} kills in {trial.steps} steps; {same} changed nothing")


if __name__ == "__main__":
    main_()
