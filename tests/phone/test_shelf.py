"""The shelf, with the server stopped: a sack comes, a pour takes from two bags, a reading is set
right, the shelf is counted; and what can't be is said where she types it.

The amounts are worked out here by hand. The demo's past pours took 1,168 and 1,087 g of the 2,800 g
of its first bag of wax: 545 g are left of it, and 1,500 g are in the second.
"""

import re

from playwright.sync_api import Browser, Page, expect

from tests.phone.maker import (
    as_shown,
    at,
    fill,
    new_code,
    press,
    slot,
    start,
    tap,
    tap_main,
    title,
)
from tests.phone.test_two_phones import Phone

BAG = "bench-bag"
DUNE = "material/wax/demo-wax-dune"


def card(page: Page, name: str) -> str:
    """A line of the list, without narrow spaces."""
    text = page.locator("#screen .card", has_text=name).inner_text()
    return re.sub(r"[\u202f\u00a0]", " ", text)


def facts(page: Page) -> str:
    return re.sub(r"[\u202f\u00a0]", " ", slot(page, "facts").inner_text())


def test_a_bag_that_runs_out_in_the_middle(server, phone: Page, open_ready) -> None:
    serving = server(demo=True)
    url = serving.url
    open_ready(phone, url)
    expect(title(phone)).to_have_text("Today")
    serving.stop()

    # A sack comes.
    at(phone, url, DUNE)
    assert "2 045 g" in facts(phone)
    slot(phone, "receive").tap()
    expect(title(phone)).to_have_text("New delivery")
    fill(phone, amount_g="5 kg", paid="41,50", name="FF-2701")
    expect(slot(phone, "preview")).to_contain_text("about €8.30 a kilo")
    slot(phone, "save").tap()
    expect(slot(phone, "facts")).to_contain_text("7\u202f045")
    assert "5 000 g" in card(phone, "FF-2701")

    # The plan begins with what expires first.
    at(phone, url, "plan/demo-recipe-slate")
    slot(phone, "count").fill("12")
    dune = phone.locator("bench-lots li", has_text="Dune")
    expect(dune).to_contain_text("then 623\u00a0g of FF-2644")
    expect(phone.locator("bench-lots .reach")).to_contain_text("What is here makes 19.")
    start(phone, url, count="12")
    tap_main(phone)
    expect(phone.locator(BAG)).to_contain_text("FF-2609: 545\u00a0g left")
    tap(phone, "It is empty")
    press(phone, "540")
    tap(phone, "Enter")
    expect(phone.locator("#said")).to_have_text("Go on with FF-2644.")
    expect(phone.locator(BAG)).to_contain_text("FF-2644: 1\u202f500\u00a0g left")
    phone.reload()
    expect(phone.locator(BAG)).to_contain_text("FF-2644: 1\u202f500\u00a0g left")
    as_shown(phone)  # 1,168 g: 540 of the first, 628 of the second
    at(phone, url, DUNE)
    assert "5.0 g" in card(phone, "FF-2609")
    assert "872 g" in card(phone, "FF-2644")

    set_right(phone, url)
    count_the_shelf(phone, url)


def set_right(phone: Page, url: str) -> None:
    """The reading was 1,170: the second bag gave 630."""
    pour = phone.evaluate(
        "async () => (await (await import('/static/bench/pours.js')).poursOnBench())[0].id"
    )
    at(phone, url, f"entry/{pour}")
    drawn = slot(phone, "drawn").locator("li", has_text="Dune").first
    expect(drawn).to_contain_text("FF-2609: 540\u00a0g")
    expect(drawn).to_contain_text("FF-2644: 628\u00a0g")
    weighed = slot(phone, "happened").locator("li", has_text="Weighed Dune")
    weighed.get_by_role("button", name="Correct").tap()
    press(phone, "1170")
    tap(phone, "Enter")
    expect(drawn).to_contain_text("FF-2644: 630\u00a0g")


def count_the_shelf(phone: Page, url: str) -> None:
    """The first bag is really empty, and folds away."""
    at(phone, url, "stocktake")
    phone.locator("label", has_text="FF-2609").locator("input").fill("0")
    phone.locator("label", has_text="FF-2644").locator("input").fill("865 g")
    tap(phone, "Save the count")
    expect(title(phone)).to_have_text("The shelf")
    at(phone, url, DUNE)
    assert "865 g" in card(phone, "FF-2644")
    expect(slot(phone, "many")).to_have_text("1 that is used up")
    at(phone, url, "lot/demo-lot-dune-2")
    assert "Counted otherwise\n5.0 g less" in facts(phone)


def test_a_withdrawn_lot_is_not_chosen_without_saying_why(server, phone: Page) -> None:
    url = server(demo=True).url
    at(phone, url, "today")
    at(phone, url, "lot/demo-lot-dune-1")
    slot(phone, "what").select_option("withdrawn")
    tap(phone, "Save")
    expect(slot(phone, "error")).to_have_text("Say why it must not be used.")
    slot(phone, "why").fill("smells of solvent")
    tap(phone, "Save")
    expect(slot(phone, "cautions")).to_contain_text("was withdrawn: smells of solvent")
    at(phone, url, "plan/demo-recipe-slate")
    dune = phone.locator("bench-lots li", has_text="Dune")
    expect(dune.locator("select")).to_have_value("demo-lot-dune-2")
    dune.locator("select").select_option("demo-lot-dune-1")
    expect(phone.locator("dialog")).to_contain_text("Why do you use it all the same?")
    tap(phone, "Back")
    expect(dune.locator("select")).to_have_value("demo-lot-dune-2")
    dune.locator("select").select_option("demo-lot-dune-1")
    phone.locator("dialog input").fill("only for testing the new mould")
    phone.locator("dialog").get_by_role("button", name="Save").tap()
    expect(dune.locator("select")).to_have_value("demo-lot-dune-1")
    expect(phone.locator("bench-lots .caution")).to_contain_text("smells of solvent")


