"""The real server on real sockets, and all that can go wrong under it and on the way to it.

Killed in the middle of exchanges, with its disk full, its database locked, its messages torn, slow,
repeated, late and out of order, and beside another server on the same database: what was
acknowledged is there, nothing is there by halves, and it goes on by itself.

More kills than the suite has time for: ``python -m tests.web.test_faults --kills 200``.
"""

import argparse
import http.client
import json
import os
import queue
import random
import resource
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from benchapp.records.merge import versions
from tests.server import Server
from tests.web.caller import Answered
from tests.web.wire import Json, Lost, Phone, all_at_once, begin, invite, join, served

# ---- killed in the middle of exchanges ---------------------------------------------------------

WRITERS = 4


class Storm:
    """Phones that write without pause, a reader beside them, and a server that is killed."""

    def __init__(self, data: Path, seed: int) -> None:
        self.data = data
        self.chance = random.Random(seed)
        self.counts: Counter[str] = Counter()
        self.server = begin(data)
        self.reader = join(self.server.ready(), self.server.first_code(), "reader")
        self.writers = [invite(self.reader, f"w{number}") for number in range(WRITERS)]
        #: what each writer has sent last, until it was answered
        self.in_doubt: dict[str, list[Json]] = {}
        #: what was there although no answer said so; it is sent again with what came after it
        self._there: set[int] = set()
        self.confirmed: list[Json] = []
        self.answered = threading.Semaphore(0)
        self._over = threading.Event()
        self._failed: list[Exception] = []

    def kill_once(self) -> None:
        """Write and read until some messages were answered, kill it there, start it and look."""
        self._over.clear()
        threads = [threading.Thread(target=self._until_lost, args=(each,)) for each in self.works()]
        for thread in threads:
            thread.start()
        for _ in range(self.chance.randrange(1, 60)):
            if not self.answered.acquire(timeout=60):
                raise AssertionError("No more was answered.") from next(iter(self._failed), None)
        # Not just after an answer: anywhere in the next ones.
        time.sleep(self.chance.random() * 0.02)
        self.server.kill()
        self._over.set()
        for thread in threads:
            thread.join()
        if self._failed:
            raise self._failed[0]
        self.counts["kills while exchanging"] += 1
        self.start()
        self.look()

    def works(self) -> list[Callable[[], None]]:
        """What the phones do again and again, each in a thread of its own."""
        return [*(self._writing(phone) for phone in self.writers), self._reading()]

    def kill_while_starting(self) -> None:
        self.server.kill()
        self.server = begin(self.data)
        time.sleep(self.chance.random() * 1.2)
        self.server.kill()
        self.counts["kills while starting"] += 1
        self.start()
        self.look()

    def start(self) -> None:
        self.server = begin(self.data)
        url = self.server.ready()
        for phone in (self.reader, *self.writers):
            phone.caller.url = url

    def _until_lost(self, work: Callable[[], None]) -> None:
        while not self._over.is_set():
            try:
                work()
            except Lost:
                return
            except Exception as error:
                self._failed.append(error)
                return

    def _writing(self, phone: Phone) -> Callable[[], None]:
        def work() -> None:
            kills = self.counts["kills while exchanging"]
            tag = f"{phone.name}-{kills}-{len(phone.events)}"
            for part in range(3):
                phone.save("wick", f"{tag}-{part}", name=tag, notes="n" * 300)
            # Changed by all of them; another one now and then, for it keeps all that it ever was.
            phone.save("wick", f"shared-{kills // 10}", name=tag)
            phone.save("wick", f"own-{phone.name}-{kills // 10}", name=tag)
            for part in range(3):
                phone.note(f"pour-{phone.name}", f"{tag}-{part}")
            sent = list(phone.outbox)
            self.in_doubt[phone.name] = sent
            answered = phone.exchange()
            assert answered.status == 200, answered
            assert not phone.refused, phone.refused
            del self.in_doubt[phone.name]
            self.confirmed += sent
            self.counts["messages answered"] += 1
            self.answered.release()

        return work

    def _reading(self) -> Callable[[], None]:
        def work() -> None:
            answered = self.reader.exchange()
            assert answered.status == 200, answered

        return work

    def look(self) -> None:
        """Everything that was answered is there, and each message is there whole or not at all."""
        self.reader.exchange_all()
        missing = [each for each in self.confirmed if not self.reader.knows(each)]
        assert not missing, f"Answered and lost: {missing[:3]}"
        self.counts["answered and found again"] += len(self.confirmed)
        self.confirmed = []
        for sent in self.in_doubt.values():
            new = [each for each in sent if id(each) not in self._there]
            there = [self.reader.knows(each) for each in new]
            assert all(there) or not any(there), "A message is there by halves."
            self.counts["unanswered, and there" if all(there) else "unanswered, and not there"] += 1
            if all(there):
                self._there |= {id(each) for each in new}
        self.in_doubt = {}
        check_file(self.data / "bench.sqlite3", self.reader)

    def finish(self) -> None:
        """All send what they still have; then all know the same, and so does a new one."""
        for phone in (*self.writers, self.reader, *self.writers):
            phone.exchange_all()
        newcomer = invite(self.reader, "new")
        newcomer.exchange_all()
        assert self.reader.state() == newcomer.state()
        for phone in self.writers:
            assert phone.state() == newcomer.state()
        self.counts["records"] = len(newcomer.records)
        self.counts["events"] = len(newcomer.events)
        texts = Counter(event["text"] for event in newcomer.events.values())
        assert max(texts.values()) == 1, "An event is there twice."


