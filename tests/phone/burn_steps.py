"""Every step of a burn, as the board shows it: for the tests that look at all of them."""

from collections.abc import Iterator
from typing import Any

from playwright.sync_api import Page

from tests.burns.conftest import sheet
from tests.in_page import ask

Json = dict[str, Any]

_BEGIN = """async ([sheet, events]) => {
  const store = await import('/static/records/store.js');
  const { startTest } = await import('/static/burns/tests.js');
  const { now } = await import('/static/bench/clock.js');
  const id = await startTest(sheet, now());
  const told = events.map(({ ago_h, ...event }) => ({
    candle: 0, burn: 0, ...event, at: now() - Math.round(ago_h * 3600000),
  }));
  await store.appendAll('burn_test', id, told);
  return id;
}"""
_END = """async (id) => (await import('/static/records/store.js'))
  .append('burn_test', id, { type: 'closed', why: 'φχ' })"""

FULL = {"type": "saw", "what": "pool_full", "grade": 0}
LOW = {"type": "saw", "what": "flame_low", "grade": 0}


def lit(hours: float, *more: Json) -> list[Json]:
    """Lit so many hours ago."""
    weighed = {"type": "weighed", "when": "before", "read_g": 210.4, "ago_h": hours + 0.1}
    return [weighed, {"type": "lit", "ago_h": hours}, *({"ago_h": 0.01, **each} for each in more)]


def out(ago_h: float, *more: Json) -> list[Json]:
    """Out so many hours ago, after four."""
    marks = [{**FULL, "mark": mark} for mark in range(4)]
    stopped = {"type": "stopped", "why": "out", "ago_h": ago_h}
    return lit(ago_h + 4, *marks, stopped, *more)


SMOKED = {"type": "smoke_ended", "seconds": 9}
AFTER = {"type": "weighed", "when": "after", "read_g": 190.2}
POOL = {"type": "measured", "mark": 0, "what": "pool", "mm": 55}
FLAME = {"type": "measured", "mark": 0, "what": "flame", "mm": 31}
LOOKED = [{"type": "looked", "mark": mark} for mark in range(4)]

STEPS: dict[str, list[Json]] = {
    "trim": [],
    "light": lit(0)[:1],
    "burning": lit(0.5),
    "the pool": lit(1.1),
    "the other way": lit(1.1, POOL),
    "the flame": lit(1.1, {**FULL, "mark": 0}),
    "what else": lit(1.1, {**FULL, "mark": 0}, {**LOW, "mark": 0}),
    "burning, one mark missed": lit(2.2, {**FULL, "mark": 1}, {"type": "looked", "mark": 1}),
    "too high a flame": lit(1.1, {**FLAME, "mm": 82}),
    "put it out": lit(4.1, *LOOKED),
    "smoke": out(0.01),
    "rest": out(0.5, SMOKED),
    "weigh": out(1.2, SMOKED),
    "trim again": out(2, SMOKED, AFTER),
    "burned down": out(2, SMOKED, AFTER, {"type": "burned_down"}),
    "failed": lit(1.1, {"type": "stopped", "why": "second_flame"}),
    "set aside": [{"type": "set_aside", "why": "φχ", "ago_h": 0}],
    "two phones differ": lit(1.1, FLAME, {**FLAME, "mm": 52}),
}
"""The events that lead to each, of the first candle; `ago_h`: how many hours ago it was."""


def every_burn_step(page: Page, url: str) -> Iterator[str]:
    """Show each in turn."""
    asked = sheet(title="αω κφ", vessel={"id": "t", "name": "αε"})
    for wick, name in zip(asked["wicks"], ("δ 4", "δ 6"), strict=True):
        wick["name"] = name
    for name, events in STEPS.items():
        made = ask(page, _BEGIN, [asked, events])
        page.goto(f"{url}#/burn/{made}/0")
        page.locator(".screen.burn h1").wait_for()
        page.wait_for_function("(id) => location.hash.includes(id)", arg=made)
        page.locator(".burn .act:not([data-arriving])").wait_for()
        yield name
        page.goto(f"{url}#/tests")
        page.locator(".screen.tests h1").wait_for()
        page.evaluate(_END, made)
