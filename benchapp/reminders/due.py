"""What a pour reminds of, and when: a pure function of its record and events, and her settings.

| reminder | falls due                                 | is over with                            |
|----------|-------------------------------------------|-----------------------------------------|
| trim     | `trim_days` after the pour (1)            | 'finished', or her saying so (*)        |
| label    | `label_days` after (2)                    | the same                                |
| cured    | `cure_least_days` after                   | her saying so, or `best` falling due    |
| best     | `cure_best_days` after, if that is later  | her saying so                           |
| burn     | `burn_days` after (the day after its best)| a test burn, or her saying so           |
| reburn   | on the day that the last test burn named  | the next test burn, or her saying so    |

(*) Put away untrimmed or not labelled, it goes on reminding of that.

The days stand in the pour's own sheet. One that was put off comes on the later day. It comes at the
time of day that she has chosen, in her time zone, and never in her quiet hours.

Its twin is ``static/bench/due.js``.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from benchapp.formulas.cure import ready
from benchapp.formulas.day import FIRST_MS, after_quiet, day_of, instant
from benchapp.records.events import Event, effective_events
from benchapp.records.pour_events import REMINDERS
from benchapp.words import n_, t
from benchapp.words.dates import day_text

Values = dict[str, Any]

REMIND_AT = 540
QUIET_FROM = 1260
QUIET_TO = 480
"""What a workshop starts with: minutes since midnight."""

STALE_MS = 30 * 86_400_000
"""A reminder this long past is shown no more, but for wax that was never trimmed."""

AFTER = {"trim": "label", "cured": "best", "burn": "reburn"}
"""The later one of the same errand: once it is due, the earlier one says nothing new."""

#: What 'finished' says of it.
_TICKS = {"trim": "trimmed", "label": "labelled"}

#: The setting that switches it off.
_SWITCH = {
    **{"trim": "remind_trim", "label": "remind_trim", "cured": "remind_cure"},
    **{"best": "remind_cure", "burn": "remind_burn", "reburn": "remind_burn"},
}


@dataclass(frozen=True)
class Settings:
    """How she wants to be reminded.

    Attributes:
        zone: IANA name of her time zone.
        remind_at, quiet_from, quiet_to: minutes since midnight.
        off: reminders that she does not want.
        day_ms: for developers alone: a day of waiting takes this long, from when the wax was set
            aside, and neither time of day nor quiet hours count.
    """

    zone: str
    remind_at: int = REMIND_AT
    quiet_from: int = QUIET_FROM
    quiet_to: int = QUIET_TO
    off: tuple[str, ...] = ()
    day_ms: int | None = None


@dataclass(frozen=True)
class Reminder:
    """One reminder of one pour.

    Attributes:
        kind: a name of the table above.
        day: ISO 8601, the day on which it falls due by the sheet.
        on: the day on which it comes: later than ``day`` where it was put off.
        at_ms: when it comes, milliseconds since 1970.
        done: nothing is left to do.
    """

    kind: str
    day: str
    on: str
    at_ms: int
    done: bool


def settings_of(workshop: Values, zone: str, *, day_ms: int | None = None) -> Settings:
    """Her settings, from the values of her workshop's record. ``zone`` is what her phone says: it
    counts where the record names none that is known."""
    hers = workshop.get("time_zone")

    def given(name: str, usual: int) -> int:
        value = workshop.get(name)
        return usual if value in (None, "") else value

    return Settings(
        zone=hers if hers and _is_zone(hers) else zone,
        remind_at=given("remind_at", REMIND_AT),
        quiet_from=given("quiet_from", QUIET_FROM),
        quiet_to=given("quiet_to", QUIET_TO),
        off=tuple(kind for kind, switch in _SWITCH.items() if workshop.get(switch) == "no"),
        day_ms=day_ms,
    )


def _is_zone(zone: str) -> bool:
    try:
        day_of(FIRST_MS, zone)
    except ValueError:
        return False
    return True


def reminders_of(pour: Values, events: Iterable[Event], settings: Settings) -> list[Reminder]:
    """What a pour reminds of, in the order of the table; empty before it is set aside.

    Args:
        pour: the values of its record.
        events: its events, oldest first.

    What can't be reckoned, as with a day out of all proportion, is left out.
    """
    if pour.get("deleted"):
        return []
    past = _Past(events)
    if past.set_on is None:
        return []
    found = []
    days = _days(pour.get("sheet") or {}, past)
    for kind, day in days.items():
        if kind in settings.off:
            continue
        put_off = past.put_off.get(kind, "")
        on = max(day, put_off)
        try:
            at_ms = _moment(on, past, settings)
        except ValueError:
            continue
        found.append(Reminder(kind, day, on, at_ms, _is_done(kind, days, past)))
    return found


def due(reminders: Iterable[Reminder], now_ms: int) -> list[Reminder]:
    """Those that are due: come, not done, and not superseded by a later one."""
    there = {
        each.kind: each
        for each in reminders
        if not each.done and each.at_ms <= now_ms and not _is_stale(each, now_ms)
    }
    return [each for kind, each in there.items() if AFTER.get(kind) not in there]


def coming(reminders: Iterable[Reminder], now_ms: int) -> list[Reminder]:
    """Those that are still to come, the next one first."""
    ahead = [each for each in reminders if not each.done and each.at_ms > now_ms]
    return sorted(ahead, key=lambda each: each.at_ms)


def _is_stale(reminder: Reminder, now_ms: int) -> bool:
    return reminder.kind not in ("trim", "label") and reminder.at_ms < now_ms - STALE_MS


# ---- from the events ---------------------------------------------------------------------------


class _Past:
    """What the events have come to."""

    def __init__(self, events: Iterable[Event]) -> None:
        self.set_on: str | None = None
        self.set_at: int = 0
        self.finished: Event | None = None
        self.seen_to: dict[str, str] = {}
        self.put_off: dict[str, str] = {}
        self.burns: list[Event] = []
        for each in effective_events("pour", events):
            self._take(each)

    def _take(self, event: Event) -> None:
        match event["type"]:
            case "set":
                self.set_on, self.set_at = event["on"], event["at"]
            case "finished":
                self.finished = event
            case "seen_to":
                before = self.seen_to.get(event["reminder"], "")
                self.seen_to[event["reminder"]] = max(before, event["on"])
            case "put_off":
                self.put_off[event["reminder"]] = event["until"]
            case "burned":
                self.burns.append(event)


def _days(sheet: Values, past: _Past) -> dict[str, str]:
    """The day of each reminder."""
    least, best = sheet.get("cure_least_days"), sheet.get("cure_best_days")
    burn = sheet.get("burn_days", None if best is None else best + 1)
    waits = {
        "trim": sheet.get("trim_days", 1),
        "label": sheet.get("label_days", 2),
        "cured": least,
        "best": None if best == least else best,
        "burn": burn,
    }
    found = {}
    for kind, days in waits.items():
        try:
            if days is not None:
                found[kind] = str(ready(past.set_on or "", days))
        except ValueError:
            continue
    if past.burns and (next_on := past.burns[-1].get("next_on")):
        found["reburn"] = next_on
    return found


def _is_done(kind: str, days: dict[str, str], past: _Past) -> bool:
    # Who has seen to the later one of an errand has seen to the earlier.
    for each in (kind, AFTER.get(kind)):
        if each in days and past.seen_to.get(each, "") >= days[each]:
            return True
    if kind in _TICKS:
        # Where it does not say, as in older pours, all was done.
        return past.finished is not None and past.finished.get(_TICKS[kind]) != "no"
    return kind == "burn" and bool(past.burns)


def _moment(on: str, past: _Past, settings: Settings) -> int:
    if settings.day_ms is not None:
        waited = ready(on, 0) - ready(past.set_on or "", 0)
        return past.set_at + waited.days * settings.day_ms
    at_ms = instant(on, settings.remind_at, settings.zone)
    return after_quiet(at_ms, settings.quiet_from, settings.quiet_to, settings.zone)


# ---- in words ----------------------------------------------------------------------------------

SAYS = REMINDERS
"""What a reminder says of its batch, to be worded."""

TELLS = {
    "trim": n_(
        "Check that they are fully set and cold. Look at the tops, trim the wicks, and label them."
    ),
    "label": n_("Trim the wicks and label them before you forget which is which."),
    "cured": n_("You can burn it and sell it from today on."),
    "best": n_("It has cured for its full time."),
    "burn": n_("Trim the wick first. Keep all that burns away. Never leave it alone."),
    "reburn": n_("Trim the wick first. Keep all that burns away. Never leave it alone."),
}
"""What there is to do, to be worded."""

_TODAY = {"cured": n_("{name}: cured today"), "best": n_("{name}: fully cured today")}
_SINCE = {"cured": n_("{name}: cured since {day}"), "best": n_("{name}: fully cured since {day}")}


def name_of(pour: Values) -> str:
    """What a batch is called, such as 'Wet slate, 6 × tin 120 + 4 × tumbler 300'."""
    sheet = pour.get("sheet") or {}
    one = {"count": sheet.get("count", ""), "name": (sheet.get("vessel") or {}).get("name", "")}
    sizes = sheet.get("sizes") if isinstance(sheet.get("sizes"), list) else None
    vessels = " + ".join(
        t("{count} × {vessel}", count=size.get("count", ""), vessel=size.get("name", ""))
        for size in sizes or [one]
        if isinstance(size, dict)
    )
    name = t("{title}, {vessels}", title=sheet.get("title", ""), vessels=vessels)
    # A phone may keep half a surrogate pair, and a zero; a database may not.
    return re.sub("[\ud800-\udfff\0]", "\ufffd", name)


def summary(name: str, kind: str) -> str:
    """Such as 'Wet slate, 12 × tin 120: cured'."""
    return t("{name}: {reminder}", name=name, reminder=t(SAYS[kind]))


def headline(name: str, kind: str, on: str, now_ms: int, zone: str) -> str:
    """Such as 'Wet slate, 12 × tin 120: cured today', or 'cured since Tue 24 Nov'."""
    if kind not in _TODAY:
        return summary(name, kind)
    if str(day_of(now_ms, zone)) <= on:
        return t(_TODAY[kind], name=name)
    return t(_SINCE[kind], name=name, day=day_text(ready(on, 0)))
