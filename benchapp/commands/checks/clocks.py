"""Clocks: this machine's, the database server's, those of phones."""

from benchapp.commands.checks.finding import Finding, span_text, when_text
from benchapp.records.exchange import AHEAD_MS

EARLIEST_MS = 1_735_689_600_000
"""The beginning of 2025. A machine whose clock has no battery wakes up long before this app."""

APART_MS = 60_000
"""How far two clocks may be apart before it is worth a look."""


def clock(now_ms: int) -> Finding:
    """Whether this machine's clock was ever set."""
    shown = f"This machine's clock says {when_text(now_ms)}"
    if now_ms < EARLIEST_MS:
        return Finding("bad", "clock", f"{shown}, which is long past: set it.")
    return Finding("ok", "clock", f"{shown}.")


def newest_change(now_ms: int, newest_ms: int | None) -> Finding:
    """This machine's clock against the newest stamp that phones sent (0 or None: none)."""
    subject = "newest change"
    if not newest_ms:
        return Finding("ok", subject, "No phone has sent anything yet.")
    said = f"The newest that phones sent is of {when_text(newest_ms)}"
    if newest_ms > now_ms + AHEAD_MS:
        return Finding(
            "bad",
            subject,
            f"{said}, {span_text(newest_ms - now_ms)} ahead of this machine's clock. Set the "
            "clock: while it is behind, reminders come late.",
        )
    return Finding("ok", subject, f"{said}.")


def database_clock(now_ms: int, there_ms: int) -> Finding:
    """This machine's clock against the database server's."""
    subject = "database clock"
    apart_ms = abs(now_ms - there_ms)
    if apart_ms > APART_MS:
        return Finding(
            "look",
            subject,
            f"The database server's clock says {when_text(there_ms)}, {span_text(apart_ms)} away "
            "from this one's. One of them is wrong: set it.",
        )
    return Finding("ok", subject, "The database server's clock says the same.")
