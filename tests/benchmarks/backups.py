"""How much memory and time `backup` and `restore` take of a large database.

They hold a few hundred rows at a time, so a database larger than the machine's memory takes no
more of it than a small one: ``python -m tests.benchmarks.backups --megabytes 1000``.
"""

import argparse
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from benchapp.records import workshops
from benchapp.records.database import Database, sqlite_url

FILE = "bench.sqlite3"
NOW_MS = 1_764_070_400_000
NOTE = "Tops smooth, one with a small dip near the wick; the room was colder than last week. " * 20


def stamp(number: int) -> str:
    return f"{NOW_MS + number // 1000:015d}.{number % 1000:04d}.a"


def rows(shop: str, megabytes: int) -> Iterator[tuple[Any, ...]]:
    """Events of so many megabytes, no two alike."""
    number = size = 0
    while size < megabytes * 1_000_000:
        number += 1
        text = f"{os.urandom(200).hex()} {NOTE}"
        event = {
            **{"id": stamp(number), "of": ["pour", f"p{number // 50}"], "type": "noted"},
            **{"at": NOW_MS, "text": text},
        }
        body = json.dumps(event, separators=(",", ":"))
        size += len(body)
        yield shop, event["id"], "pour", f"p{number // 50}", number, body


def make(data: Path, megabytes: int) -> None:
    data.mkdir()
    database = Database(sqlite_url(data / FILE))
    with database.write() as connection:
        shop = workshops.first_workshop(connection, NOW_MS)["id"]
    database.close()
    with closing(sqlite3.connect(data / FILE)) as opened, opened:
        opened.executemany(
            "INSERT INTO event (workshop_id, id, of_kind, of_id, seq, body) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            rows(shop, megabytes),
        )
        opened.execute("UPDATE workshop SET seq = (SELECT max(seq) FROM event)")


def measured(*arguments: str) -> tuple[float, float]:
    """Run a command; seconds, and megabytes of memory at its peak."""
    begun = time.monotonic()
    command = [sys.executable, "-m", "benchapp", *arguments]
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, child.returncode, used = os.wait4(child.pid, 0)
    assert child.returncode == 0, arguments
    # Linux counts in kilobytes, macOS in bytes.
    unit = 1 if sys.platform == "darwin" else 1024
    return time.monotonic() - begun, used.ru_maxrss * unit / 1e6


def main() -> None:
    parser = argparse.ArgumentParser(description="Memory and time of backup and restore.")
    parser.add_argument("--megabytes", type=int, nargs="+", default=[10, 400])
    given = parser.parse_args()
    for megabytes in given.megabytes:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            make(folder / "here", megabytes)
            backup = folder / "all.benchbackup"
            here, there = str(folder / "here"), str(folder / "there")
            for what, arguments in {
                "backup": ["backup", str(backup), "--data", here],
                "restore": ["restore", str(backup), "--data", there],
                "restore --merge": ["restore", str(backup), "--merge", "--data", there],
                "restore --replace": ["restore", str(backup), "--replace", "--data", there],
            }.items():
                seconds, peak = measured(*arguments)
                print(
                    f"{megabytes} MB, {what}: {seconds:.1f} s, {peak:.0f} MB at the peak",
                    flush=True,
                )
            shutil.rmtree(folder / "there")


if __name__ == "__main__":
    main()
