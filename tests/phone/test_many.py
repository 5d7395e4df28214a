"""Several pours and jugs at once: each has its clock, and an alarm says whose it is."""

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.phone.listening import RECORD_SPEECH, words
from tests.phone.maker import at, go_to, make_small_jug, read_off, slot, start, step, tap, title


@pytest.fixture
def clock(phone_context):
    phone_context.clock.install()
    phone_context.clock.pause_at("2030-05-01T12:00:00")
    return phone_context.clock


def chips(page: Page) -> Locator:
    return page.locator("#strip a")


def test_two_pours_at_once(server, phone, clock):
    bench = server(demo=True)
    slate = start(phone, bench.url, recipe="slate", count="2")
    go_to(phone, "Stir")  # two minutes
    plum = start(phone, bench.url, recipe="plum", count="2")
    expect(chips(phone)).to_have_count(2)
    go_to(phone, "Stir")  # three minutes

    clock.run_for(1000)
    expect(chips(phone)).to_contain_text(["1:59", "2:59"])
    expect(chips(phone).first).to_contain_text("Wet slate")
    expect(chips(phone).last).to_contain_text("Plum & kelp")
    expect(chips(phone).last).to_have_attribute("aria-current", "page")

    # A tap on the strip changes the board.
    chips(phone).first.click()
    expect(slot(phone, "place")).to_contain_text("Wet slate")
    assert slate in phone.url
    expect(slot(phone, "alarm")).to_be_hidden()
    chips(phone).last.click()
    expect(slot(phone, "place")).to_contain_text("Plum & kelp")
    assert plum in phone.url

    # The one that is due takes the big number; no touch counts while it comes.
    clock.fast_forward(118_000)
    clock.run_for(1250)
    expect(slot(phone, "place")).to_contain_text("Wet slate")
    phone.locator(".act").evaluate("act => act.querySelector('.go').click()")
    clock.run_for(500)
    expect(slot(phone, "alarm")).to_have_text("Stirred long enough")
    expect(slot(phone, "num")).to_have_text("0:00")
    expect(chips(phone).first).to_contain_text("now")
    expect(chips(phone).first).to_have_class("due")
    # It comes once: she may go back, and the alarm names the pour that it is for.
    chips(phone).last.click()
    clock.run_for(1000)
    expect(slot(phone, "place")).to_contain_text("Plum & kelp")
    expect(slot(phone, "num")).to_have_text("0:59")
    expect(slot(phone, "alarm").get_by_role("link")).to_have_text("Stirred: Wet slate")
    clock.fast_forward(59_000)
    clock.run_for(1000)
    expect(slot(phone, "alarm")).to_have_text("Stirred long enough")
    # Colour alone says nothing: each that is due says so, and since when.
    expect(chips(phone)).to_contain_text(["\u22121:00", "now"])

    # Seen to, it is quiet.
    tap(phone, "Stirred")
    expect(title(phone)).to_have_text("Pour · 1 of 2")
    clock.run_for(300)
    expect(slot(phone, "alarm")).to_have_text("Stirred: Wet slate")


def test_two_of_one_name_are_shown_apart_as_they_are_called(server, phone, clock):
    phone.add_init_script(RECORD_SPEECH)
    url = server(demo=True).url
    make_small_jug(phone, url)
    start(phone, url, count="2")
    go_to(phone, "Stir")
    start(phone, url, count="10", jug="small jug")
    step(phone)
    expect(chips(phone)).to_have_count(2)
    assert [" ".join(each.split()) for each in chips(phone).all_inner_texts()] == [
        "Wet slate 1 2:00",
        "Wet slate 2, jug 1 wax",
    ]
    clock.run_for(3000)
    assert words(phone)[-1].startswith("Wet slate two, jug one: Jug on")
    # What rings at the other is named by the banner too.
    clock.fast_forward(110_000)
    clock.run_for(9000)
    expect(slot(phone, "alarm")).to_have_text("Stirred: Wet slate 1")
    assert "Wet slate one: Stirred long enough." in words(phone)


