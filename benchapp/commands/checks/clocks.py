"""Clocks: this machine's, the database server's, those of phones."""

from benchapp.commands.checks.finding import Finding, span_text, when_text
from benchapp.records.exchange import AHEAD_MS
from benchapp.words import n_, t

EARLIEST_MS = 1_735_689_600_000
"""The beginning of 2025. A machine whose clock has no battery wakes up long before this app."""

APART_MS = 60_000
"""How far two clocks may be apart before it is worth a look."""


def clock(now_ms: int) -> Finding:
    """Whether this machine's clock was ever set."""
    subject = n_("clock")
    shown = when_text(now_ms)
    if now_ms < EARLIEST_MS:
        said = t("This machine's clock says {time}, which is long past: set it.", time=shown)
        return Finding("bad", subject, said)
    return Finding("ok", subject, t("This machine's clock says {time}.", time=shown))


def newest_change(now_ms: int, newest_ms: int | None) -> Finding:
    """This machine's clock against the newest stamp that phones sent (0 or None: none)."""
    subject = n_("newest change")
    if not newest_ms:
        return Finding("ok", subject, t("No phone has sent anything yet."))
    shown = when_text(newest_ms)
    if newest_ms > now_ms + AHEAD_MS:
        return Finding(
            "bad",
            subject,
            t(
                "The newest change from a phone is of {time}, {span} ahead of this machine's "
                "clock. Set the clock: while it is behind, reminders come late.",
                time=shown,
                span=span_text(newest_ms - now_ms),
            ),
        )
    return Finding("ok", subject, t("The newest change from a phone is of {time}.", time=shown))


def database_clock(now_ms: int, there_ms: int) -> Finding:
    """This machine's clock against the database server's."""
    subject = n_("database clock")
    apart_ms = abs(now_ms - there_ms)
    if apart_ms > APART_MS:
        return Finding(
            "look",
            subject,
            t(
                "The database server's clock says {time}, {span} away from this one's. One of "
                "them is wrong: set it.",
                time=when_text(there_ms),
                span=span_text(apart_ms),
            ),
        )
    return Finding("ok", subject, t("The database server's clock says the same."))
