"""Files of the data directory that are made once and kept: the server's own keys."""

import contextlib
import os
import tempfile
from pathlib import Path


def make_once(path: Path, content: bytes) -> None:
    """Put `content` at `path`, whole and readable by its owner only, unless a file is there.

    Of several processes that do so at the same moment the first wins, and none of them ever sees
    half a file: it is written beside `path`, then linked there. Makes the directory (mode 0700)
    where it is missing. Raises OSError where it cannot be used.
    """
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    if path.exists():
        return
    handle, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)  # mode 0600
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        with contextlib.suppress(FileExistsError):
            os.link(name, path)
    finally:
        os.unlink(name)


def close_to_others(path: Path) -> None:
    """Take back what a copy or an unpacked archive may have opened to others (POSIX only)."""
    if os.name == "posix" and path.stat().st_mode & 0o077:
        path.chmod(0o600)
