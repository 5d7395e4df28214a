"""A burn test at the bench: six candles of two wicks, with no server, through whatever happens."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.burns.conftest import sheet
from tests.phone.burning import Burner, begin
from tests.phone.maker import at, count_touches, press, slot, tap, title

Json = Any


@pytest.fixture
def burner(server: Any, phone: Page) -> Callable[..., Burner]:
    """Somebody with a test of two wicks, on a phone whose server is gone."""

    def make(**asked: Json) -> Burner:
        here = server(demo=True)
        phone.goto(here.url)
        phone.evaluate("navigator.serviceWorker.ready")
        at(phone, here.url, "workshop")
        phone.clock.install()
        phone.reload()
        at(phone, here.url, "today")
        here.stop()
        return begin(phone, here.url, sheet(**asked))

    return make


def test_a_whole_test_of_two_wicks_and_six_candles(
    burner: Callable[..., Burner], phone: Page, page_errors: list[str]
) -> None:
    she = burner(each=3, marks_h=[2, 4])
    touches = count_touches(phone)
    she.open(1)
    before = [210.4, 209.8, 210.1, 210.9, 209.5, 210.2]
    for number, grams in enumerate(before, start=1):
        she.weigh_and_light(number, f"{grams}")
        if number < 6:
            phone.locator(".act .go").tap()
    expect(slot(phone, "say")).to_have_text("6 candles burn.")
    expect(phone.locator("#strip a")).to_have_count(6)

    # The board goes by itself from one that is looked at to the next that is due.
    she.later(2)
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
    print("touches", touches())

    at(phone, she.url, f"test/{she.test}")
    wicks = phone.locator("section.wick")
    expect(wicks).to_have_count(2)
    page_errors.clear()  # the browser logs what the stopped server did not answer