def test_what_runs_is_seen_on_every_screen(server, phone, clock):
    bench = server(demo=True)
    start(phone, bench.url, count="2")
    go_to(phone, "Stir")
    # Today shows the one jug itself, and keeps it in sight.
    at(phone, bench.url, "today")
    expect(phone.locator(".running .card")).to_contain_text("2:00")
    assert phone.locator(".running").evaluate("each => getComputedStyle(each).position") == "sticky"
    for path in ("recipes", "log", "workshop", "edit/wax/new", "plan/demo-recipe-plum"):
        at(phone, bench.url, path)
        expect(chips(phone)).to_have_count(1)
        expect(chips(phone)).to_be_visible()
        expect(chips(phone)).to_contain_text("2:00")


@pytest.mark.parametrize("path", ["recipes", "today"])
def test_a_slow_finger_is_heard_while_clocks_tick(server, phone, clock, path):
    bench = server(demo=True)
    pour = start(phone, bench.url, count="2")
    go_to(phone, "Stir")
    at(phone, bench.url, path)
    what = chips(phone).first if path == "recipes" else phone.locator(f"main [href*='{pour}']")
    what.hover()
    before = what.inner_text()
    phone.mouse.down()
    clock.run_for(2500)
    expect(what).not_to_have_text(before)
    phone.mouse.up()
    expect(title(phone)).to_have_text("Stir")


def test_two_jugs_of_one_pour(server, phone, clock):
    bench = server(demo=True)
    make_small_jug(phone, bench.url)
    # Six of 118 ml are 709 ml: ten take two jugs of five.
    start(phone, bench.url, count="10", jug="small jug")
    expect(slot(phone, "place")).to_contain_text("jug 1 of 2")
    step(phone)
    # The next jug is offered when this one is begun.
    expect(chips(phone)).to_be_hidden()

    go_to(phone, "Stir")
    chips(phone).last.click()
    expect(slot(phone, "place")).to_contain_text("jug 2 of 2")
    expect(title(phone)).to_have_text("Weigh wax")
    go_to(phone, "Cool to fragrance")
    read_off(phone, "75")
    # It follows no other jug while a reading is kept.
    expect(phone.locator("#screen svg.curve .dip")).to_have_count(1)
    clock.fast_forward(120_000)
    clock.run_for(1000)
    expect(slot(phone, "place")).to_contain_text("jug 1 of 2")
    clock.run_for(1000)
    expect(slot(phone, "alarm")).to_have_text("Stirred long enough")
    # A touch on the alarm goes to its jug.
    chips(phone).last.click()
    clock.run_for(1000)
    expect(slot(phone, "alarm")).to_have_text("Stirred: jug 1")
    slot(phone, "alarm").get_by_role("link").click()
    expect(slot(phone, "place")).to_contain_text("jug 1 of 2")
    clock.fast_forward(599_000)
    clock.run_for(1000)
    # This one is due itself: the board stays, and the strip says which else.
    expect(slot(phone, "place")).to_contain_text("jug 1 of 2")
    expect(chips(phone).last).to_have_class("due")
    chips(phone).last.click()
    expect(slot(phone, "place")).to_contain_text("jug 2 of 2")
    expect(slot(phone, "alarm")).to_have_text("At temperature?")

    # Undo in one jug leaves the other as it is.
    tap(phone, "Undo")
    expect(phone.locator(".doing")).to_contain_text("Stir, dip")
    chips(phone).first.click()
    expect(title(phone)).to_have_text("Stir")

    # Each jug is poured to its end; then the whole pour is left to set.
    go_to(phone, "Jug done")
    phone.get_by_role("link", name="Next jug").click()
    expect(slot(phone, "place")).to_contain_text("jug 2 of 2")
    go_to(phone, "Leave to set")
    expect(phone.get_by_role("button", name="Set aside")).to_be_visible()