def check_file(path: Path, reader: Phone) -> None:
    """The file is sound, and its numbers have neither doubles nor holes that nothing explains."""
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as database:
        assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert database.execute("PRAGMA foreign_key_check").fetchall() == []
        query = "SELECT seq FROM record UNION ALL SELECT seq FROM event"
        numbers = [number for (number,) in database.execute(query)]
        ((last,),) = database.execute("SELECT seq FROM workshop").fetchall()
        kept = database.execute("SELECT kind, id, fields FROM record").fetchall()
    assert len(set(numbers)) == len(numbers), "A number was given twice."
    assert min(numbers, default=1) >= 1
    assert max(numbers, default=0) == last
    # A record that changes takes a new number and leaves its old one behind; what was rolled back
    # has left none.
    changes = sum(
        len(versions(field)) - 1 for _, _, text in kept for field in json.loads(text).values()
    )
    assert 0 <= last - len(numbers) <= changes
    assert len(kept) == len(reader.records)
    assert len(numbers) - len(kept) == len(reader.events)


def storm(raging: Storm, kills: int, told: Callable[[str], None]) -> Counter[str]:
    """Kill a server so often while it exchanges, and beyond that now and then while it starts."""
    try:
        for number in range(1, kills + 1):
            raging.kill_once()
            if number % 4 == 0:
                raging.kill_while_starting()
            told(f"{number} {dict(raging.counts)}")
        raging.finish()
    finally:
        raging.server.stop()
    return raging.counts


def test_killed_again_and_again_it_loses_nothing_that_it_acknowledged(tmp_path):
    counts = storm(Storm(tmp_path, seed=4), kills=4, told=print)
    assert counts["answered and found again"] > 0
    assert counts["kills while exchanging"] == 4
    assert counts["kills while starting"] == 1


# ---- a full disk -------------------------------------------------------------------------------


class SmallDisk:
    """A file system of eight megabytes of its own, filled up with ballast."""

    def __init__(self, at: Path) -> None:
        self.data = at
        self._ballast = at / "ballast"

    def fill(self, server: Server) -> None:
        with self._ballast.open("wb", buffering=0) as file, suppress(OSError):
            while True:
                file.write(bytes(4096))

    def make_room(self, server: Server) -> None:
        self._ballast.unlink()


