"""A burn test at the bench: six candles of two wicks, with no server, through whatever happens."""

import re
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from tests.burns.candle import Candles, Series, rounded
from tests.phone.burning import Burner
from tests.phone.maker import at, count_touches, fill, press, slot, tap, title
from tests.waits import until

RECIPE = "demo-recipe-slate"

#: Two wicks in a tin of 72 mm, as they are simulated: one that suits it, and one that is too large.
SERIES = Series(
    **{"width_mm": 72.0, "fuel_g": 104.7, "density": 0.9},
    **{"sizes": np.array([4.0, 6.0]), "pools_mm": np.array([84.0, 108.0])},
    **{"flames_mm": np.array([33.0, 56.0]), "rates": np.array([4.9, 6.4])},
    **{"fall": 0.15, "tau_h": 1.2, "smoke_mm": 80.0},
    **{"pool_sd": 2.0, "flame_sd": 3.0, "rate_sd": 0.03},
    **{"pool_look_sd": 1.0, "flame_look_sd": 2.0, "rate_sitting_sd": 0.02},
)


class Simulated:
    """One candle, and what she reads of it."""

    def __init__(self, random: np.random.Generator, index: int) -> None:
        self.random = random
        self.candle = Candles.drawn(random, SERIES, index)
        self.vessel_g = random.uniform(98, 102)
        #: Hours burned, and grams that are left of the wax as the scale told them.
        self.points = [(0.0, 0.0)]

    def weighed(self) -> str:
        left_g = SERIES.fuel_g * (1 - float(self.candle.burnt[0]))
        return f"{rounded(self.vessel_g + left_g, 0.1):.1f}"

    def light(self) -> str:
        self.rate = self.candle.rates_now(self.random)
        self.widest = self.candle.widest_now(self.random)
        self.before = self.weighed()
        return self.before

    def looks(self, hours: float) -> tuple[int | None, int]:
        pool = float(self.candle.pools_at(self.widest, hours)[0])
        flame = round(float(self.candle.flames_now(self.random)[0]))
        return (None if pool >= SERIES.width_mm else round(pool)), flame

    def burn(self, hours: float) -> None:
        self.candle.burn(self.rate, hours)

    def cooled(self, hours: float) -> str:
        burned_h, left_g = self.points[-1]
        after = self.weighed()
        self.points.append((burned_h + hours, left_g - float(self.before) + float(after)))
        return after

    def g_per_h(self) -> float:
        """By an outside fit (numpy's least squares)."""
        return -float(np.polyfit(*zip(*self.points, strict=True), 1)[0])


#: What the invented workshop has tested is none of this.
_FORGET = """() => import('/static/records/store.js')
  .then((store) => store.remove('burn_test', 'demo-test-1'))"""


@pytest.fixture
def alone(server: Any, phone: Page) -> str:
    """The address of the demo, whose server is gone; the phone's clock can be sped up."""
    here = server(demo=True)
    phone.goto(here.url)
    phone.evaluate("navigator.serviceWorker.ready")
    at(phone, here.url, "tests")  # the desk has come
    phone.evaluate(_FORGET)
    phone.clock.install()
    here.stop()
    return str(here.url)


def plan(page: Page, url: str) -> Burner:
    """Ask which of two wicks: three candles of each, looked at twice."""
    for place in ("recipe", "plan"):
        at(page, url, f"{place}/{RECIPE}")
        expect(page.locator("#screen")).to_contain_text("How it burns was never tested.")
    page.get_by_role("link", name="Plan a test").tap()
    fill(page, width_mm="72", marks="2, 4")
    tap(page, "Begin the test")
    expect(title(page)).to_have_text("Wet slate in tin 120: flat cotton 4, 6")
    return Burner(page, url, page.url.split("/")[-1])


