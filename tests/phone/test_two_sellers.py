"""Two people sell from one shelf with a phone each, and a buyer asks to be forgotten."""

import json
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.phone.maker import at, fill, kept, new_code, slot, tap, title
from tests.phone.test_trace import code_of, facts
from tests.phone.test_two_hands import apart, fall_behind, hear
from tests.phone.test_two_phones import Phone

SHOP = "demo-buyer-shop"
PLUM = "demo-pour-2"
RISK = "risk/demo-product-slate/cracks"
MORE_THAN_A_DAY_MS = 26 * 3_600_000


@pytest.fixture
def sellers(server: Any, browser: Browser):
    bench = server(demo=True)
    made = [Phone(browser, bench.url, new_code(bench.data), name) for name in ("Ann", "Bea")]
    yield bench, *made
    for phone in made:
        phone.close()


def sell(page: Page, n: int) -> None:
    left = 4
    for _ in range(n):
        slot(page, "products").get_by_role("button", name="Sell one of").tap()
        left -= 1
        if left > 0:
            expect(slot(page, "products")).to_contain_text(f"{left} on the shelf")
        else:
            expect(slot(page, "empty")).to_be_visible()


def save(page: Page) -> None:
    """Keep the buyer whose form is open."""
    tap(page, "Save")
    expect(title(page)).to_have_text("Buyers")


def test_two_sell_the_same_candles_and_one_forgets_a_buyer(sellers) -> None:
    bench, ann, bea = sellers
    hear(ann, bea)
    apart(ann, bea)
    # Four are there: one sells all of them, the other two, and neither hears of it.
    for phone, where, n in ((ann, "north stall", 4), (bea, "south stall", 2)):
        at(phone.page, phone.url, "sell")
        slot(phone.page, "where").fill(where)
        sell(phone.page, n)
    # One changes a buyer's number, the other is asked to forget them.
    at(bea.page, bea.url, f"edit/buyer/{SHOP}")
    fill(bea.page, telephone="01632 960 999")
    save(bea.page)
    at(ann.page, ann.url, f"buyer/{SHOP}")
    expect(slot(ann.page, "facts")).to_contain_text("They have\n5".replace("\n", ""))
    with ann.page.expect_download() as download:
        tap(ann.page, "Save what is kept of them")
    told = json.loads(download.value.path().read_text())
    assert told["about"]["mail"] == "shop@brackwater.example"
    assert [(each["type"], each["n"], each["price"]) for each in told["candles"]] == [
        ("sold", 5, 950)
    ]
    tap(ann.page, "Erase them")
    tap(ann.page, "Really erase all that is known of them?")
    expect(slot(ann.page, "many")).to_have_text("Buyers")
    expect(slot(ann.page, "cards")).not_to_contain_text("Brackwater")

    hear(ann, bea)
    # More was sold than there was: both are told so, and every candle that went is known.
    for phone in (ann, bea):
        at(phone.page, phone.url, f"candles/{PLUM}")
        expect(slot(phone.page, "blocked")).to_contain_text("More went than there were")
        found = facts(phone.page)
        assert (found["On the shelf"], found["Sold"]) == ("0", "6")
        at(phone.page, phone.url, f"candle/{code_of(phone.page, PLUM)}")
        expect(slot(phone.page, "where")).to_contain_text("north stall")
        expect(slot(phone.page, "where")).to_contain_text("south stall")
        # Nothing of the buyer is left on any of them, nor on the server, and the trace stands.
        at(phone.page, phone.url, "candle/demo-pour-1")
        expect(slot(phone.page, "where")).to_contain_text("somebody who asked to be forgotten")
        [record] = [each for each in kept(phone.page)["records"] if each["id"] == SHOP]
        assert set(record["fields"]) <= {"erased", "deleted"}
        at(phone.page, phone.url, "log")
        slot(phone.page, "box").fill("brackwater")
        expect(slot(phone.page, "cards").locator(".card")).to_have_count(0)
        at(phone.page, phone.url, "list/buyer/deleted")
        expect(slot(phone.page, "empty")).to_be_visible()
    # Erased, it is not in what the server has on its disk, the log of its database among it.
    written = b"".join(path.read_bytes() for path in bench.data.glob("*") if path.is_file())
    assert b"bench" in written
    assert b"shop@brackwater.example" not in written
    assert b"01632 960 999" not in written


def test_forms_are_left_open_and_a_clock_is_a_day_behind(sellers) -> None:
    _, ann, bea = sellers
    fall_behind(bea, MORE_THAN_A_DAY_MS)
    hear(ann, bea)
    apart(ann, bea)
    for phone, where in ((ann, "north stall"), (bea, "south stall")):
        at(phone.page, phone.url, "sell")
        slot(phone.page, "where").fill(where)
        sell(phone.page, 1)
    # Ann has two forms open, one after the other, while Bea answers the same.
    at(ann.page, ann.url, f"edit/buyer/{SHOP}")
    fill(ann.page, mail="new@brackwater.example")
    at(bea.page, bea.url, f"edit/buyer/{SHOP}")
    fill(bea.page, telephone="01632 960 999")
    save(bea.page)
    hear(ann, bea)
    save(ann.page)
    at(ann.page, ann.url, RISK)
    fill(ann.page, applies="yes", how="It fell.")
    at(bea.page, bea.url, RISK)
    fill(bea.page, applies="yes", how="By a draught.", done="A tin in place of glass.")
    slot(bea.page, "save").tap()
    expect(title(bea.page)).not_to_have_text("Can the vessel crack, shatter or leak?")
    hear(ann, bea)
    # She is told beside each box, and what she typed stands.
    for field, told in (("how", "By a draught."), ("done", "A tin in place of glass.")):
        expect(ann.page.locator(f'[data-field="{field}"]')).to_contain_text(f"It is now: {told}")
    expect(ann.page.locator('[data-field="how"] textarea')).to_have_value("It fell.")
    ann.page.locator('[data-field="done"]').get_by_role("button", name="Use it").tap()
    slot(ann.page, "save").tap()
    expect(title(ann.page)).not_to_have_text("Can the vessel crack, shatter or leak?")
    hear(ann, bea)
    for phone in (ann, bea):
        # Both days are today's, by the server's clock.
        at(phone.page, phone.url, "sell")
        expect(slot(phone.page, "sum")).to_contain_text("2 candles")
        for where in ("north stall", "south stall"):
            expect(slot(phone.page, "sales")).to_contain_text(where)
        at(phone.page, phone.url, f"buyer/{SHOP}")
        expect(slot(phone.page, "facts")).to_contain_text("new@brackwater.example")
        expect(slot(phone.page, "facts")).to_contain_text("01632 960 999")
        at(phone.page, phone.url, RISK)
        expect(phone.page.locator('[data-field="how"] textarea')).to_have_value("It fell.")
        expect(phone.page.locator('[data-field="done"] textarea')).to_have_value(
            "A tin in place of glass."
        )
