"""Bytes on their way in: a file for each hash, which grows by pieces until it is whole.

How far it has come is its length. Pieces are not waited for on the disk: if the machine goes out,
the hash at the end tells what is spoilt, and it is sent again.
"""

import hashlib
import os
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from benchapp.records.atomic_file import make_private
from benchapp.records.attachments.stores import told

_LOCKS = 64
_ABANDONED_S = 3 * 24 * 3600
_AT_ONCE = 1_000_000


class Arriving:
    """Files that have not arrived as a whole, in a directory of their own.

    Every method raises Unavailable where the disk can't be used.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._locks = [threading.Lock() for _ in range(_LOCKS)]

    def path(self, workshop_id: str, sha256: str) -> Path:
        return self._folder / f"{workshop_id}-{sha256}"

    @contextmanager
    def alone(self, workshop_id: str, sha256: str) -> Iterator[None]:
        """Hold one file for this thread."""
        with self._locks[hash((workshop_id, sha256)) % _LOCKS]:
            yield

    def far(self, workshop_id: str, sha256: str) -> int:
        """How many bytes of it are here."""
        with told():
            try:
                return self.path(workshop_id, sha256).stat().st_size
            except FileNotFoundError:
                return 0

    def add(self, workshop_id: str, sha256: str, at: int, piece: bytes) -> int:
        """Add a piece that begins at ``at``, where that is the end of what is here; return how far
        it has come. What was there before is overlapped by nothing."""
        far = self.far(workshop_id, sha256)
        if at != far or not piece:
            return far
        with told():
            make_private(self._folder)
            opened = os.open(
                self.path(workshop_id, sha256), os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600
            )
            try:
                with os.fdopen(opened, "wb") as out:
                    out.write(piece)
            except OSError:
                # Half of a piece is no place to go on from.
                with suppress(OSError):
                    os.truncate(self.path(workshop_id, sha256), far)
                raise
        return far + len(piece)

    def hash_of(self, workshop_id: str, sha256: str) -> str:
        """The hash of what is here."""
        found = hashlib.sha256()
        with told(), self.path(workshop_id, sha256).open("rb") as file:
            while some := file.read(_AT_ONCE):
                found.update(some)
        return found.hexdigest()

    def drop(self, workshop_id: str, sha256: str) -> None:
        with told():
            self.path(workshop_id, sha256).unlink(missing_ok=True)

    def tidy(self) -> int:
        """Let go of what nobody has gone on with for three days; return how many."""
        dropped = 0
        with told():
            for path in self._folder.glob("*-*"):
                if path.stat().st_mtime < time.time() - _ABANDONED_S:
                    path.unlink(missing_ok=True)
                    dropped += 1
        return dropped