def test_a_whole_test_of_two_wicks_and_six_candles(  # noqa: PLR0915
    alone: str, phone: Page, page_errors: list[str]
) -> None:
    she = plan(phone, alone)
    touches = count_touches(phone)
    random = np.random.default_rng(6)
    candles = {number: Simulated(random, int(number > 3)) for number in range(1, 7)}
    phone.get_by_role("link", name="Burn candle 1").tap()
    for number, candle in candles.items():
        she.weigh_and_light(number, candle.light())
        if number < 6:
            phone.locator(".act .go").tap()
    expect(slot(phone, "say")).to_have_text("6 candles burn.")
    expect(phone.locator("#strip a")).to_have_count(6)

    # A mark is called, here in words as this phone has no voice.
    she.later(1.98)
    called = re.compile(r"Candle \d: 2 hours. Look at the pool and the flame.")
    until(
        lambda: called.search(slot(phone, "caption").inner_text()),
        pause=lambda: phone.clock.run_for(2000),
    )
    # The board goes by itself from one that is looked at to the next that is due.
    she.later(0.05)
    phone.locator("#strip a").first.tap()
    for number in range(1, 6):
        she.at(number)
        pool_mm, flame_mm = candles[number].looks(2)
        if number == 5:
            # A second flame: one touch ends it, and is kept.
            she.touch("Second flame")
            expect(slot(phone, "doing")).to_contain_text("Candle 5 failed: a second flame started.")
            phone.locator(".act .go").tap()
        elif number == 3:
            # A reload in the middle: nothing is lost.
            she.reads("Measure it", f"{pool_mm}")
            phone.reload()
            she.at(3)
            she.reads("Measure it", f"{pool_mm}")
            she.touch("Lower than 75 mm")
            tap(phone, "Nothing else")
        else:
            she.look(pool_mm, flame_mm)
    she.at(6)
    # Nobody looks at candle 6 before the next mark comes: it is missing, and not made up.
    she.later(2)
    burning = (6, 1, 2, 3, 4)
    for number in burning:
        she.at(number)
        she.look(*candles[number].looks(4))
        expect(title(phone)).to_have_text("Put it out")
        she.put_out(8)
    expect(title(phone)).to_have_text("Let it rest")
    stands = she.stands()["candles"]
    assert stands[4]["failed"] == "second_flame"
    assert stands[5]["sittings"][0]["marks"][0]["seen"] == {}
    assert stands[2]["sittings"][0]["marks"][0]["seen"]["pool_mm"] < 72

    # After an hour they are weighed; a lid is not taken for wax.
    she.later(1.1)
    she.open(1)
    tap(phone, "What the scale shows")
    press(phone, "230.1")
    tap(phone, "Enter")
    expect(phone.locator("dialog [data-slot=question]")).to_contain_text("is a lid on it?")
    tap(phone, "Back")
    she.weigh_all(candles, burning)

    # The next day they burn again, and are looked at once.
    she.later(18)
    for number in burning:
        she.open(number)
        expect(slot(phone, "lines")).to_contain_text("It burned")
        she.weigh_and_light(number, candles[number].light())
    she.later(4.05)
    for number in burning:
        she.open(number)
        she.look(*candles[number].looks(4))
        expect(title(phone)).to_have_text("Put it out")
        she.put_out(8)
    she.later(1.1)
    she.weigh_all(candles, burning)
    hours = sum(each["hours"] for candle in she.stands()["candles"] for each in candle["sittings"])
    # Each digit of a reading is one of them.
    assert touches() / hours < 8

    # What it proves, and that the recipe and the plan know it.
    at(phone, she.url, f"test/{she.test}")
    small, large = phone.locator("section.wick").all()
    expect(small.locator("h2")).to_have_text("flat cotton, 4 right")
    expect(small).to_contain_text("3 candles burned for a whole sitting each.")
    rate = sum(candles[number].g_per_h() for number in (1, 2, 3)) / 3
    expect(small).to_contain_text(f"{rate:.1f} g (")
    expect(large.locator("h2")).to_have_text("flat cotton, 6 too large")
    expect(large).to_contain_text("There was a second flame in 1 of 3 candles.")
    expect(slot(phone, "advice")).to_contain_text("flat cotton, 4")
    at(phone, she.url, f"recipe/{RECIPE}")
    passed = "Tested: 3 candles with flat cotton, 4 passed on"
    expect(phone.locator("#screen")).to_contain_text(passed)
    at(phone, she.url, f"plan/{RECIPE}")
    expect(phone.locator("bench-tested")).to_be_hidden()
    page_errors.clear()  # the browser logs what the stopped server did not answer
