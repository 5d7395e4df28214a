"""What a maker does at the burn board, by finger, on a clock that goes as fast as is needed."""

import re
from collections.abc import Callable, Iterable
from typing import Any

from playwright.sync_api import Page, expect

from tests.in_page import ask
from tests.phone.maker import board, press, slot, tap, title, where
from tests.waits import resting, until

Json = Any

H = 3_600_000

_START = """async (sheet) => {
  const { startTest } = await import('/static/burns/tests.js');
  const { now } = await import('/static/bench/clock.js');
  return startTest(sheet, now());
}"""

_STANDS = """async (id) => {
  const { readTest } = await import('/static/burns/tests.js');
  const { sheet, state, events } = await readTest(id);
  const candles = state.candles.map(({ step, sitting, sittings, failed }) => ({
    step, sitting, failed,
    sittings: sittings.map(({ answers, told, none, ...rest }) => rest),
  }));
  return { candles, events: events.length, closed: state.closed };
}"""


class Burner:
    """Somebody who burns candles of one test."""

    def __init__(self, page: Page, url: str, test: str) -> None:
        self.page, self.url, self.test = page, url, test

    def stands(self) -> Json:
        """How the test stands on the phone's disk."""
        return ask(self.page, _STANDS, self.test)

    def open(self, candle: int) -> None:
        """Show the board of a candle, counted from 1."""
        self.page.goto(f"{self.url}#/burn/{self.test}/{candle - 1}")
        self.at(candle)

    def at(self, candle: int) -> None:
        """The board of this candle is there, and takes a touch."""
        expect(slot(self.page, "place")).to_have_text(re.compile(f"^candle\\s{candle} "))
        self.page.clock.run_for(1000)
        expect(self.page.locator("[data-arriving]")).to_have_count(0)

    def later(self, hours: float) -> None:
        """So much time goes by."""
        self.page.clock.fast_forward(round(hours * H))
        self.page.clock.run_for(1000)

    def does(self, act: Callable[[], None]) -> None:
        """Do something, and wait until the board says something else."""
        before = where(self.page)
        act()
        changed = lambda: where(self.page) != before  # noqa: E731
        until(changed, lambda: f"Nothing came of it: {board(self.page)}", resting(self.page))
        self.page.clock.run_for(300)

    def touch(self, name: str) -> None:
        self.does(lambda: tap(self.page, name))

    def reads(self, button: str, text: str) -> None:
        """Open the pad by a button, press what is read, and enter it."""

        def act() -> None:
            tap(self.page, button)
            self.page.locator("dialog.pad").wait_for()
            press(self.page, text)
            tap(self.page, "Enter")

        self.does(act)

    def more(self, *names: str) -> None:
        """Through what is offered behind a button."""

        def act() -> None:
            for name in names:
                tap(self.page, name)

        self.does(act)

    def weigh(self, text: str) -> None:
        self.reads("What the scale shows", text)

    def weigh_and_light(self, candle: int, text: str) -> None:
        self.at(candle)
        expect(title(self.page)).to_have_text("Trim and weigh")
        self.weigh(text)
        self.touch("It is lit")
        expect(title(self.page)).to_have_text("It burns")

    def weigh_all(self, candles: Json, numbers: Iterable[int]) -> None:
        """Weigh these once they have rested, each after as long as it really burned."""
        for number in numbers:
            stands = self.stands()["candles"][number - 1]
            hours = stands["sittings"][stands["sitting"]]["hours"]
            candles[number].burn(hours)
            self.open(number)
            expect(title(self.page)).to_have_text("Weigh it again")
            self.weigh(candles[number].cooled(hours))

    def look(self, pool_mm: float | None, flame_mm: float | None = None) -> None:
        """Answer a mark: the pool (to the wall, where it is None), the flame, and nothing else."""
        if pool_mm is None:
            self.touch("To the wall all round")
        else:
            self.reads("Measure it", f"{pool_mm:g}")
            self.reads("Measure it", f"{pool_mm + 2:g}")
        if flame_mm is None:
            self.touch("Lower than 75 mm")
        else:
            self.reads("Measure it", f"{flame_mm:g}")
        tap(self.page, "Nothing else")

    def put_out(self, seconds: int) -> None:
        self.touch("It is out")
        expect(title(self.page)).to_have_text("Does it smoke?")
        self.page.clock.run_for(seconds * 1000)
        tap(self.page, "It smokes no more")


def begin(page: Page, url: str, sheet: Json) -> Burner:
    """Start a test from its sheet."""
    return Burner(page, url, ask(page, _START, sheet))
