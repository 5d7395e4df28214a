"""How fast photos are taken by the server, beside bare writes of the same files that wait for the
disk; and how much memory a paper of 20 MB takes of it, on the way in and on the way out.

``python -m tests.benchmarks.attachments`` (half a minute; Linux). Only ratios of one run say
anything; a disk in memory (``--in-memory``) shows what the server itself takes.
"""

import argparse
import hashlib
import os
import random
import statistics
import tempfile
import time
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit

from benchapp.web.limits import PIECE
from tests.web.caller import Caller
from tests.web.wire import begin, join

PHOTO_BYTES = 250_000
"""About what a photo with much detail takes at 1600 pixels (from memory)."""


def papers(count: int, size: int) -> list[bytes]:
    """Files that are taken as they are, no two alike: unpacking photos would be Pillow's time."""
    own = random.Random(5)
    return [b"%PDF-1.7\n" + own.randbytes(size - 9) for _ in range(count)]


def bare(folder: Path, contents: list[bytes]) -> float:
    """Seconds that it takes to keep files for good: written, flushed, renamed, and their names
    flushed, one after the other."""
    folder.mkdir()
    begun = time.perf_counter()
    for content in contents:
        name = hashlib.sha256(content).hexdigest()
        beside = folder / f".{name}"
        with beside.open("wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        beside.replace(folder / name)
        descriptor = os.open(folder, os.O_RDONLY)
        os.fsync(descriptor)
        os.close(descriptor)
    return time.perf_counter() - begun


def sent(caller: Caller, contents: list[bytes]) -> float:
    """Seconds until the server has acknowledged all, on one connection, as a phone's browser has
    it."""
    at = urlsplit(caller.url)
    cookie = "; ".join(f"{name}={value}" for name, value in caller.cookies.items())
    headers = {"Cookie": cookie, "X-CSRFToken": caller.token}
    begun = time.perf_counter()
    with closing(HTTPConnection(str(at.hostname), at.port or 80)) as connection:
        for content in contents:
            name = hashlib.sha256(content).hexdigest()
            for start in range(0, len(content), PIECE):
                path = f"/api/attachments/{name}?at={start}&of={len(content)}"
                connection.request("POST", path, content[start : start + PIECE], headers)
                answer = connection.getresponse()
                body = answer.read()
                assert answer.status == 200, body
    return time.perf_counter() - begun


def peak_mb(pid: int) -> float:
    """The most memory that a process has held so far, MB (``VmHWM``, proc(5))."""
    lines = Path(f"/proc/{pid}/status").read_text(encoding="utf-8").splitlines()
    (line,) = (each for each in lines if each.startswith("VmHWM"))
    return int(line.split()[1]) / 1000


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--photos", type=int, default=100)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--in-memory", action="store_true")
    given = parser.parse_args()
    where = "/dev/shm" if given.in_memory else None  # noqa: S108
    with tempfile.TemporaryDirectory(prefix="bench-attachments-", dir=where) as folder:
        data = Path(folder) / "data"
        server = begin(data)
        try:
            phone = join(server.ready(), server.first_code(), "phone")
            contents = papers(given.photos * given.rounds, PHOTO_BYTES)
            ratios = []
            for turn in range(given.rounds):
                some = contents[turn * given.photos : (turn + 1) * given.photos]
                disk = bare(Path(folder) / f"bare-{turn}", some)
                wire = sent(phone.caller, some)
                ratios.append(wire / disk)
                print(
                    f"{given.photos} of {PHOTO_BYTES // 1000} kB: files {disk:.2f} s, "
                    f"server {wire:.2f} s ({given.photos / wire:.0f}/s), {wire / disk:.1f} times"
                )
            print(f"median: {statistics.median(ratios):.1f} times the bare files")
            before = peak_mb(server.process.pid)
            (paper,) = papers(1, 20_000_000)
            took = sent(phone.caller, [paper])
            taken = peak_mb(server.process.pid)
            name = hashlib.sha256(paper).hexdigest()
            for start in range(0, len(paper), 1_000_000):
                part = {"Range": f"bytes={start}-{start + 999_999}"}
                assert phone.caller.get(f"/api/attachments/{name}", headers=part).status == 206
            in_parts = peak_mb(server.process.pid)
            assert phone.caller.get(f"/api/attachments/{name}").body == paper
            whole = peak_mb(server.process.pid)
            print(f"20 MB in {took:.2f} s; the server's peak: {before:.0f} MB before it,")
            print(
                f"{taken:.0f} MB once it was taken, {in_parts:.0f} MB once it was given in parts,"
            )
            print(f"{whole:.0f} MB once it was given whole")
        finally:
            server.stop()


if __name__ == "__main__":
    main()
