"""The real server, killed in the middle of attachments: what was acknowledged is there whole, and
nothing is there by halves; what broke off goes on.

More kills than the suite has time for: ``python -m tests.web.test_attachment_faults --kills 200``.
"""

import argparse
import hashlib
import http.client
import random
import sqlite3
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from tests.web.test_attachments import name_of
from tests.web.wire import Lost, Phone, begin, invite, join

PHONES = 3
PIECE = 60_000


class Storm:
    """Phones that send papers without pause, some of them the same, and a server that is killed."""

    def __init__(self, data: Path, seed: int) -> None:
        self.data = data
        self.chance = random.Random(seed)
        self.counts: Counter[str] = Counter()
        self.server = begin(data)
        first = join(self.server.ready(), self.server.first_code(), "w0")
        self.phones = [first, *(invite(first, f"w{number}") for number in range(1, PHONES))]
        #: what each phone is sending: its hash and bytes
        self.sending: dict[str, tuple[str, bytes]] = {}
        self.confirmed: dict[str, bytes] = {}
        self._progress = threading.Semaphore(0)
        self._over = threading.Event()
        self._failed: list[Exception] = []

    def kill_once(self) -> None:
        """Send until some pieces were answered, kill it there, start it and look."""
        self._over.clear()
        threads = [threading.Thread(target=self._work, args=(phone,)) for phone in self.phones]
        for thread in threads:
            thread.start()
        for _ in range(self.chance.randrange(1, 40)):
            if not self._progress.acquire(timeout=60):
                raise AssertionError("No more was answered.") from next(iter(self._failed), None)
        # Not just after an answer: anywhere in the next ones.
        time.sleep(self.chance.random() * 0.02)
        self.server.kill()
        self._over.set()
        for thread in threads:
            thread.join()
        if self._failed:
            raise self._failed[0]
        self.counts["kills"] += 1
        self.server = begin(self.data)
        url = self.server.ready()
        for phone in self.phones:
            phone.caller.url = url
        self.look()

    def _work(self, phone: Phone) -> None:
        while not self._over.is_set():
            try:
                self._send(phone)
            except Lost:
                return
            except Exception as error:
                self._failed.append(error)
                return

    def _send(self, phone: Phone) -> None:
        """One paper: its record, how far the server is with it, and its pieces."""
        if phone.name not in self.sending:
            content = self._paper(phone)
            name = name_of(content)
            phone.save(
                "attachment",
                f"p.{name[:24]}",
                **{"name": "a.pdf", "of": ["pour", "p"], "what": "other", "sha256": name},
                **{"bytes": len(content), "type": "application/pdf", "taken_at": 1},
            )
            self.sending[phone.name] = name, content
        name, content = self.sending[phone.name]
        try:
            if phone.outbox:
                assert phone.exchange().status == 200
                assert not phone.refused, phone.refused
            told = phone.caller.post("/api/attachments/have", {"hashes": [name]}).json
            if name in told["kept"]:
                self._confirm(phone, name, content)
                return
            at = told["begun"].get(name, 0)
            if at:
                self.counts["gone on with"] += 1
            while True:
                answered = phone.caller.call(
                    "POST",
                    f"/api/attachments/{name}?at={at}&of={len(content)}",
                    raw=content[at : at + PIECE],
                )
                self._progress.release()
                told = answered.json
                if answered.status == 409:
                    # Another sent the same one at the same time, and died in the middle.
                    assert told["again"], told
                    self.counts["sent anew"] += 1
                    return
                assert answered.status == 200, answered
                if told["kept"]:
                    self._confirm(phone, name, content)
                    return
                at = told["have"]
        except (OSError, http.client.HTTPException, ValueError) as error:
            raise Lost from error

    def _paper(self, phone: Phone) -> bytes:
        """Of up to four pieces; now and then all phones have the same."""
        kills = self.counts["kills"]
        seed = f"{kills}" if self.chance.random() < 0.3 else f"{phone.name} {self.chance.random()}"
        own = random.Random(seed)
        return b"%PDF-1.7\n" + own.randbytes(own.randrange(100, 4 * PIECE))

    def _confirm(self, phone: Phone, name: str, content: bytes) -> None:
        self.confirmed[name] = content
        self.counts["acknowledged"] += 1
        del self.sending[phone.name]

    def look(self) -> None:
        """What was acknowledged comes back as it was; what was not, as it was or not at all."""
        caller = self.phones[0].caller
        for name, content in self.confirmed.items():
            answered = caller.get(f"/api/attachments/{name}")
            assert answered.status == 200, "Acknowledged and lost."
            assert answered.body == content
            self.counts["acknowledged and found again"] += 1
        self.confirmed = {}
        for name, content in self.sending.values():
            answered = caller.get(f"/api/attachments/{name}")
            assert answered.status in (200, 404)
            assert answered.status == 404 or answered.body == content
            what = "there" if answered.status == 200 else "not there"
            self.counts[f"unacknowledged, and {what}"] += 1
        check_whole(self.data)

    def finish(self) -> None:
        """All send what they still have; nothing is on its way then."""
        self._over.clear()
        for phone in self.phones:
            while phone.name in self.sending:
                self._send(phone)
        self.look()
        assert not list((self.data / "attachments" / "arriving").iterdir())


def check_whole(data: Path) -> None:
    """Every row has its bytes, and all that lies there is what its name says."""
    with closing(sqlite3.connect(f"file:{data / 'bench.sqlite3'}?mode=ro", uri=True)) as database:
        assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        rows = dict(database.execute("SELECT sha256, bytes FROM attachment").fetchall())
    lying = {path.name: path for path in (data / "attachments").glob("*/??/*")}
    assert rows.keys() <= lying.keys(), "A row without bytes."
    for name, path in lying.items():
        with path.open("rb") as file:
            assert hashlib.file_digest(file, "sha256").hexdigest() == name, "Bytes by halves."
        assert rows.get(name, path.stat().st_size) == path.stat().st_size


def storm(data: Path, kills: int, seed: int, told: Callable[[str], None]) -> Counter[str]:
    raging = Storm(data, seed)
    try:
        for number in range(1, kills + 1):
            raging.kill_once()
            told(f"{number} {dict(raging.counts)}")
        raging.finish()
    finally:
        raging.server.stop()
    return raging.counts


def test_killed_in_the_middle_of_attachments_it_loses_none_and_keeps_none_by_halves(tmp_path):
    counts = storm(tmp_path, kills=4, seed=4, told=print)
    assert counts["acknowledged and found again"] > 0
    assert counts["kills"] == 4


def main() -> None:
    parser = argparse.ArgumentParser(description="Kill a server in the middle of attachments.")
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="bench-kills-") as data:
        begun = time.monotonic()
        counts = storm(Path(data), given.kills, given.seed, lambda line: print(line, flush=True))
        print(f"seed {given.seed}, {time.monotonic() - begun:.0f} s")
        for name, count in sorted(counts.items()):
            print(f"{count:8d}  {name}")


if __name__ == "__main__":
    main()
