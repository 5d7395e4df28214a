"""The data directory, for its owner only, and files in it that are made once and kept."""

import contextlib
import os
import tempfile
from pathlib import Path


def make_private(folder: Path) -> None:
    """Make `folder`, and what is missing above it, for their owner only. Raises OSError."""
    if not folder.is_dir():
        # `parents=True` would give the mode to the last one alone.
        if folder.parent != folder:
            make_private(folder.parent)
        folder.mkdir(mode=0o700, exist_ok=True)


def create_once(path: Path, content: bytes) -> None:
    """Create the file `path` with `content`, for its owner only, unless there is one already.

    Of several processes that do so at the same moment the first wins, and none ever sees half a
    file: it is written beside `path`, then linked there. Makes the directory (mode 0700) where it
    is missing. Raises OSError where it cannot be used.
    """
    make_private(path.parent)
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


def sync_directory(folder: Path) -> None:
    """Let the names in it be on disk, where the system can do that. Raises OSError."""
    if os.name == "posix":
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def restrict_to_owner(path: Path) -> None:
    """Take away what a copy or an unpacked archive may have allowed others (POSIX only)."""
    if os.name == "posix" and path.stat().st_mode & 0o077:
        path.chmod(0o600)
