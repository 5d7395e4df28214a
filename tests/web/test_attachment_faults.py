"""The real server, killed in the middle of attachments: what was acknowledged is there whole, and
nothing is there by halves; what broke off goes on.

More kills than the suite has time for: ``python -m tests.web.test_attachment_faults --kills 200``.
"""

import hashlib
import http.client
import random
import sqlite3
from collections.abc import Callable
from contextlib import closing
from functools import partial
from pathlib import Path

from tests.web.test_attachments import name_of
from tests.web.test_faults import Storm, main, storm
from tests.web.wire import Lost, Phone

PIECE = 60_000


class Papers(Storm):
    """Phones that send papers without pause, some of them the same, and a server that is killed."""

    def __init__(self, data: Path, seed: int) -> None:
        super().__init__(data, seed)
        #: what each phone is sending: its hash and bytes
        self.sending: dict[str, tuple[str, bytes]] = {}
        self.acknowledged: dict[str, bytes] = {}

    def works(self) -> list[Callable[[], None]]:
        return [partial(self._send, phone) for phone in self.writers]

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
                self.answered.release()
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
        kills = self.counts["kills while exchanging"]
        seed = f"{kills}" if self.chance.random() < 0.3 else f"{phone.name} {self.chance.random()}"
        own = random.Random(seed)
        return b"%PDF-1.7\n" + own.randbytes(own.randrange(100, 4 * PIECE))

    def _confirm(self, phone: Phone, name: str, content: bytes) -> None:
        self.acknowledged[name] = content
        self.counts["acknowledged"] += 1
        del self.sending[phone.name]

    def look(self) -> None:
        """What was acknowledged comes back as it was; what was not, as it was or not at all."""
        caller = self.reader.caller
        for name, content in self.acknowledged.items():
            answered = caller.get(f"/api/attachments/{name}")
            assert answered.status == 200, "Acknowledged and lost."
            assert answered.body == content
            self.counts["acknowledged and found again"] += 1
        self.acknowledged = {}
        for name, content in self.sending.values():
            answered = caller.get(f"/api/attachments/{name}")
            assert answered.status in (200, 404)
            assert answered.status == 404 or answered.body == content
            what = "there" if answered.status == 200 else "not there"
            self.counts[f"unacknowledged, and {what}"] += 1
        check_whole(self.data)

    def finish(self) -> None:
        """All send what they still have; nothing is on its way then."""
        for phone in self.writers:
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


def test_killed_in_the_middle_of_attachments_it_loses_none_and_keeps_none_by_halves(tmp_path):
    counts = storm(Papers(tmp_path, seed=4), kills=4, told=print)
    assert counts["acknowledged and found again"] > 0
    assert counts["kills while exchanging"] == 4


if __name__ == "__main__":
    main("Kill a server in the middle of attachments.", Papers)
