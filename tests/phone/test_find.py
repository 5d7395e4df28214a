"""One box finds all that is kept, with no signal, as she types."""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser import PHONE
from tests.phone.maker import at, new_code, slot, tap, title
from tests.phone.test_two_phones import Phone
from tests.server import serving


def cards(page: Page) -> list[str]:
    """What is found: of each its name and its chip."""
    return page.eval_on_selector_all(
        "#screen [data-slot=cards] .card",
        "all => all.map((one) => ['.name', '.chip'].map((each) =>"
        " one.querySelector(each)?.textContent.replace(/, $/, '') ?? '').join(': '))",
    )


def look_for(page: Page, words: str, count: str) -> list[str]:
    """Type words, and wait for what is said of them."""
    page.get_by_role("searchbox").fill(words)
    expect(slot(page, "count")).to_have_text(re.compile(f"^{count} found"))
    # The first few come at the key, the others once no other key does.
    expect(slot(page, "more")).to_have_attribute("hidden", "")
    return cards(page)


def choose(page: Page, label: str, option: str) -> None:
    slot(page, "filters").get_by_label(label).select_option(label=option)


def test_a_word_finds_what_is_kept(server, phone: Page, open_ready, page_errors) -> None:
    bench = server(demo=True)
    open_ready(phone, bench.url)
    at(phone, bench.url, "entry/demo-pour-2")
    slot(phone, "note").fill("Œuf de kelp, très doux")
    tap(phone, "Save the note")
    expect(slot(phone, "notes")).to_contain_text("très doux")
    bench.stop()
    at(phone, bench.url, "log")
    expect(slot(phone, "count")).to_have_text("2 pours")
    everything = cards(phone)
    assert everything == ["Plum & kelp: ", "Wet slate: "]

    # All words, in any order, whatever their case and accents; a recipe before what came of it.
    found = look_for(phone, "SLA wet", r"\d\d?")
    assert "Wet slate: recipe" in found[:2]
    assert "Wet slate: pour" in found
    assert look_for(phone, "oeuf tres", "1") == ["Plum & kelp: note"]
    expect(slot(phone, "cards")).to_contain_text("“Œuf de kelp, très doux”")
    assert look_for(phone, "brackwater", "1") == ["Brackwater Gift Shop: buyer"]

    # The address has it, so that what was opened leads back to it.
    phone.locator("#screen .card").first.tap()
    expect(phone).to_have_url(re.compile("#/buyer/demo-buyer-shop$"))
    phone.go_back()
    expect(phone.get_by_role("searchbox")).to_have_value("brackwater")
    expect(slot(phone, "count")).to_have_text("1 found")

    look_for(phone, "brackwater zzz", "0")
    expect(slot(phone, "none")).to_have_text("Nothing that is kept here has “brackwater zzz”.")
    tap(phone, "Show all")
    assert cards(phone) == everything

    # Some of the pours: what can be chosen is what the others leave.
    tap(phone, "Filter")
    choose(phone, "Recipe", "Wet slate")
    expect(slot(phone, "count")).to_have_text("1 found: Wet slate")
    assert cards(phone) == ["Wet slate: "]
    choose(phone, "State", "setting")
    expect(slot(phone, "none")).to_have_text("There is no such pour: Wet slate and setting.")
    phone.reload()
    expect(slot(phone, "filters").get_by_label("State")).to_have_value("setting")
    choose(phone, "State", "all")
    lots = slot(phone, "filters").get_by_label("Delivery in it").locator("option")
    assert len(lots.all_inner_texts()) > 1
    choose(phone, "Recipe", "all")
    assert cards(phone) == everything
    page_errors.clear()  # the browser logs that no server answers


def test_by_keys_alone_and_beside_what_was_found(server, browser: Browser) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    at(page, server(demo=True).url, "log")
    page.keyboard.press("/")
    box = page.get_by_role("searchbox")
    expect(box).to_be_focused()
    page.keyboard.type("plum/")
    expect(box).to_have_value("plum/")
    expect(slot(page, "count")).to_contain_text("found")
    for _ in range(3):
        page.keyboard.press("Tab")
    expect(page.locator("#screen .card").first).to_be_focused()
    page.locator("#screen .card", has_text="pour").first.click()
    expect(page.locator("#screen .screen.entry")).to_be_visible()

    # The list beside it looks for other things, and leaves the address to what is open.
    address = page.url
    aside = page.locator("#beside")
    aside.get_by_role("searchbox").fill("slate")
    expect(aside.get_by_role("status")).to_contain_text("found")
    assert page.url == address
    expect(title(page)).to_contain_text("Plum & kelp")
    context.close()


@pytest.mark.usefixtures("page_errors")
def test_what_another_phone_or_tab_does_is_found(browser: Browser, tmp_path) -> None:
    with serving(tmp_path, "--demo") as bench:
        shed, desk = (
            Phone(browser, bench.url, new_code(bench.data), name) for name in ("Shed", "Desk")
        )
        at(desk.page, bench.url, "log")
        look_for(desk.page, "heron", "0")
        shed.page.evaluate("""async () => {
          const store = await import('/static/records/store.js');
          await store.save('buyer', 'heron', { name: 'Heron House', what: 'shop' });
        }""")
        shed.settle()
        desk.settle()
        expect(slot(desk.page, "count")).to_have_text("1 found")
        other = desk.context.new_page()
        at(other, bench.url, "log")
        look_for(other, "heron", "1")
        desk.page.evaluate("""async () => {
          const store = await import('/static/records/store.js');
          await store.save('buyer', 'heron', { erased: true, deleted: true });
        }""")
        expect(slot(other, "count")).to_have_text("0 found")
        expect(slot(desk.page, "count")).to_have_text("0 found")
        for phone in (shed, desk):
            phone.close()


def test_what_is_found_is_drawn_as_she_scrolls(server, browser: Browser) -> None:
    context = browser.new_context(**PHONE)
    page = context.new_page()
    at(page, server(demo=True).url, "log")
    page.evaluate("""async () => {
      const store = await import('/static/records/store.js');
      const { fields } = await store.getStored('pour', 'demo-pour-1');
      const ids = Array.from({ length: 95 }, (_, n) => `many-${n}`);
      await store.bringIn(ids.map((id) => ({ kind: 'pour', id, fields })), []);
    }""")
    expect(slot(page, "count")).to_have_text("97 pours")
    assert len(cards(page)) < 70
    screen = page.locator("#screen > .screen")
    while slot(page, "more").get_attribute("hidden") is None:
        before = len(cards(page))
        screen.evaluate("each => { each.scrollTop = each.scrollHeight; }")
        page.wait_for_function(
            "(n) => document.querySelectorAll('#screen [data-slot=cards] .card').length > n",
            arg=before,
        )
    expect(page.locator("#screen [data-slot=cards] .card")).to_have_count(97)
    context.close()
