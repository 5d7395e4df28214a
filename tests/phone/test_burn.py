"""A burn test at the bench: six candles of two wicks, with no server, through whatever happens."""

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.phone.burning import Burner
from tests.phone.maker import at, count_touches, fill, press, slot, tap, title
from tests.waits import until

RECIPE = "demo-recipe-slate"

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
    phone.get_by_role("link", name="Burn candle 1").tap()
    she.at(1)
    before = [210.4, 209.8, 210.1, 210.9, 209.5, 210.2]
    for number, grams in enumerate(before, start=1):
        she.weigh_and_light(number, f"{grams}")
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
    for candle in range(1, 6):
        she.at(candle)
        if candle == 5:
            # A second flame: one touch ends it, and is kept.
            she.touch("Second flame")
            expect(slot(phone, "doing")).to_contain_text("Candle 5 failed: a second flame started.")
            phone.locator(".act .go").tap()
            continue
        if candle == 3:
            # A reload in the middle: nothing is lost.
            she.reads("Measure it", "61")
            phone.reload()
            she.at(3)
            she.reads("Measure it", "63")
            she.touch("Lower than 75 mm")
            tap(phone, "Nothing else")
            continue
        she.look(58 if candle < 4 else None, 31)
    she.at(6)
    # Nobody looks at candle 6 before the next mark comes: it is missing, and not made up.
    she.later(2)
    burns = (6, 1, 2, 3, 4)
    for candle in burns:
        she.at(candle)
        she.look(None, 34)
        expect(title(phone)).to_have_text("Put it out")
        she.put_out(8)
    expect(title(phone)).to_have_text("Let it rest")
    lit = she.stands()["candles"]
    assert lit[4]["failed"] == "second_flame"
    assert lit[5]["sittings"][0]["marks"][0]["seen"] == {}
    assert lit[2]["sittings"][0]["marks"][0]["seen"]["pool_mm"] == 61

    # After an hour they are weighed; a lid is not taken for wax.
    she.later(1.1)
    she.open(1)
    tap(phone, "What the scale shows")
    press(phone, "230.1")
    tap(phone, "Enter")
    expect(phone.locator("dialog [data-slot=question]")).to_contain_text("is a lid on it?")
    tap(phone, "Back")
    after = {1: 191.2, 2: 190.1, 3: 191.0, 4: 188.2, 6: 187.5}
    for candle, grams in after.items():
        she.open(candle)
        expect(title(phone)).to_have_text("Weigh it again")
        she.weigh(f"{grams}")

    # The next day they burn again.
    she.later(18)
    for candle, grams in after.items():
        she.open(candle)
        expect(slot(phone, "lines")).to_contain_text("It burned")
        she.weigh_and_light(candle, f"{grams - 0.1:.1f}")
    she.later(4.05)
    for candle in after:
        she.open(candle)
        she.look(None, 36)
        expect(title(phone)).to_have_text("Put it out")
        she.put_out(8)
    she.later(1.1)
    for candle, grams in after.items():
        she.open(candle)
        she.weigh(f"{grams - 19.4:.1f}")
    hours = sum(
        sitting["hours"] for candle in she.stands()["candles"] for sitting in candle["sittings"]
    )
    # Each digit of a reading is one of them.
    assert touches() / hours < 8

    # What it proves, and that the recipe and the plan know it.
    at(phone, she.url, f"test/{she.test}")
    small, large = phone.locator("section.wick").all()
    expect(small.locator("h2")).to_have_text("flat cotton, 4 right")
    expect(small).to_contain_text("3 candles burned for a whole sitting each.")
    expect(large.locator("h2")).to_have_text("flat cotton, 6 too large")
    expect(large).to_contain_text("There was a second flame in 1 of 3 candles.")
    expect(slot(phone, "advice")).to_contain_text("flat cotton, 4")
    at(phone, she.url, f"recipe/{RECIPE}")
    passed = "Tested: 3 candles with flat cotton, 4 passed on"
    expect(phone.locator("#screen")).to_contain_text(passed)
    at(phone, she.url, f"plan/{RECIPE}")
    expect(phone.locator("bench-tested")).to_be_hidden()
    page_errors.clear()  # the browser logs what the stopped server did not answer
