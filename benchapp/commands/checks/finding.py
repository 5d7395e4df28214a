"""What a check found, and how times are written in it."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Literal

State = Literal["ok", "look", "bad"]


@dataclass(frozen=True)
class Finding:
    """What a check found.

    `ok`: in order. `look`: it works, or nobody wants it yet, but somebody should know. `bad`: it
    does not work, or is open to others. `says` is a sentence with what to do.
    """

    state: State
    subject: str
    says: str


def when_text(at_ms: int) -> str:
    return f"{datetime.fromtimestamp(at_ms / 1000, UTC):%Y-%m-%d %H:%M} UTC"


def span_text(ms: int) -> str:
    minutes = ms // 60_000
    if minutes < 120:
        return f"{minutes} minutes"
    return f"{minutes // 60} hours" if minutes < 48 * 60 else f"{minutes // 1440} days"