#: What is typed of a delivery that can't be, and what is said beside the box.
CAN_NOT_BE = [
    ({"amount_g": "0 g"}, "How much must be from 0 g"),
    ({"amount_g": "-2 kg"}, "A weight can't be less than zero"),
    ({"amount_g": "5 kg", "paid": "41.505"}, "has more than 2 decimals"),
    ({"amount_g": "5 kg", "paid": "-3"}, "is below nothing"),
    ({"amount_g": "", "paid": ""}, "How much is needed."),
    ({"amount_g": "5 kg", "received_on": "", "name": "A"}, "Came on is needed."),
]


def test_a_delivery_that_can_not_be(server, phone: Page) -> None:
    url = server(demo=True).url
    at(phone, url, "today")
    at(phone, url, f"edit/lot/new/{DUNE}")
    for fields, sentence in CAN_NOT_BE:
        fill(phone, **fields)
        slot(phone, "save").tap()
        expect(slot(phone, "form").locator(".error:not([hidden])")).to_contain_text(sentence)
        for name, value in fields.items():
            expect(phone.locator(f'[data-field="{name}"] input')).to_have_value(value)


def test_two_phones_that_use_one_lot_out_of_hearing_both_count(server, browser: Browser) -> None:
    bench = server(demo=True)
    phones = [Phone(browser, bench.url, new_code(bench.data), name) for name in ("shed", "house")]
    for each in phones:
        each.offline(True)
    for each, amount in zip(phones, ("300 g", "10.5 oz"), strict=True):
        use(each.page, each.url, amount)
    for each in phones:
        each.offline(False)
        each.settle()
    for each in phones:
        each.settle()
        at(each.page, each.url, "lot/demo-lot-dune-2")
        # 1,500 g, less 300 g and 297.7 g (10.5 oz of 28.3495 g).
        expect(slot(each.page, "facts")).to_contain_text("902")
        expect(slot(each.page, "happened").locator("li")).to_have_count(2)
        each.context.close()


def use(page: Page, url: str, amount: str) -> None:
    """Say that so much of the second bag was used."""
    at(page, url, "lot/demo-lot-dune-2")
    slot(page, "what").select_option("used")
    slot(page, "amount").fill(amount)
    tap(page, "Save")
    expect(slot(page, "happened").locator("li")).to_have_count(1)


def test_a_slip_in_a_count_is_set_right(server, phone: Page) -> None:
    url = server(demo=True).url
    at(phone, url, "today")
    at(phone, url, "lot/demo-lot-tins/count")
    slot(phone, "amount").fill("450")
    tap(phone, "Save")
    # 60 came, 12 were filled.
    expect(slot(phone, "happened")).to_contain_text("450 pieces, 402 pieces more")
    tap(phone, "Correct")
    dialog = phone.locator("dialog")
    dialog.locator("input").fill("4.5")
    dialog.get_by_role("button", name="Save").tap()
    expect(dialog.locator(".error")).to_have_text("Pieces are whole: write a whole number.")
    dialog.locator("input").fill("45")
    dialog.get_by_role("button", name="Save").tap()
    expect(slot(phone, "happened")).to_contain_text("45 pieces, 3 pieces less")
    assert "There is\n45 pieces" in facts(phone)
    tap(phone, "Undo")
    expect(slot(phone, "facts")).to_contain_text("48 pieces")
    slot(phone, "amount").fill("")
    slot(phone, "what").select_option("thrown_away")
    tap(phone, "Save")
    expect(slot(phone, "error")).to_have_text("Say how much it is.")
    slot(phone, "amount").fill("50")
    tap(phone, "Save")
    expect(slot(phone, "wrong")).to_contain_text("More was used than ever came.")
    at(phone, url, "shelf")
    expect(phone.locator(".card", has_text="T-0914")).to_contain_text("counted wrong?")


def test_a_pour_that_is_started_before_the_shelf_was_read_takes_its_lots_too(
    server, phone: Page
) -> None:
    url = server(demo=True).url
    at(phone, url, "today")
    pour = phone.evaluate(
        """async () => {
          const { startPour, readPour } = await import('/static/bench/pours.js');
          const { sheet } = await readPour('demo-pour-1');
          return startPour({ ...sheet, count: 12 }, Date.now());
        }"""
    )
    at(phone, url, f"pour/{pour}/0")
    tap_main(phone)
    expect(phone.locator(BAG)).to_contain_text("FF-2609")


def test_how_many_were_sold_is_set_right(server, phone: Page) -> None:
    url = server(demo=True).url
    at(phone, url, "today")
    at(phone, url, "candles/demo-pour-1")
    line = slot(phone, "happened").locator("li", has_text="Sold, autumn fair")
    expect(line).to_contain_text("6")
    line.get_by_role("button", name="Correct").tap()
    dialog = phone.locator("dialog")
    dialog.locator("input").fill("ten")
    dialog.get_by_role("button", name="Save").tap()
    expect(dialog.locator(".error")).to_contain_text("Write a whole number")
    dialog.locator("input").fill("4")
    dialog.get_by_role("button", name="Save").tap()
    expect(line).to_contain_text("4 corrected")
    at(phone, url, "wanted/demo-market")
    expect(slot(phone, "batches")).to_contain_text("2 are here.")
