"""Pours whose events make little sense, as two phones apart, or another version, may leave them."""

import random
from typing import Any

from playwright.sync_api import Page

Event = dict[str, Any]

# All of them at once, as they come from another phone.
_KEEP = """async ([id, events]) => {
  const { bringIn } = await import('/static/records/store.js');
  const { EARLIEST, nextStamp } = await import('/static/records/stamp.js');
  const at = Date.now();
  let stamp = EARLIEST;
  const made = events.map((event) => {
    stamp = nextStamp(stamp, at, 'other');
    return { ...event, id: stamp, of: ['pour', id], at };
  });
  await bringIn([], made);
}"""

FILLED_TWICE: list[Event] = [
    {"type": "poured", "jug": 0, "read_g": 108 + step / 8} for step in range(30)
]
"""Twelve vessels, filled on two phones apart, and some of them by a third."""

ELSEWHERE: list[Event] = [
    {"type": kind, "jug": jug, **more}
    for jug in (1, 7, 999)
    for kind, more in (
        ("weighed", {"part": "wax", "index": 0, "read_g": 300}),
        ("read", {"temp_c": 71.5}),
        ("added", {}),
        ("poured", {"read_g": 108}),
        ("emptied", {}),
    )
]
"""Events of jugs that the sheet does not have."""

UNKNOWN: list[Event] = [
    {"type": "sang", "jug": 0, "verse": 3},
    {"type": "constructor"},
    {"type": "weighed", "jug": 0, "part": "fragrance", "index": 99, "read_g": 4},
    {"type": "accepted", "jug": 0, "part": "additive", "index": 7},
    {"type": "undone", "event": "001764070400001.0000.nowhere"},
    {"type": "corrected", "event": "001764070400001.0000.nowhere", "field": "on", "value": 7},
    {"type": "seen_to", "reminder": "trim", "on": "2026-11-25"},
]
"""Types, parts and events that this version knows nothing of."""


def any_events(seed: int, count: int = 40) -> list[Event]:
    """Events of every type in any order, some of them twice."""
    chance = random.Random(seed)
    makers = {
        **dict.fromkeys(
            ("ready", "melted", "warmed", "went_on", "added", "stirred", "emptied"), dict
        ),
        "weighed": lambda: {
            "part": chance.choice(["wax", "additive", "fragrance", "restore"]),
            "index": chance.choice([0, 0, 1, 5]),
            "read_g": chance.choice([0, 1, 93.4, 250, 1168, 1e6]),
        },
        "accepted": lambda: {
            "part": chance.choice(["wax", "additive", "fragrance", "restore"]),
            "index": chance.choice([0, 0, 1, 5]),
        },
        "read": lambda: {"temp_c": chance.choice([-50, 19, 55, 69.9, 70, 78.5, 93, 400])},
        "poured": lambda: {"read_g": chance.choice([0, 108, 1e6])},
    }
    events: list[Event] = []
    while len(events) < count:
        kind = chance.choice(list(makers))
        event: Event = {"type": kind, **makers[kind]()}
        if chance.random() < 0.9:
            event["jug"] = chance.choice([0, 0, 0, 0, 1, 3])
        events += [event] * chance.choice([1, 1, 1, 2])
    return events


def happen(page: Page, pour: str, events: list[Event]) -> None:
    """Bring events of a pour in, one after another in their order."""
    page.evaluate(_KEEP, [pour, events])