class ShortFiles:
    """No file of the server's may grow any further (RLIMIT_FSIZE), from when it is `full`."""

    def __init__(self, at: Path) -> None:
        self.data = at

    def fill(self, server: Server) -> None:
        longest = max(path.stat().st_size for path in self.data.iterdir())
        self._limit(server, longest)

    def make_room(self, server: Server) -> None:
        self._limit(server, resource.RLIM_INFINITY)

    def _limit(self, server: Server, most: int) -> None:
        pid = server.process.pid
        _, hard = resource.prlimit(pid, resource.RLIMIT_FSIZE)
        resource.prlimit(pid, resource.RLIMIT_FSIZE, (most, hard))


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[SmallDisk]:
    at = tmp_path / "small"
    at.mkdir()
    mounting = ["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", str(at)]
    if sys.platform != "linux" or os.geteuid() != 0:
        pytest.skip("Only root on Linux can mount a small file system.")
    done = subprocess.run(mounting, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        pytest.skip(f"No small file system could be mounted here: {done.stderr}")
    yield SmallDisk(at)
    subprocess.run(["umount", str(at)], check=True)


@pytest.fixture
def short_files(tmp_path: Path) -> ShortFiles:
    if sys.platform != "linux":
        pytest.skip("Only Linux can limit another process (prlimit).")
    return ShortFiles(tmp_path)


@pytest.mark.parametrize("kind", ["small_disk", "short_files"])
def test_a_full_disk_is_said_and_nothing_is_kept_by_halves(kind, request):
    disk = request.getfixturevalue(kind)
    with served(disk.data) as (server, url):
        phone = join(url, server.first_code(), "phone")
        other = invite(phone, "other")
        before = _write_until_refused(phone, server, disk)
        confirmed = [each for each in before if not any(each is one for one in phone.outbox)]
        assert confirmed

        # What was acknowledged is there to be read, and nothing of what was not.
        other.exchange_all()
        assert all(other.knows(each) for each in confirmed)
        assert not any(other.knows(each) for each in phone.outbox)
        # There may be room again by itself: SQLite begins its log anew.
        assert phone.exchange().status in (200, 503)

        disk.make_room(server)
        phone.exchange_all()
        other.exchange_all()
        assert all(other.knows(each) for each in before)
        assert other.state() == phone.state()
        check_file(disk.data / "bench.sqlite3", other)


def _write_until_refused(phone: Phone, server: Server, disk: Any) -> list[Json]:
    """Write a little, fill the disk, and write until it is said; return all that was written."""
    written: list[Json] = []
    for number in range(100):
        if number == 5:
            disk.fill(server)
        for part in range(20):
            phone.save("wick", f"{number}-{part}", name=str(number), notes="n" * 3000)
            phone.note("p", f"{number}-{part}")
        written += phone.outbox
        answered = phone.exchange()
        if answered.status != 200:
            assert answered.status == 503
            assert answered.headers["Retry-After"] == "5"
            assert "no room left on its disk" in answered.json["error"]
            return written
    raise AssertionError("The disk was never full.")


# ---- a locked database -------------------------------------------------------------------------


def test_a_locked_database_is_waited_for_then_said_and_goes_on(tmp_path):
    with served(tmp_path) as (server, url):
        phone = join(url, server.first_code(), "phone")
        other = invite(phone, "other")
        phone.exchange_all()
        with closing(sqlite3.connect(tmp_path / "bench.sqlite3", isolation_level=None)) as holder:
            phone.save("wick", "long", name="Long wait")
            with _sent_while_locked(holder, phone, other) as answers:
                answered = answers.get()
            assert answered.status == 503
            assert answered.headers["Retry-After"] == "5"
            assert answered.json["error"] == "The server is busy: try again in a moment."
            phone.exchange_all()

            # A short one is not even noticed.
            phone.save("wick", "short", name="Short wait")
            with _sent_while_locked(holder, phone, other) as answers:
                pass
            assert answers.get().status == 200
        other.exchange_all()
        assert {id_ for _, id_ in other.records} == {"long", "short"}


@contextmanager
def _sent_while_locked(
    holder: sqlite3.Connection, phone: Phone, other: Phone
) -> Iterator[queue.SimpleQueue[Answered]]:
    """Let `phone` send while `holder` keeps the lock; `other` reads meanwhile."""
    answers: queue.SimpleQueue[Answered] = queue.SimpleQueue()
    holder.execute("BEGIN IMMEDIATE")
    thread = threading.Thread(target=lambda: answers.put(phone.exchange()))
    thread.start()
    for _ in range(20):
        assert other.exchange().status == 200
    assert answers.empty()
    yield answers
    holder.execute("ROLLBACK")
    thread.join()


# ---- torn messages -----------------------------------------------------------------------------


@contextmanager
def sending(phone: Phone, body: bytes, *lines: str) -> Iterator[socket.socket]:
    """A connection on which an exchange has been begun, with these lines about its length."""
    at = urlsplit(phone.caller.url)
    cookies = "; ".join(f"{name}={value}" for name, value in phone.caller.cookies.items())
    head = [
        "POST /api/exchange HTTP/1.1",
        f"Host: {at.netloc}",
        f"Cookie: {cookies}",
        f"X-CSRFToken: {phone.caller.token}",
        "Content-Type: application/json",
        *lines,
    ]
    with socket.create_connection((str(at.hostname), at.port or 80), timeout=30) as line:
        line.sendall("".join(f"{each}\r\n" for each in head).encode() + b"\r\n" + body)
        yield line


def answer(line: socket.socket) -> int | None:
    """The status of the answer, or None where the line was closed without one."""
    try:
        said = line.recv(65_536)
    except ConnectionResetError:
        return None
    return int(said.split()[1]) if said else None


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Phone]:
    """A server for all that is only sent to it, and a phone that is paired with it."""
    with served(tmp_path_factory.mktemp("data")) as (server, url):
        yield join(url, server.first_code(), "first")


