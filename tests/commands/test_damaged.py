"""A SQLite file that is damaged, gone, or open to others: each command says so in one sentence, and
changes nothing; a server that runs says so to phones without telling where its files lie."""

import os
import random
import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner

from benchapp.cli import main
from benchapp.records.database import Database, sqlite_url
from benchapp.reminders import vapid_keys
from benchapp.web import secret
from tests.waits import until
from tests.web.wire import Phone, join, served

FILE = "bench.sqlite3"
PAGE = 4096


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data directory with a pour's worth of records."""
    data = tmp_path_factory.mktemp("whole") / "data"
    with served(data) as (server, url):
        phone = join(url, server.first_code(), "a")
        for number in range(60):
            phone.save("wax", f"w{number}", name=f"Dune {number}", notes="soft " * 60)
            phone.note("p", f"smooth {number} " * 20)
        phone.exchange_all()
    vapid_keys.load(data)
    with closing(sqlite3.connect(data / FILE)) as opened:
        opened.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return data


@pytest.fixture
def data(whole: Path, tmp_path: Path) -> Path:
    shutil.copytree(whole, tmp_path / "data")
    return tmp_path / "data"


def cut(at: Callable[[int], int]) -> Callable[[bytearray], object]:
    return lambda body: body.__delitem__(slice(at(len(body)), None))


def garbage(body: bytearray) -> None:
    """In every page but the first."""
    chance = random.Random(5)
    for start in range(PAGE, len(body), PAGE):
        body[start : start + 200] = chance.randbytes(200)


