"""What a check found, and how times are written in it."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Literal

from benchapp.words import plural

State = Literal["ok", "look", "bad"]


@dataclass(frozen=True)
class Finding:
    """What a check found.

    `ok`: in order. `look`: it works, or nobody wants it yet, but somebody should know. `bad`: it
    does not work, or is open to others. `subject` is what it is about, marked with ``n_``. `says`
    is a sentence with what to do, worded.
    """

    state: State
    subject: str
    says: str


def when_text(at_ms: int) -> str:
    """Such as '2026-11-25 12:00 UTC' (ISO 8601)."""
    return f"{datetime.fromtimestamp(at_ms / 1000, UTC):%Y-%m-%d %H:%M} UTC"


def span_text(ms: int) -> str:
    """Whole minutes below two hours, hours below two days, else days."""
    minutes = ms // 60_000
    if minutes < 120:
        return plural(minutes, "{n} minute", "{n} minutes")
    if minutes < 48 * 60:
        return plural(minutes // 60, "{n} hour", "{n} hours")
    return plural(minutes // 1440, "{n} day", "{n} days")