def _one_message(phone: Phone) -> bytes:
    phone.save("wick", f"torn-{len(phone.records)}", name="Torn")
    phone.note("torn", "torn")
    return json.dumps(phone.message(phone.outbox)).encode()


def _nothing_came_of_it(phone: Phone) -> None:
    witness = invite(phone, "witness")
    witness.exchange_all()
    assert not any(witness.knows(each) for each in phone.outbox)
    phone.exchange_all()
    witness.exchange_all()
    assert all(witness.knows(each) for each in phone.outbox)


def test_a_message_cut_anywhere_leaves_nothing_behind(running):
    phone = invite(running, "cut")
    body = _one_message(phone)
    cuts = [*range(0, len(body), 7), len(body) - 1]
    for cut in cuts:
        # The line breaks in the middle of it.
        with sending(phone, body[:cut], f"Content-Length: {len(body)}") as line:
            line.shutdown(socket.SHUT_WR)
            assert answer(line) in (400, None)
        # What is there is said to be all.
        with sending(phone, body[:cut], f"Content-Length: {cut}") as line:
            assert answer(line) == 400
    _nothing_came_of_it(phone)


def test_a_message_that_claims_to_be_longer_than_it_is_leaves_nothing_behind(running):
    phone = invite(running, "long")
    body = _one_message(phone)
    for more in (1, 2, 100, 1_000_000):
        # It could be read as it is, but it is not what was sent.
        with sending(phone, body, f"Content-Length: {len(body) + more}") as line:
            line.shutdown(socket.SHUT_WR)
            assert answer(line) in (400, None)
    _nothing_came_of_it(phone)


def test_nonsense_about_the_length_leaves_nothing_behind(running):
    phone = invite(running, "odd")
    body = _one_message(phone)
    size = len(body)
    pieces = f"{size:x}\r\n".encode() + body + b"\r\n0\r\n\r\n"
    for sent, *lines in (
        (pieces, "Transfer-Encoding: chunked"),
        (pieces[:-9], "Transfer-Encoding: chunked"),
        (b"zz\r\n" + body, "Transfer-Encoding: chunked"),
        (b"-1\r\n" + body, "Transfer-Encoding: chunked"),
        (b"ffffffffffffffffff\r\n" + body, "Transfer-Encoding: chunked"),
        (body, "Transfer-Encoding: chunked", f"Content-Length: {size}"),
        (body, f"Content-Length: {size}", "Transfer-Encoding: identity"),
        (pieces, "Transfer-Encoding: gzip, chunked"),
        (body, "Content-Length: 5", f"Content-Length: {size}"),
        (body, "Content-Length: -5"),
        (body, "Content-Length: five"),
        (body, "Content-Length: 99999999999999999999"),
        (body,),
    ):
        with sending(phone, sent, *lines) as line:
            line.shutdown(socket.SHUT_WR)
            assert answer(line) in (400, 411, 413, None), lines
    _nothing_came_of_it(phone)


