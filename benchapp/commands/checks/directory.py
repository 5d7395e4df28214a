"""The data directory: whose it is, its keys, the room on its disk."""

import os
import stat
from collections.abc import Callable
from pathlib import Path

from benchapp.commands.checks.finding import Finding
from benchapp.reminders import vapid_keys
from benchapp.web import secret
from benchapp.words import n_, t
from benchapp.words.numbers import number_text

LITTLE_ROOM = 1_000_000_000
NO_ROOM = 100_000_000
"""Octets free on a disk: below the first it is time to look, below the second it is bad."""

_GB = 1_000_000_000


def data_directory(path: Path) -> Finding:
    """Whether it is there, and its owner's alone (POSIX)."""
    subject = n_("data directory")
    if not path.is_dir():
        return Finding(
            "bad",
            subject,
            t(
                "There is no directory {directory}. Start benchapp serve once, which makes it, or "
                "say with --data where the server keeps its data.",
                directory=path,
            ),
        )
    if not is_usable(path):
        return Finding(
            "bad",
            subject,
            t(
                "{directory} can't be read and written by this user. Run this as the user that "
                "serves.",
                directory=path,
            ),
        )
    if mode := open_to_others(path):
        return Finding(
            "bad",
            subject,
            t(
                "Others on this machine may use {directory} ({mode}): {command}",
                directory=path,
                mode=mode,
                command="chmod 700 " + str(path),
            ),
        )
    return Finding("ok", subject, t("Only its owner can read {directory}.", directory=path))


def is_usable(path: Path) -> bool:
    return path.is_dir() and os.access(path, os.R_OK | os.W_OK | os.X_OK)


def secret_key(data_dir: Path) -> Finding:
    """The key that signs sessions."""
    return _key(data_dir / "secret_key", n_("secret key"), lambda: secret.key(data_dir))


def push_key(data_dir: Path) -> Finding:
    """The key that signs messages to phones."""
    return _key(data_dir / vapid_keys.NAME, n_("push key"), lambda: vapid_keys.load(data_dir))


def _key(path: Path, subject: str, load: Callable[[], object]) -> Finding:
    if not path.exists():
        return Finding(
            "look", subject, t("There is no {file} yet: benchapp serve makes it.", file=path.name)
        )
    # Before it is loaded, which closes it to others.
    mode = open_to_others(path)
    try:
        load()
    except ValueError as error:
        return Finding("bad", subject, str(error))
    except OSError as error:
        return Finding(
            "bad", subject, t("{file} can't be read: {why}.", file=path, why=error.strerror)
        )
    if mode:
        return Finding(
            "bad",
            subject,
            t(
                "Others on this machine could read {file} ({mode}): {command}. If one of them may "
                "have copied it, delete it and start the server again, which makes another.",
                file=path,
                mode=mode,
                command="chmod 600 " + str(path),
            ),
        )
    return Finding(
        "ok", subject, t("{file} is not damaged, and only its owner can read it.", file=path.name)
    )


def disk(path: Path, free: int) -> Finding:
    """Whether there is room; `free` in octets."""
    subject = n_("disk")
    room = number_text(f"{free / _GB:.1f} GB") if free >= LITTLE_ROOM else f"{free // 1_000_000} MB"
    if free < NO_ROOM:
        return Finding(
            "bad",
            subject,
            t(
                "Only {room} are free where {directory} is: free some now, or phones can't store "
                "there.",
                room=room,
                directory=path,
            ),
        )
    if free < LITTLE_ROOM:
        return Finding(
            "look",
            subject,
            t(
                "Only {room} are free where {directory} is: free some soon.",
                room=room,
                directory=path,
            ),
        )
    said = t("{room} are free where {directory} is.", room=room, directory=path)
    return Finding("ok", subject, said)


def open_to_others(path: Path) -> str:
    """Such as 'mode 0750' where others than the owner may use it, else ''."""
    mode = stat.S_IMODE(path.stat().st_mode)
    if os.name != "posix" or not mode & 0o077:
        return ""
    return t("mode {octal}", octal=format(mode, "04o"))
