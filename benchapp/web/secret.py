"""The key that signs sessions and form tokens, made once per data directory."""

import contextlib
import os
import re
import secrets
import tempfile
from pathlib import Path

_NAME = "secret_key"
_FORM = re.compile(r"[0-9a-f]{64}")


def key(data_dir: Path) -> str:
    """Return the key kept in `data_dir`, making it (and the directory) on first use.

    64 hexadecimal digits, in a file that only its owner can read. Two processes that ask at the
    same moment get the same key. Raises OSError where the directory cannot be used, ValueError
    where the file is damaged.
    """
    data_dir.mkdir(mode=0o700, parents=True, exist_ok=True)
    path = data_dir / _NAME
    if not path.exists():
        _make(path)
    text = path.read_text(encoding="ascii", errors="replace")
    if not _FORM.fullmatch(text):
        raise ValueError(
            f"The key file {path} is damaged. Delete it and start again: a new one is made, "
            "and open pages need one reload."
        )
    return text


def _make(path: Path) -> None:
    """Write a whole key beside `path`, then link it there: the link fails if another was first."""
    handle, name = tempfile.mkstemp(prefix=f".{_NAME}-", dir=path.parent)  # mode 0600
    try:
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(secrets.token_hex(32))
            file.flush()
            os.fsync(file.fileno())
        with contextlib.suppress(FileExistsError):
            os.link(name, path)
    finally:
        os.unlink(name)