def test_slow_messages_keep_nobody_waiting_and_are_taken_when_they_are_whole(running):
    slow, quick = invite(running, "slow"), invite(running, "quick")
    body = _one_message(slow)
    length = f"Content-Length: {len(body)}"
    with (
        sending(slow, b"", length) as first,
        sending(slow, body[:9], length) as second,
        sending(slow, body[:-1], length) as third,
    ):
        for number in range(20):
            quick.save("wick", f"quick-{number}", name="Quick")
            quick.exchange_all()
        assert not any(quick.knows(each) for each in slow.outbox)
        for byte in range(len(body)):
            first.sendall(body[byte : byte + 1])
        assert answer(first) == 200
        second.sendall(body[9:])
        assert answer(second) == 200
        third.shutdown(socket.SHUT_WR)
        assert answer(third) in (400, None)
    quick.exchange_all()
    assert all(quick.knows(each) for each in slow.outbox)


# ---- a bad line in between ---------------------------------------------------------------------


class BadLine:
    """A relay that repeats what is sent, holds it back, lets it overtake, and cuts answers."""

    def __init__(self, inside: str, seed: int) -> None:
        self.counts: Counter[str] = Counter()
        self._chance = random.Random(seed)
        self._lock = threading.Lock()
        self._held: list[Callable[[], object]] = []
        at = urlsplit(inside)

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                self.relay(self.forward())

            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers["Content-Length"]))
                fate = this.fate() if self.path == "/api/exchange" else "good"
                if fate == "lost":
                    return
                if fate == "held":
                    headers = dict(self.headers.items())
                    this.hold(lambda: self.forward(body, headers))
                    return
                answered = self.forward(body)
                if fate == "repeated":
                    answered = self.forward(body)
                if fate == "late":
                    this.let_go()
                self.relay(answered, whole=fate != "cut")

            def forward(
                self, body: bytes | None = None, headers: dict[str, str] | None = None
            ) -> Any:
                connection = http.client.HTTPConnection(str(at.hostname), at.port or 80, timeout=30)
                with closing(connection):
                    sent = headers or dict(self.headers.items())
                    connection.request(self.command, self.path, body, sent)
                    answer = connection.getresponse()
                    return answer.status, answer.getheaders(), answer.read()

            def relay(self, answered: Any, *, whole: bool = True) -> None:
                status, headers, body = answered
                self.send_response(status)
                for name, value in headers:
                    if name not in ("date", "server"):
                        self.send_header(name, value)
                self.end_headers()
                self.wfile.write(body if whole else body[: len(body) // 2])

            def log_message(self, format: str, *args: object) -> None:
                pass

        this = self
        self._listener = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self._listener.server_address[1]}/"
        threading.Thread(target=self._listener.serve_forever, daemon=True).start()

    def fate(self) -> str:
        with self._lock:
            fates = ["good", "good", "lost", "held", "late", "repeated", "cut"]
            chosen = self._chance.choice(fates)
            self.counts[chosen] += 1
            return chosen

    def hold(self, forward: Callable[[], object]) -> None:
        with self._lock:
            self._held.append(forward)

    def let_go(self) -> None:
        """Let what was held back arrive now, the last first."""
        with self._lock:
            held, self._held = self._held[::-1], []
        for forward in held:
            forward()

    def close(self) -> None:
        self._listener.shutdown()
        self._listener.server_close()


def test_over_a_bad_line_everything_arrives_once_and_all_know_the_same(running):
    with closing(BadLine(running.caller.url, seed=7)) as line:
        phones = [invite(running, name) for name in ("bad1", "bad2", "bad3")]
        for phone in phones:
            phone.caller.url = line.url

        def work(phone: Phone) -> None:
            for turn in range(25):
                phone.save("wick", f"bad-{turn % 4}", name=f"{phone.name}-{turn}")
                phone.save("wick", f"bad-{phone.name}-{turn}", name="Mine alone")
                phone.note("bad", f"{phone.name}-{turn}")
                _try_until_answered(phone)

        all_at_once(phones, work)
        line.let_go()
        assert all(line.counts[fate] > 0 for fate in ("lost", "held", "late", "repeated", "cut"))
    for phone in phones:
        phone.caller.url = running.caller.url
    newcomer = invite(running, "new")
    for phone in (*phones, *phones, newcomer):
        phone.exchange_all()
        assert not phone.refused
    assert {phone.state() for phone in phones} == {newcomer.state()}
    texts = Counter(
        event["text"] for event in newcomer.events.values() if event["of"] == ["pour", "bad"]
    )
    assert texts == Counter(f"{phone.name}-{turn}" for phone in phones for turn in range(25))
    # Every value that was ever written to what all three changed is still there.
    written = {
        each["value"]
        for number in range(4)
        for each in versions(newcomer.records["wick", f"bad-{number}"]["name"])
    }
    assert written == set(texts)


def _try_until_answered(phone: Phone) -> None:
    while phone.outbox:
        try:
            assert phone.exchange().status == 200
        except Lost:
            continue


# ---- several servers on one database -----------------------------------------------------------


@pytest.mark.parametrize("kind", ["sqlite", "postgres"])
def test_a_reader_misses_no_number_while_two_servers_write(kind, tmp_path, request):
    options = []
    if kind == "postgres":
        options = ["--database", request.getfixturevalue("postgres").new_database()]
    with served(tmp_path, *options) as (server, url), served(tmp_path, *options) as (_, second_url):
        reader = join(url, server.first_code(), "reader")
        writers = [invite(reader, f"w{number}") for number in range(4)]
        for phone in writers[2:]:
            phone.caller.url = second_url
        failed: list[Exception] = []
        over = threading.Event()

        def write(phone: Phone) -> None:
            try:
                for turn in range(20):
                    phone.save("wick", f"{phone.name}-{turn}", name="New")
                    phone.save("wick", "shared", name=f"{phone.name}-{turn}")
                    phone.note("p", f"{phone.name}-{turn}")
                    assert phone.exchange().status == 200
            except Exception as error:
                failed.append(error)

        def read() -> None:
            try:
                while not over.is_set():
                    reader.caller.url = second_url if reader.caller.url == url else url
                    assert reader.exchange().status == 200
            except Exception as error:
                failed.append(error)

        reading = threading.Thread(target=read)
        threads = [threading.Thread(target=write, args=(phone,)) for phone in writers]
        for thread in (reading, *threads):
            thread.start()
        for thread in threads:
            thread.join()
        over.set()
        reading.join()
        assert not failed, failed
        for phone in (reader, *writers):
            phone.exchange_all()
            assert not phone.refused
        newcomer = invite(reader, "new")
        newcomer.exchange_all()
        assert len(newcomer.records) == 4 * 20 + 1
        assert len(newcomer.events) == 4 * 20
        assert len(versions(newcomer.records["wick", "shared"]["name"])) == 4 * 20
        for phone in (reader, *writers):
            assert phone.state() == newcomer.state()


def main(about: str, raging: Callable[[Path, int], Storm]) -> None:
    """Kill as often as the command line says, and tell what came of it."""
    parser = argparse.ArgumentParser(description=about)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="bench-kills-") as data:
        begun = time.monotonic()
        counts = storm(
            raging(Path(data), given.seed), given.kills, lambda line: print(line, flush=True)
        )
        print(f"seed {given.seed}, {time.monotonic() - begun:.0f} s")
        for name, count in sorted(counts.items()):
            print(f"{count:8d}  {name}")


if __name__ == "__main__":
    main("Kill a server in the middle of exchanges.", Storm)
