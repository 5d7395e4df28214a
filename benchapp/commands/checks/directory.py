"""The data directory: whose it is, its keys, the room on its disk."""

import os
import stat
from collections.abc import Callable
from pathlib import Path

from benchapp.commands.checks.finding import Finding
from benchapp.reminders import keys
from benchapp.web import secret

LITTLE_ROOM = 1_000_000_000
NO_ROOM = 100_000_000
"""Octets free on a disk: below the first it is time to look, below the second it is bad."""

_GB = 1_000_000_000


def data_directory(path: Path) -> Finding:
    """Whether it is there, and its owner's alone (POSIX)."""
    subject = "data directory"
    if not path.is_dir():
        return Finding(
            "bad",
            subject,
            f"There is no directory {path}. Start benchapp serve once, which makes it, or say "
            "with --data where the server keeps its data.",
        )
    if not is_usable(path):
        return Finding(
            "bad",
            subject,
            f"{path} can't be read and written by this user. Run this as the user that serves.",
        )
    if mode := open_to_others(path):
        return Finding(
            "bad", subject, f"Others on this machine may use {path} ({mode}): chmod 700 {path}"
        )
    return Finding("ok", subject, f"{path} is its owner's alone.")


def is_usable(path: Path) -> bool:
    return path.is_dir() and os.access(path, os.R_OK | os.W_OK | os.X_OK)


def secret_key(data_dir: Path) -> Finding:
    """The key that signs sessions."""
    return _key(data_dir / "secret_key", "secret key", lambda: secret.key(data_dir))


def push_key(data_dir: Path) -> Finding:
    """The key that signs messages to phones."""
    return _key(data_dir / keys.NAME, "push key", lambda: keys.load(data_dir))


def _key(path: Path, subject: str, load: Callable[[], object]) -> Finding:
    if not path.exists():
        return Finding("look", subject, f"There is no {path.name} yet: benchapp serve makes it.")
    # Before it is loaded, which closes it to others.
    mode = open_to_others(path)
    try:
        load()
    except ValueError as error:
        return Finding("bad", subject, str(error))
    except OSError as error:
        return Finding("bad", subject, f"{path} can't be read: {error.strerror}.")
    if mode:
        return Finding(
            "bad",
            subject,
            f"Others on this machine could read {path} ({mode}): chmod 600 {path}. If one of them "
            "may have copied it, delete it and start the server again, which makes another.",
        )
    return Finding("ok", subject, f"{path.name} is whole, and its owner's alone.")


def disk(path: Path, free: int) -> Finding:
    """Whether there is room; `free` in octets."""
    room = f"{free / _GB:.1f} GB" if free >= LITTLE_ROOM else f"{free // 1_000_000} MB"
    if free < NO_ROOM:
        return Finding(
            "bad",
            "disk",
            f"Only {room} are free where {path} is: free some now, or phones can't store there.",
        )
    if free < LITTLE_ROOM:
        return Finding("look", "disk", f"Only {room} are free where {path} is: free some soon.")
    return Finding("ok", "disk", f"{room} are free where {path} is.")


def open_to_others(path: Path) -> str:
    """Its mode where others than the owner may use it, else ''."""
    mode = stat.S_IMODE(path.stat().st_mode)
    return f"mode {mode:04o}" if os.name == "posix" and mode & 0o077 else ""