DAMAGE: dict[str, Callable[[bytearray], object]] = {
    "nothing left": cut(lambda size: 0),
    "a byte left": cut(lambda size: 1),
    "half a page left": cut(lambda size: PAGE // 2),
    "a page left": cut(lambda size: PAGE),
    "half left": cut(lambda size: size // 2 + 77),
    "no database": lambda body: body.__setitem__(slice(0, None), b"Dear diary, " * 500),
    "garbage in the middle": garbage,
    "another header": lambda body: body.__setitem__(slice(0, 16), bytes(16)),
}


@pytest.mark.parametrize("how", DAMAGE)
def test_each_command_says_which_file_and_what_to_do_and_changes_nothing(
    data: Path, how: str, tmp_path: Path
) -> None:
    body = bytearray((data / FILE).read_bytes())
    DAMAGE[how](body)
    (data / FILE).write_bytes(body)
    out = str(tmp_path / "out")
    for arguments in (
        ["serve", "--get", "/api/me"],
        ["backup", out],
        ["export", out],
        ["devices"],
        ["pair"],
        ["workshops"],
        ["remind", "--once", "--contact", "you@example.net"],
        ["doctor"],
    ):
        done = CliRunner().invoke(main, [*arguments, "--data", str(data)])
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        assert done.exit_code != 0, (arguments, done.output)
        said = done.output if arguments == ["doctor"] else done.stderr
        assert "Traceback" not in said
        assert re.search("damage|can't be read", said), said
        assert str(data / FILE) in said
        assert "restore" in said
        if arguments != ["doctor"]:
            assert "Nothing was changed" in said
            assert len(said.splitlines()) == 1
        assert (data / FILE).read_bytes() == body
    assert not Path(out).exists()


def test_a_row_that_can_not_be_read_back_is_copied_nowhere(data: Path, tmp_path: Path) -> None:
    """What SQLite itself does not see."""
    with closing(sqlite3.connect(data / FILE)) as opened, opened:
        opened.execute("UPDATE record SET fields = substr(fields, 1, 40) WHERE id = 'w7'")
    for name in ("backup", "export"):
        out = tmp_path / name
        done = CliRunner().invoke(main, [name, str(out), "--data", str(data)])
        assert done.exit_code == 2
        assert "“w7” in the table record can't be read" in done.stderr
        assert list(tmp_path.glob(f"*{name}*")) == []
    done = CliRunner().invoke(main, ["doctor", "--data", str(data)])
    assert "1 record or step of a pour is damaged." in " ".join(done.output.split())


@pytest.fixture
def read_only(data: Path, tmp_path: Path) -> Iterator[Path]:
    """The same on a disk that can only be read."""
    if sys.platform != "linux" or os.geteuid() != 0:
        pytest.skip("Only root on Linux can mount a file system.")
    at = tmp_path / "disk"
    at.mkdir()
    mounting = ["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", str(at)]
    done = subprocess.run(mounting, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        pytest.skip(f"No file system could be mounted here: {done.stderr}")
    try:
        shutil.copytree(data, at / "data")
        subprocess.run(["mount", "-o", "remount,ro", str(at)], check=True)
        yield at / "data"
    finally:
        # Lazily: what the commands had open may be closed a moment later.
        subprocess.run(["umount", "--lazy", str(at)], check=True)


def test_a_disk_that_can_only_be_read_is_said_and_a_copy_of_it_works(
    read_only: Path, tmp_path: Path
) -> None:
    for arguments in (
        *(["serve", "--get", "/"], ["backup"], ["export"], ["devices"], ["pair"], ["workshops"]),
        *(["remind", "--once", "--contact", "you@example.net"], ["doctor"]),
    ):
        done = CliRunner().invoke(main, [*arguments, "--data", str(read_only)])
        assert isinstance(done.exception, SystemExit), done.exception
        assert done.exit_code != 0
        assert str(read_only / FILE) in done.output
        assert arguments == ["doctor"] or "copy the directory to another" in done.stderr
    shutil.copytree(read_only, tmp_path / "another")
    done = CliRunner().invoke(main, ["backup", "--data", str(tmp_path / "another")])
    assert done.exit_code == 0, done.output


# ---- while it runs -----------------------------------------------------------------------------


@pytest.fixture
def running(tmp_path: Path) -> Iterator[tuple[Phone, Path, list[str]]]:
    data = tmp_path / "data"
    with served(data) as (server, url):
        phone = join(url, server.first_code(), "a")
        phone.save("wax", "w", name="Dune")
        phone.exchange_all()
        yield phone, data, server.said
        assert not [line for line in server.said if "Traceback" in line or '"trace"' in line]


def is_told(phone: Phone, data: Path, said: list[str], *sentence: str) -> None:
    """A phone is told to wait, and nothing more; the operator, what is wrong."""
    phone.save("wax", "w", name="Bog")
    answered = phone.exchange()
    assert answered.status == 503
    assert "the phone keeps everything" in answered.json["error"]
    assert str(data) not in answered.body.decode()
    assert phone.outbox
    until(lambda: any(all(part in line for part in sentence) for line in said))


def test_damage_that_shows_while_it_runs(running: tuple[Phone, Path, list[str]]) -> None:
    phone, data, said = running
    # In a row alone: the others' go on.
    with closing(sqlite3.connect(data / FILE)) as opened, opened:
        opened.execute("UPDATE record SET fields = substr(fields, 1, 40)")
    is_told(phone, data, said, "A row of the database can't be read")
    phone.outbox.clear()
    phone.note("p", "smooth")
    with closing(sqlite3.connect(data / FILE)) as opened, opened:
        opened.execute("DELETE FROM record")
    assert phone.exchange().status == 200
    # In the file.
    with closing(sqlite3.connect(data / FILE)) as opened:
        assert opened.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0] == 0
    with (data / FILE).open("r+b") as file:
        size = file.seek(0, os.SEEK_END)
        file.seek(PAGE)
        file.write(b"\xff" * (size - PAGE))
    is_told(phone, data, said, str(data / FILE), "is damaged, or is no database")


def test_a_file_that_is_moved_away_takes_nothing_that_would_be_lost(
    running: tuple[Phone, Path, list[str]],
) -> None:
    """SQLite would go on writing into it, and the next server would know nothing of that."""
    phone, data, said = running
    away = data.with_name("away")
    data.rename(away)
    is_told(phone, data, said, str(data / FILE), "was moved, deleted or replaced")
    # No other is made in its place either.
    data.mkdir()
    assert phone.exchange().status == 503
    assert list(data.iterdir()) == []
    data.rmdir()
    away.rename(data)
    phone.exchange_all()
    assert phone.outbox == []
    shutil.copy(data / FILE, data / "copy")
    (data / "copy").replace(data / FILE)
    is_told(phone, data, said, str(data / FILE), "was moved, deleted or replaced")


# ---- whose it is -------------------------------------------------------------------------------


@pytest.mark.skipif(os.name != "posix", reason="Windows has no such modes")
def test_the_file_and_what_lies_beside_it_are_its_owners_alone(tmp_path: Path) -> None:
    secret.key(tmp_path)
    before = os.umask(0o022)
    try:
        database = Database(sqlite_url(tmp_path / FILE))
    finally:
        os.umask(before)
    beside = [tmp_path / name for name in (FILE, f"{FILE}-wal", f"{FILE}-shm")]
    assert {path.stat().st_mode & 0o777 for path in beside} == {0o600}
    # As an older version left them.
    for path in beside:
        path.chmod(0o644)
    again = Database(sqlite_url(tmp_path / FILE))
    assert {path.stat().st_mode & 0o777 for path in beside} == {0o600}
    again.close()
    database.close()
