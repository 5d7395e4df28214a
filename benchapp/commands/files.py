"""Files that commands read and write."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from benchapp.commands.errors import Refused
from benchapp.records.atomic_file import sync_directory


@contextmanager
def open_file(path: Path) -> Iterator[IO[bytes]]:
    """A file to be read. Raises Refused where it can't be."""
    try:
        held = path.open("rb")
    except OSError as error:
        raise Refused("{file} can't be read: {why}.", file=path, why=error.strerror) from error
    with held:
        yield held


@contextmanager
def new_file(path: Path) -> Iterator[IO[bytes]]:
    """A file that only its owner may read, and that is there whole or not at all.

    Raises Refused where there is one of that name, or it can't be written.
    """
    if path.exists():
        raise Refused("{file} is there already. Choose another name.", file=path)
    written = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        descriptor = os.open(written, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with open(descriptor, "wb") as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        written.replace(path)
        sync_directory(path.parent)
    except OSError as error:
        raise Refused("{file} can't be written: {why}.", file=path, why=error.strerror) from error
    finally:
        written.unlink(missing_ok=True)
