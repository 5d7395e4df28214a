"""A lot must not be used any more: what was made of it, who has it, and the letter to them, with no
signal."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.phone.maker import at, slot, tap


@pytest.fixture
def alone(server, phone, open_ready) -> tuple[Page, str]:
    bench = server(demo=True)
    open_ready(phone, bench.url)
    expect(phone.locator("bench-wanted .wanted .card", has_text="Harbour market")).to_be_visible()
    bench.stop()
    return phone, bench.url


def test_a_lot_is_withdrawn_and_who_has_its_candles_is_told(alone):
    page, url = alone
    at(page, url, "lot/demo-lot-slate")
    slot(page, "what").select_option("withdrawn")
    slot(page, "why").fill("The supplier calls it back.")
    tap(page, "Save")
    expect(slot(page, "happened")).to_contain_text("The supplier calls it back.")
    page.locator("#screen").get_by_role("link", name="What was made of it").tap()

    expect(slot(page, "facts")).to_contain_text("The supplier calls it back.")
    facts = slot(page, "facts").locator("dd")
    expect(facts).to_have_text(
        ["Wet slate", "The supplier calls it back.", "12", "0", "12"], use_inner_text=True
    )
    expect(slot(page, "batches")).to_contain_text("0 of 12 here")
    expect(slot(page, "batches").locator(".gone li")).to_have_text(
        re.compile("^12 on .*autumn fair$")
    )
    name = slot(page, "batches").locator(".card .name").inner_text()
    code = re.search(r"[0-9A-Z]{4}-[0-9A-Z]{4}", name)
    assert code

    # The notice has what it has to have, and may not soften anything.
    letter = slot(page, "letter")
    slot(page, "risk").fill("In rare cases the glass may crack.")
    expect(slot(page, "soft")).to_contain_text("rare")
    slot(page, "risk").fill("The glass can crack while the candle burns.")
    expect(slot(page, "soft")).to_be_hidden()
    slot(page, "remedy").fill("Your money back.")
    expect(letter).to_have_text(re.compile("^Product safety recall"))
    expect(letter).to_have_text(re.compile(r"Went out on \w{3} \d+ \w{3}\."))
    for said in (
        f"Batch codes: {code[0]}",
        "The danger: The glass can crack while the candle burns.",
        "Stop using the candle at once",
        "What we offer: Your money back.",
        "Salt Lane Candles, 3 Salt Lane, Harbour Town, hello@saltlane.example, 01632 960 177",
    ):
        expect(letter).to_contain_text(said)

    # What is half written is still there later; and a lot of which nothing was made says so.
    page.reload()
    expect(slot(page, "letter")).to_contain_text("Your money back.")
    at(page, url, "trace/demo-lot-dune-2")
    expect(slot(page, "empty")).to_be_visible()
    expect(slot(page, "recall")).to_be_hidden()
