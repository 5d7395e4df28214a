"""The key that signs sessions and form tokens, made once per data directory."""

import re
import secrets
from pathlib import Path

from benchapp.records.atomic_file import create_once
from benchapp.words import InputError

_NAME = "secret_key"
_FORM = re.compile(r"[0-9a-f]{64}")


def key(data_dir: Path) -> str:
    """Return the key kept in `data_dir`, making it (and the directory) on first use.

    64 hexadecimal digits, in a file that only its owner can read. Two processes that ask at the
    same moment get the same key. Raises OSError where the directory cannot be used, InputError
    where the file is damaged.
    """
    path = data_dir / _NAME
    create_once(path, secrets.token_hex(32).encode("ascii"))
    text = path.read_text(encoding="ascii", errors="replace")
    if not _FORM.fullmatch(text):
        raise InputError(
            "The key file {file} is damaged. Delete it and start again: a new one is made, "
            "and open pages need one reload.",
            file=path,
        )
    return text
